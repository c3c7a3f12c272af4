"""A team's quarter as files: the page, its figures, and every table behind them."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import pandas as pd

from outcomes.errors import InputError
from outcomes.log.atomic import replacing
from outcomes.log.harmless import write_rows
from outcomes.review.team_review import Finding, TeamReview
from outcomes.show.figures.picture import Picture
from outcomes.show.report.team_page import team_page
from outcomes.show.report.team_words import GUIDES

__all__ = ["write_team"]

_DIGITS = "%.9g"


def write_team(review: TeamReview, pictures: Mapping[str, Picture], folder: Path) -> list[Path]:
    """Write the page, figures and tables; the folder is made where it's absent.

    Of an earlier review in it nothing is left: what there's nothing to draw of loses its figure.

    Parameters
    ----------
    review : TeamReview
    pictures : mapping of str to Picture
        A file is named after each key.
    folder : Path

    Returns
    -------
    list of Path
        The page first.

    Raises
    ------
    InputError
        The folder can't be made, or nothing can be written in it.
    """
    texts = {"team_review.html": team_page(review, pictures)}
    texts |= {f"{key}.svg": picture.svg() for key, picture in pictures.items()}
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as cause:
        raise InputError(f"{folder}: can't be made ({cause.strerror}); name another folder") from None
    for name, text in texts.items():
        with replacing(folder / name) as temporary:
            temporary.write_text(text, encoding="utf-8")
    for key in set(GUIDES) - set(pictures):  # an earlier quarter's, beside which this one's would mislead
        (folder / f"{key}.svg").unlink(missing_ok=True)
    tables = _tables(review)
    for name, rows in tables.items():
        with replacing(folder / f"{name}.csv") as temporary:
            write_rows(rows, temporary, float_format=_DIGITS)
    return [folder / name for name in (*texts, *(f"{name}.csv" for name in tables))]


def _tables(review: TeamReview) -> dict[str, pd.DataFrame]:
    columns = list(Finding.__dataclass_fields__)
    return {
        "stylists": review.stylists,
        "control_chart": review.chart,
        "funnel": review.funnel,
        "promises": review.promises,
        "trend": review.trend,
        "habits": review.habits,
        "findings": pd.DataFrame([vars(one) for one in review.findings], columns=columns),
        "narrowing": review.narrowing,
    }
