"""The demo's figures, written into its folder."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from pandas import DataFrame

from outcomes.answers.lift_curve import LiftCurveAnswer
from outcomes.answers.sessions_answer import SessionsAnswer
from outcomes.show.figures.effects import effects_picture
from outcomes.show.figures.lift_curve import lift_curve_picture
from outcomes.show.figures.picture import Picture
from outcomes.show.figures.sessions import sessions_picture

__all__ = ["write_figures"]


def write_figures(
    folder: Path,
    answers: Sequence[SessionsAnswer],
    curves: Sequence[tuple[LiftCurveAnswer, DataFrame]],
    effects: Mapping[str, Any],
    faded: Mapping[str, Picture],
) -> list[Path]:
    """Draw every answer as PNG and SVG, with the figures in words beside them.

    Parameters
    ----------
    folder : path
        Made where it's absent.
    answers : sequence of SessionsAnswer
    curves : sequence of (LiftCurveAnswer, DataFrame)
        With the logged readings behind each.
    effects : mapping
        Of a predictive distribution.
    faded : mapping of name to Picture
        About fade, drawn already.

    Returns
    -------
    list of Path

    Raises
    ------
    InputError
        As `Picture.save`.
    """
    folder.mkdir(exist_ok=True)
    pictures = {f"sessions_{i}": sessions_picture(answer) for i, answer in enumerate(answers, start=1)}
    pictures |= {
        f"lift_curve_{i}": lift_curve_picture(curve, readings)
        for i, (curve, readings) in enumerate(curves, start=1)
    }
    pictures = {**pictures, "effects": effects_picture(effects), **faded}
    written = [path for name, picture in pictures.items() for path in picture.save(folder, name)]
    words = folder / "figures_in_words.txt"
    words.write_text(
        "\n\n".join(f"{name}\n{picture.alt}" for name, picture in pictures.items()) + "\n", encoding="utf-8"
    )
    return [*written, words]
