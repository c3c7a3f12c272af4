"""Are the bands honest? Coverage by group, stated chances against what came, where readings fell."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
import seaborn as sns
from matplotlib.axes import Axes

from outcomes.calibration.audit import BINS, Audit, BandAudit
from outcomes.show.figures.picture import ACCENT, DARK, INK, MID, PALE, QUIET, SOFT, Picture, look
from outcomes.show.figures.stack import WIDTH, Stack

__all__ = ["coverage_picture", "pit_picture", "reliability_picture"]

_ROW = 0.24  # inches
_NAMES = 2.45
_OFF = "off"  # written beside a group that is
_FIRST, _LATER = "first reading of a visit", "later readings"
_SESSIONS = {1: ("o", DARK), 2: ("s", MID), 3: ("^", SOFT)}


def coverage_picture(audit: BandAudit) -> Picture:
    """How often the 80 % band held, group by group, first and later readings apart.

    Parameters
    ----------
    audit : Audit

    Returns
    -------
    Picture
        Groups that are off are said so by a word beside them, and have the accent's colour.
    """
    table = audit.coverage
    table = table[table["nominal"] == 0.8] if len(table) else table
    title = "Do the bands hold?"
    words = "How often a band meant to hold 8 times in 10 held, for clients whom the model hadn't seen."
    groups = list(dict.fromkeys(table["group"])) if len(table) else []
    off = set(audit.flags["group"]) if len(audit.flags) else set()
    with look(WIDTH, 4.0) as figure:
        stack = Stack(figure)
        stack.text(title, fontsize=13, fontweight="bold")
        stack.text(words, gap=0.08, color=QUIET)
        if groups:
            axes = stack.axes(_ROW * len(groups), left=_NAMES, right=0.35, gap=0.42)
            _coverage(axes, table, groups, off)
            stack.text(
                "Lines: as far as chance goes (95 %), by the number of clients."
                + (f" Groups marked '{_OFF}' deviate by more than chance allows." if off else ""),
                gap=0.5, color=QUIET,
            )  # fmt: skip
        else:
            stack.text("Too few clients to say.", gap=0.2)
        stack.close()
    return Picture(figure, title, f"{title} {words} {_coverage_in_words(table, groups, off)}")


def _coverage(axes: Axes, table: pd.DataFrame, groups: list[str], off: set[str]) -> None:
    place = {group: row for row, group in enumerate(groups)}
    for reading, side, face, name in (("first", -0.14, DARK, _FIRST), ("later", 0.14, "white", _LATER)):
        rows = table[table["reading"] == reading]
        y = [place[group] + side for group in rows["group"]]
        colours = [ACCENT if group in off else DARK for group in rows["group"]]
        axes.hlines(y, rows["low"], rows["high"], color=colours, linewidth=1.6)
        faces = [colour if face == DARK else "white" for colour in colours]
        axes.scatter(
            rows["observed"], y, s=26, c=faces, edgecolors=colours, linewidths=1.4, zorder=3, label=name
        )
    axes.axvline(0.8, color=INK, linewidth=1.0, zorder=1)
    low = min(0.55, float(table["low"].min()))
    axes.set(xlim=(max(low - 0.02, 0.0), 1.0), ylim=(len(groups) - 0.5, -0.5), yticks=[])
    ticks = [tick for tick in (0.2, 0.4, 0.6, 0.8, 1.0) if tick >= axes.get_xlim()[0]]
    axes.set_xticks(ticks, [f"{100 * tick:.0f} %" for tick in ticks])
    axes.set_xlabel("of the time")
    axes.spines["left"].set_visible(False)
    inch = 1.0 / (WIDTH * axes.get_position().width)
    for group, row in place.items():
        axes.annotate(
            group, (-_NAMES * inch, row), xycoords=("axes fraction", "data"), va="center_baseline",
            annotation_clip=False, color=ACCENT if group in off else INK, fontsize=9,
        )  # fmt: skip
        if group in off:
            axes.annotate(
                _OFF, (1.0, row), xytext=(4, 0), textcoords="offset points",
                xycoords=("axes fraction", "data"), va="center_baseline", color=ACCENT, annotation_clip=False,
            )  # fmt: skip
    axes.legend(
        loc="lower left", bbox_to_anchor=(-0.02, 1.0), ncols=2, handletextpad=0.2, columnspacing=1.2,
        borderaxespad=0.2, borderpad=0.0,
    )  # fmt: skip


def _coverage_in_words(table: pd.DataFrame, groups: list[str], off: set[str]) -> str:
    if not groups:
        return "Too few clients to say."
    said = []
    for group in groups:
        rows = table[table["group"] == group]
        parts = [
            f"{row['reading']} {100 * row['observed']:.0f} % "
            f"({100 * row['low']:.0f} to {100 * row['high']:.0f})"
            for row in rows.to_dict("records")
        ]
        said.append(f"{group}{' (off)' if group in off else ''}: {', '.join(parts)}")
    return "; ".join(said) + "."


def reliability_picture(audit: Audit) -> Picture:
    """Stated chances against how often they came true: within minutes, and within sessions.

    Parameters
    ----------
    audit : Audit

    Returns
    -------
    Picture
    """
    title = "Do stated chances come true?"
    words = "On the line, what was said is what came. Above it more came true than was said, below it less."
    with look(WIDTH, 6.0) as figure:
        stack = Stack(figure)
        stack.text(title, fontsize=13, fontweight="bold")
        stack.text(words, gap=0.08, color=QUIET)
        for name, table in (
            ("Goal read within so many minutes", audit.reach),
            ("Course done within so many sessions", audit.sessions),
        ):
            stack.text(name, gap=0.2, fontweight="bold")
            if not len(table):
                stack.text("Too few clients to say.", gap=0.08)
                continue
            _diagonal(stack.axes(2.35, left=0.78, right=0.5, gap=0.15), table)
            stack.below += 0.45
        stack.text(
            "Lines: as far as chance goes (95 %). Visits rinsed for another reason than the goal, and "
            "clients who left, count for as long as they were followed; a dash: if all who left had failed. "
            "2 and 3 sessions stand a little to the right of where they belong, not to cover 1.",
            color=QUIET, gap=0.1,
        )  # fmt: skip
        stack.close()
    alt = (
        f"{title} {words} Within minutes: {_chances_in_words(audit.reach)}. "
        f"Within sessions: {_chances_in_words(audit.sessions)}."
    )
    return Picture(figure, title, alt)


_ASIDE = 0.03  # for each session more: chances of 2 and 3 are often near 100 %, and would cover each other
_HIDDEN = 0.03  # a dash no further from its point would be hidden by it


def _diagonal(axes: Axes, table: pd.DataFrame) -> None:
    axes.plot([0, 1], [0, 1], color=INK, linewidth=1.0, zorder=1)
    has_sessions = "sessions" in table
    number = table["sessions"] if has_sessions else pd.Series(1, table.index)
    for k, rows in table.groupby(number):
        marker, colour = _SESSIONS[int(k)]
        said = rows["predicted"] + _ASIDE * (int(k) - 1)
        axes.vlines(said, rows["low"], rows["high"], color=INK, linewidth=1.4, zorder=2)
        if has_sessions:
            seen = (rows["left_failed"] - rows["observed"]).abs() > _HIDDEN
            axes.scatter(said[seen], rows["left_failed"][seen], marker="_", s=60, c=INK, zorder=2)
        label = f"{k} session{'s' * (k > 1)}" if has_sessions else None
        axes.scatter(
            said, rows["observed"], marker=marker, s=44, c=colour, edgecolors=INK,
            linewidths=0.8, zorder=3, label=label,
        )  # fmt: skip
    ticks = [0.0, 0.25, 0.5, 0.75, 1.0]
    names = [f"{100 * tick:.0f} %" for tick in ticks]
    axes.set_xticks(ticks, names)
    axes.set_yticks(ticks, names)
    room = 2 * _ASIDE if has_sessions else 0.0
    axes.set(xlim=(-0.02, 1.03 + room), ylim=(-0.02, 1.03), xlabel="said", ylabel="came true")
    if has_sessions:
        axes.legend(loc="lower right", handletextpad=0.1, borderaxespad=0.2)


def _chances_in_words(table: pd.DataFrame) -> str:
    if not len(table):
        return "too few clients to say"
    return "; ".join(
        (f"{row['sessions']} sessions, " if "sessions" in row else "")
        + f"said {100 * row['predicted']:.0f} %, came {100 * row['observed']:.0f} % "
        f"({100 * row['low']:.0f} to {100 * row['high']:.0f})"
        for row in table.dropna(subset=["observed"]).to_dict("records")
    )


def pit_picture(audit: BandAudit) -> Picture:
    """Where readings fell in what was expected of them, ten parts of equal chance.

    Parameters
    ----------
    audit : Audit

    Returns
    -------
    Picture
    """
    title = "Where readings fell in what was expected"
    words = (
        "Ten parts, each as likely as any other if the forecast is right: bars near the line. A hump in the "
        "middle: bands too wide. High ends: too narrow. A slope: off to one side."
    )
    with look(WIDTH, 5.0) as figure:
        stack = Stack(figure)
        stack.text(title, fontsize=13, fontweight="bold")
        stack.text(words, gap=0.08, color=QUIET)
        shown = [(key, name) for key, name in (("first", _FIRST), ("later", _LATER)) if audit.heights[key]]
        for key, name in shown:
            stack.text(name.capitalize(), gap=0.2, fontweight="bold")
            _histogram(stack.axes(1.25, left=0.45, right=0.3, gap=0.12), audit, key)
            stack.below += 0.42
        if not shown:
            stack.text("Too few readings to say.", gap=0.2)
        else:
            stack.text("Shaded: as far as chance goes (95 %, all bars together).", color=QUIET, gap=0.05)
        stack.close()
    said = "; ".join(
        f"{name}: {', '.join(f'{height:.2f}' for height in audit.heights[key])}" for key, name in shown
    )
    return Picture(figure, title, f"{title}. {words} Heights from darkest to lightest, {said or 'none'}.")


def _histogram(axes: Axes, audit: BandAudit, key: str) -> None:
    heights: Any = audit.heights[key]
    low, high = np.array(audit.by_chance[key] or np.ones((BINS, 2))).T
    edges = np.arange(BINS + 1) - 0.5
    axes.stairs(high, edges, baseline=low, fill=True, color=PALE, zorder=0)
    sns.barplot(x=np.arange(BINS), y=list(heights), ax=axes, color=MID, width=0.86, zorder=2)
    axes.axhline(1.0, color=INK, linewidth=1.0, zorder=3)
    axes.set(xticks=[], yticks=[0, 1], ylim=(0, max(1.35, 1.05 * max(heights), 1.05 * float(high.max()))))
    axes.set(xlabel="", ylabel="")
    for name, side in (("darker than expected", 0.0), ("lighter", 1.0)):
        axes.annotate(
            name, (side, 0.0), xytext=(0, -6), textcoords="offset points", xycoords="axes fraction", va="top",
            ha="left" if side == 0.0 else "right", annotation_clip=False,
        )  # fmt: skip
