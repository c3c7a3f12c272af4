"""Fade curves, a small panel for each shade, with their bands and the readings behind them."""

from __future__ import annotations

from math import ceil

import numpy as np
import seaborn as sns
from matplotlib.axes import Axes
from pandas import DataFrame

from outcomes.answers.fade_curve import FadeCurve, FadeCurves
from outcomes.answers.wording import FADE_NAMES, count, percent
from outcomes.show.figures.picture import DARK, QUIET, SOFT, Picture, look
from outcomes.show.figures.stack import WIDTH, Stack

__all__ = ["fade_curve_picture"]

_HIGH = 1.35  # inches of a panel
_MOST = 8  # panels
_AXIS = {"level": "levels lighter", "tone_left": "tone left, %", "delta_e": "CIEDE2000"}


def fade_curve_picture(answer: FadeCurves, readings: DataFrame | None = None) -> Picture:
    """Picture of fade curves.

    Parameters
    ----------
    answer : FadeCurves
    readings : DataFrame, optional
        Of the log, shown behind: `shade`, `washes`, `written`, `n`, as
        `outcomes.readings.fade.readings_by_shade` counts them.

    Returns
    -------
    Picture
    """
    by = answer.by.replace("_", " ")
    title = f"Fade over washes, by {by}"
    top, chosen = _top(answer), _most_read(answer)
    with look(WIDTH, 6.0) as figure:
        stack = Stack(figure)
        stack.text(title, fontsize=13, fontweight="bold")
        stack.text(
            f"{FADE_NAMES[answer.measure].capitalize()}: middle and band of new clients, 8 in 10.",
            gap=0.08, color=QUIET,
        )  # fmt: skip
        half = (WIDTH - 0.36) / 2.0
        shown = 0
        for first in range(0, len(chosen), 2):
            last = first + 2 >= len(chosen)
            start = stack.below
            for column, curve in enumerate(chosen[first : first + 2]):
                stack.below = start
                left = 0.52 if column == 0 else half + 0.36
                right = half + 0.08 if column == 0 else 0.1
                axes = stack.axes(_HIGH, left=left, right=right, gap=0.34 if first == 0 else 0.62)
                shown += _panel(axes, answer, curve, readings, top)
                axes.set_xlabel("washes" if last else "")
                axes.set_ylabel(_AXIS[answer.measure] if column == 0 else "")
        below = f"From {count(answer.basis.visits, 'visit')} read after washes; "
        below += f"{percent(answer.missing)} of clients were never read."
        if len(chosen) < len(answer.curves):
            below += f" The {len(chosen)} that were read most, of {len(answer.curves)}."
        if shown:
            below += f" Marks: {count(shown, 'reading')}; the larger, the more."
            if answer.measure == "level":
                below += " Hair read at level 10, the end of the scale, may be lighter than its mark."
        stack.text(below, gap=0.55, color=QUIET, fontsize=9.5)
        stack.close()
    told = "; ".join(_in_words(answer, curve) for curve in answer.curves)
    return Picture(figure, title, f"{title}. {told}. {below}")


def _most_read(answer: FadeCurves) -> list[FadeCurve]:
    """As many as can be taken in, in their order."""
    by_visits = sorted(answer.curves, key=lambda curve: -curve.visits)[:_MOST]
    return [curve for curve in answer.curves if curve in by_visits]


def _shown(measure: str, progress: np.ndarray) -> np.ndarray:
    """Progress as it's drawn: of a tone what is left of it."""
    return 100.0 * np.exp(-progress) if measure == "tone_left" else progress


def _top(answer: FadeCurves) -> float:
    if answer.measure == "tone_left":
        return 100.0
    return float(max(ceil(curve.high[-1]) for curve in answer.curves))


def _panel(axes: Axes, answer: FadeCurves, curve: FadeCurve, readings: DataFrame | None, top: float) -> int:
    """One shade; returns how many readings it shows."""
    ends = sorted((curve.low, curve.high), key=lambda values: float(_shown(answer.measure, values)[-1]))
    low, high = (_shown(answer.measure, values) for values in ends)
    axes.fill_between(answer.washes, low, high, color=SOFT, alpha=0.55, linewidth=0, zorder=1)
    sns.lineplot(
        x=answer.washes, y=_shown(answer.measure, curve.median), ax=axes, color=DARK, linewidth=2.2, zorder=3
    )
    few = "" if curve.support == "inside" else f" ({count(curve.visits, 'visit')})"
    axes.set_title(f"{curve.shade.replace('_', '-')}{few}", loc="left", pad=4, fontweight="bold")
    axes.set(xlim=(0, answer.washes[-1]), ylim=(-0.04 * top, 1.04 * top))
    if readings is None:
        return 0
    here = readings[(readings["shade"] == curve.shade) & (readings["washes"] <= answer.washes[-1])]
    if not len(here):
        return 0
    sns.scatterplot(
        x=here["washes"], y=here["written"].clip(0, top), ax=axes,
        size=here["n"], sizes=(8, 60), color=QUIET, alpha=0.45, linewidth=0, legend=False, zorder=2,
    )  # fmt: skip
    return int(here["n"].sum())


def _in_words(answer: FadeCurves, curve: FadeCurve) -> str:
    at = [len(answer.washes) // 2, len(answer.washes) - 1]
    points = []
    for i in at:
        low, median, high = (
            float(_shown(answer.measure, values)[i]) for values in (curve.low, curve.median, curve.high)
        )
        points.append(
            f"{answer.washes[i]:.0f} washes {median:.1f} ({min(low, high):.1f} to {max(low, high):.1f})"
        )
    return f"{curve.shade}: {', '.join(points)}"
