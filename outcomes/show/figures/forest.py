"""Rows of a forest plot: a point and a band for every ratio, no difference as a line."""

from __future__ import annotations

from typing import Any

import seaborn as sns
from matplotlib.axes import Axes

from outcomes.show.figures.picture import DARK, INK, QUIET
from outcomes.show.figures.scale import numbers, ratio_scale
from outcomes.show.figures.stack import WIDTH

__all__ = ["NAMES", "NUMBERS", "ROW", "forest"]

ROW = 0.24
"""Inches a line."""

NAMES, NUMBERS = 1.6, 1.62
"""Inches to either side."""


def forest(axes: Axes, lines: list[tuple[str, Any]], what: str) -> None:
    """Draw rows of ratios on a logarithmic scale, no difference as a line.

    Parameters
    ----------
    axes : matplotlib Axes
        Laid out with `NAMES` to the left and `NUMBERS` to the right, `ROW` high for each line.
    lines : list of (str, mapping or None)
        From the top: a heading with None, or a name with its ratio, low and high.
    what : str
        That the ratios are of, such as "lift rate".
    """
    drawn = [(row, term) for row, (_, term) in enumerate(lines) if term is not None]
    for row, term in drawn:
        axes.plot([term["low"], term["high"]], [row, row], color=DARK, linewidth=2.2, solid_capstyle="butt")
        axes.annotate(
            numbers(term, "ratio"), (1.0, row), xytext=(9, 0), textcoords="offset points",
            xycoords=("axes fraction", "data"), va="center_baseline", annotation_clip=False,
        )  # fmt: skip
    axes.axvline(1.0, color=INK, linewidth=1.0, zorder=1)
    sns.scatterplot(
        x=[term["ratio"] for _, term in drawn], y=[row for row, _ in drawn], ax=axes, color="white",
        edgecolor=DARK, linewidth=1.8, s=42, zorder=3,
    )  # fmt: skip
    ratio_scale(axes, min(term["low"] for _, term in drawn), max(term["high"] for _, term in drawn))
    inch = 1.0 / (WIDTH * axes.get_position().width)
    for row, (name, term) in enumerate(lines):
        indent, colour = (0.0, QUIET) if term is None else (0.16, INK)
        # a long heading may reach the line of no difference, which then stops short of it
        axes.annotate(
            name, ((indent - NAMES) * inch, row), xycoords=("axes fraction", "data"),
            va="center_baseline", annotation_clip=False, color=colour,
            bbox={"facecolor": "white", "edgecolor": "none", "pad": 1.0},
        )  # fmt: skip
    axes.set(ylim=(len(lines) - 0.5, -0.5), ylabel="", yticks=[])
    axes.set_xlabel(f"slower   \N{LEFTWARDS ARROW}   {what}   \N{RIGHTWARDS ARROW}   faster")
    axes.spines["left"].set_visible(False)
