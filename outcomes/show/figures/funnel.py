"""Who reached the goal: shares at the team's mix of cases by number of visits, within limits of chance."""

from __future__ import annotations

from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd
from matplotlib.axes import Axes

from outcomes.answers.wording import count, percent
from outcomes.review.team_review import TeamReview
from outcomes.show.figures.labels import name_points
from outcomes.show.figures.picture import ACCENT, DARK, INK, PALE, QUIET, Picture, look
from outcomes.show.figures.shown import NARROW, SMALL, left_out, shown
from outcomes.show.figures.stack import Stack

__all__ = ["funnel_picture"]

_LIMITS = {"95": (0, (4, 2)), "998": "-"}
_INSIDE, _OUTSIDE, _FAR = "within 95 %", "outside 95 %", "outside 99.8 %"
_MARKS: dict[str, dict[str, Any]] = {
    _INSIDE: {"marker": "o", "s": 26, "c": DARK},
    _OUTSIDE: {"marker": "D", "s": 30, "c": "white", "edgecolors": ACCENT, "linewidths": 1.6},
    _FAR: {"marker": "D", "s": 38, "c": ACCENT},
}


def funnel_picture(review: TeamReview) -> Picture | None:
    """Picture of how often visits reached their goal.

    Parameters
    ----------
    review : TeamReview

    Returns
    -------
    Picture or None
        None where there are no limits, or nobody who is shown.
    """
    rows = shown(review, "goal_share", "goal_n")
    limits = review.funnel.dropna().sort_values("n")
    if not len(rows) or not len(limits):
        return None
    rows = rows.assign(where=_where(rows, limits))
    target = float(limits["target"].iloc[0])
    title = "How often visits reached their goal"
    wider = float((review.team.get("overdispersion") or {}).get("between") or 0.0) > 0.0
    words = (
        f"{review.quarter}, at the team's mix of cases, by number of visits. Middle line: what is expected, "
        f"{percent(target)}. Limits{', wider as stylists differ beyond chance' if wider else ''}: without "
        "special reason 19 in 20 lie within those of 95 %, 499 in 500 within those of 99.8 %."
    )
    with look(NARROW, 4.6) as figure:
        stack = Stack(figure)
        stack.text(title, fontsize=12.5, fontweight="bold")
        stack.text(words, gap=0.08, color=QUIET, fontsize=SMALL)
        axes = stack.axes(3.1, left=0.5, right=0.62, gap=0.42)
        unnamed = _funnel(axes, rows, limits)
        stack.below += 0.42
        left = left_out(review, len(rows))
        below = f"{_unnamed(unnamed)} {left}".strip()
        if below:
            stack.text(below, gap=0.08, color=QUIET, fontsize=SMALL)
        stack.close()
    alt = " ".join(part for part in (f"{title}.", words, _in_words(rows, unnamed), left) if part)
    return Picture(figure, title, alt)


def _where(rows: pd.DataFrame, limits: pd.DataFrame) -> list[str]:
    """On which side of the limits that are drawn."""

    def beyond(name: str) -> npt.NDArray[np.bool_]:
        low = np.interp(rows["goal_n"], limits["n"], limits[f"low_{name}"])
        high = np.interp(rows["goal_n"], limits["n"], limits[f"high_{name}"])
        return np.asarray((rows["goal_share"] < low) | (rows["goal_share"] > high))

    return list(np.where(beyond("998"), _FAR, np.where(beyond("95"), _OUTSIDE, _INSIDE)))


def _funnel(axes: Axes, rows: pd.DataFrame, limits: pd.DataFrame) -> list[int]:
    """Draw it; returns the rows for whose name there's no room."""
    axes.fill_between(limits["n"], 100 * limits["low_95"], 100 * limits["high_95"], color=PALE, linewidth=0)
    lines = []
    for name, style in _LIMITS.items():
        for end in ("low", "high"):
            axes.plot(limits["n"], 100 * limits[f"{end}_{name}"], color=QUIET, linewidth=1.1, linestyle=style)
            lines.append(np.column_stack([limits["n"], 100 * limits[f"{end}_{name}"]]))
    axes.plot(limits["n"], 100 * limits["target"], color=INK, linewidth=1.2)
    lines.append(np.column_stack([limits["n"], 100 * limits["target"]]))
    for where, marks in _MARKS.items():
        here = rows[rows["where"] == where]
        if len(here):
            axes.scatter(here["goal_n"], 100 * here["goal_share"], label=where, zorder=3, **marks)
    _scales(axes, rows, limits)
    _name_lines(axes, limits)
    axes.legend(
        loc="lower left", bbox_to_anchor=(-0.05, 1.02), ncols=3, handletextpad=0.1, columnspacing=0.9,
        borderaxespad=0.2, borderpad=0.0,
    )  # fmt: skip
    points = np.column_stack([rows["goal_n"], 100 * rows["goal_share"]])
    return name_points(
        axes, points, list(rows["drawn"]), list(rows["where"] != _INSIDE), lines, fontsize=SMALL
    )


def _scales(axes: Axes, rows: pd.DataFrame, limits: pd.DataFrame) -> None:
    """Shares from 0 to 100 % as far as there are any; visits as far as stylists have them."""
    last = float(rows["goal_n"].max())
    axes.set_xlim(0.0, 1.08 * last)
    from_n = min(float(rows["goal_n"].min()), last / 6)
    drawn = limits[limits["n"] >= from_n]
    low = min(drawn["low_998"].min(), rows["goal_share"].min())
    high = max(drawn["high_998"].max(), rows["goal_share"].max())
    axes.set_ylim(max(100 * low - 4, -2), min(100 * high + 4, 102))
    axes.set(xlabel="visits", ylabel="reached, %")


def _name_lines(axes: Axes, limits: pd.DataFrame) -> None:
    """At the right end; where two would touch, those of the outer limits move outwards."""
    end = axes.get_xlim()[1]
    bottom, top = axes.get_ylim()
    apart = (top - bottom) * 11.5 / (axes.bbox.height * 72 / axes.figure.dpi)
    at = {name: 100 * float(np.interp(end, limits["n"], limits[name])) for name in limits if name != "n"}
    middle = at["target"]
    up, down = max(at["high_95"], middle + apart), min(at["low_95"], middle - apart)
    names = (
        (middle, "expected", INK),
        (up, "95 %", QUIET),
        (down, "95 %", QUIET),
        (max(at["high_998"], up + apart), "99.8 %", QUIET),
        (min(at["low_998"], down - apart), "99.8 %", QUIET),
    )
    for level, name, colour in names:
        axes.annotate(
            name, (1.0, level), xytext=(3, 0), textcoords="offset points", fontsize=SMALL, color=colour,
            xycoords=("axes fraction", "data"), va="center", annotation_clip=False,
        )  # fmt: skip


def _unnamed(unnamed: list[int]) -> str:
    return f"{count(len(unnamed), 'mark')} without a name, as there was no room for it." if unnamed else ""


def _in_words(rows: pd.DataFrame, unnamed: list[int]) -> str:
    sentences = []
    for where in (_FAR, _OUTSIDE, _INSIDE):
        here = rows[rows["where"] == where]
        told = "; ".join(
            f"{row['told']} {percent(row['goal_share'])} of {count(int(row['goal_n']), 'visit')}"
            for row in here.to_dict("records")
        )
        sentences.append(f"{where.capitalize()}: {told or 'nobody'}.")
    if unnamed:
        sentences.append(f"Without a name in the figure: {', '.join(rows['told'].iloc[unnamed])}.")
    return " ".join(sentences)
