"""The page of a team's quarter: everything in one file, nothing that it has to fetch."""

from __future__ import annotations

from collections.abc import Mapping
from importlib.resources import files

from jinja2 import Environment, StrictUndefined
from markupsafe import Markup

from outcomes.answers.wording import CAUTIONS
from outcomes.review.team_review import COVERAGE, TeamReview
from outcomes.show.figures.picture import Picture
from outcomes.show.report import team_findings as findings
from outcomes.show.report import team_words as words
from outcomes.show.report.inline import inline_svg
from outcomes.show.report.rounded import named_quarter, whole
from outcomes.show.report.stylist_tables import stylist_tables, who_worked
from outcomes.show.report.team_tables import team_tables

__all__ = ["team_page"]


def team_page(review: TeamReview, pictures: Mapping[str, Picture]) -> str:
    """A team's quarter as HTML, to be read on a screen of any width or printed on A4.

    Parameters
    ----------
    review : TeamReview
    pictures : mapping of str to Picture
        "rates", "goal", "chart", "promises", "trend", those that there are; others aren't shown.

    Returns
    -------
    str
    """
    made = Environment(autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True)
    figures = {key: inline_svg(pictures[key], key) for key in words.GUIDES if key in pictures}
    return made.from_string(_file("team.html")).render(
        css=Markup(_file("team.css")),
        quarter=named_quarter(review.quarter),
        salon=review.salon,
        counts=_counts(review),
        findings=[findings.told(one) for one in review.findings],
        nothing=findings.nothing_sentences(review),
        rule=findings.rule_sentence(review),
        comparing=findings.comparing_sentence(review),
        hidden=words.hidden_sentence(review),
        least=review.min_clients,
        coverage=round(10 * COVERAGE),
        who=who_worked(review),
        by_stylist=stylist_tables(review),
        of_team=team_tables(review),
        figures=figures,
        guides=words.GUIDES,
        spread=words.spread_sentence(review),
        cautions=CAUTIONS,
        rows=words.rows_sentence(review),
        writing=words.writing_sentence(review),
        calibration=words.calibration_sentence(review),
        adjusted=review.adjusted,
        not_recorded=review.not_recorded,
        notes=review.notes,
    )


def _file(name: str) -> str:
    return files("outcomes.show.report").joinpath(name).read_text(encoding="utf-8")


def _counts(review: TeamReview) -> list[tuple[str, str]]:
    """Number and thing, of those that may be shown."""
    found = [(whole(review.team.get(name)), name) for name in ("visits", "clients", "stylists")]
    return [(number, name[:-1] if number == "1" else name) for number, name in found if number]
