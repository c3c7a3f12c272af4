"""How fast hair lifted in each stylist's hands: every rate with its band, in order, none of it a ranking."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd
from matplotlib.axes import Axes

from outcomes.review.team_review import COVERAGE, TeamReview
from outcomes.show.figures.picture import ACCENT, DARK, INK, QUIET, Picture, look
from outcomes.show.figures.scale import numbers, ratio_scale
from outcomes.show.figures.shown import NARROW, SMALL, left_out, shown
from outcomes.show.figures.stack import Stack

__all__ = ["rates_picture"]

FloatArray = npt.NDArray[np.float64]

_ROW = 0.25  # inches
_ASIDE = 0.24  # rows by which the raw value stands below, or the two would hide each other
_NUMBERS = 1.42  # inches
_REACH = 1.25  # times past the bands as far as raw values are drawn in place
_SHRUNKEN, _BY_QUARTER = "drawn towards the team", "by the quarter's own visits"
_NOTE = "Neighbours in this order can rarely be told apart."


def rates_picture(review: TeamReview) -> Picture | None:
    """Picture of lift rates over the middle of the team's.

    Parameters
    ----------
    review : TeamReview

    Returns
    -------
    Picture or None
        None where nobody is shown.
    """
    rows = shown(review, "rate", "rate_low", "rate_high").sort_values(
        ["rate", "stylist"], ascending=[False, True], kind="stable", ignore_index=True
    )
    if not len(rows):
        return None
    share = round(100 * COVERAGE)
    title = "How fast hair lifted, by stylist"
    words = (
        f"{review.quarter}. Lift rate over the middle of the team's, all else alike; 1 is no difference. "
        f"Lines and numbers: {share} % bands of the rate {_SHRUNKEN}."
    )
    note = f"{_NOTE} " if len(rows) > 1 else ""
    left = left_out(review, len(rows))
    with look(NARROW, 4.0) as figure:
        stack = Stack(figure)
        stack.text(title, fontsize=12.5, fontweight="bold")
        stack.text(words, gap=0.08, color=QUIET, fontsize=SMALL)
        names = _width(stack, list(rows["drawn"])) + 0.12
        axes = stack.axes(_ROW * len(rows), left=names, right=_NUMBERS, gap=0.38)
        beyond = _rates(axes, rows, names)
        stack.below += 0.42
        beside = "An arrow: beyond the scale. " if beyond else ""
        if below := f"{note}{beside}{left}".strip():
            stack.text(below, gap=0.08, color=QUIET, fontsize=SMALL)
        stack.close()
    alt = " ".join(part for part in (f"{title}.", words, _in_words(rows), note.strip(), left) if part)
    return Picture(figure, title, alt)


def _width(stack: Stack, names: Sequence[str]) -> float:
    """Inches of the widest."""
    widest = 0.0
    for name in names:
        text = stack.figure.text(0, 0, name, fontsize=SMALL, parse_math=False)
        widest = max(widest, text.get_window_extent().width / stack.figure.dpi)
        text.remove()
    return widest


def _rates(axes: Axes, rows: pd.DataFrame, names: float) -> bool:
    """Draw them, names so many inches to the left; returns whether a raw value lies beyond the scale."""
    left = names / (NARROW * axes.get_position().width)
    at = np.arange(len(rows), dtype=np.float64)
    axes.hlines(at, rows["rate_low"], rows["rate_high"], color=DARK, linewidth=2.0)
    axes.scatter(rows["rate"], at, s=30, c=DARK, zorder=3, label=_SHRUNKEN)
    axes.axvline(1.0, color=INK, linewidth=1.0, zorder=1)
    is_beyond = _raw(axes, rows, at + _ASIDE)
    for row, one in enumerate(rows.to_dict("records")):
        for side, name, move in ((-left, one["drawn"], 0), (1.0, _numbers(one), 9)):
            axes.annotate(
                name, (side, row), xytext=(move, 0), textcoords="offset points", fontsize=SMALL,
                xycoords=("axes fraction", "data"), va="center_baseline", annotation_clip=False,
                parse_math=False,
            )  # fmt: skip
    axes.set(ylim=(len(rows) - 0.4, -0.6), yticks=[])
    axes.set_xlabel("slower   \N{LEFTWARDS ARROW}   lift rate   \N{RIGHTWARDS ARROW}   faster")
    axes.spines["left"].set_visible(False)
    axes.legend(
        loc="lower left", bbox_to_anchor=(-left, 1.0), ncols=2, handletextpad=0.25, columnspacing=0.9,
        borderaxespad=0.2, borderpad=0.0, handlelength=1.2,
    )  # fmt: skip
    return is_beyond


def _raw(axes: Axes, rows: pd.DataFrame, at: FloatArray) -> bool:
    """Open marks; those far off are arrows at the edge, so that they don't squeeze the bands."""
    raw = rows["rate_raw"].to_numpy(dtype=np.float64)
    low, high = float(rows["rate_low"].min()), float(rows["rate_high"].max())
    is_near = (raw >= low / _REACH) & (raw <= high * _REACH)
    ratio_scale(axes, min([low, *raw[is_near]]), max([high, *raw[is_near]]))
    style: dict[str, Any] = {"s": 24, "c": "white", "edgecolors": ACCENT, "linewidths": 1.2, "zorder": 4}
    axes.scatter(raw[is_near], at[is_near], marker="D", label=_BY_QUARTER, **style)
    left, right = axes.get_xlim()
    below, above = at[raw < low / _REACH], at[raw > high * _REACH]
    axes.scatter(np.full(len(below), left), below, marker="<", clip_on=False, **style)
    axes.scatter(np.full(len(above), right), above, marker=">", clip_on=False, **style)
    return len(below) + len(above) > 0


def _numbers(row: Mapping[Any, Any]) -> str:
    return numbers({"rate": row["rate"], "low": row["rate_low"], "high": row["rate_high"]}, "rate")


def _in_words(rows: pd.DataFrame) -> str:
    told = []
    for row in rows.to_dict("records"):
        raw = "" if pd.isna(row["rate_raw"]) else f", own visits {row['rate_raw']:.2f}"
        told.append(f"{row['told']} {_numbers(row)}{raw}")
    return f"From the fastest, with the rate {_BY_QUARTER}: {'; '.join(told)}."
