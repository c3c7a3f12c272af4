"""Were promises kept? Sessions quoted at the consultation against those that it took."""

from __future__ import annotations

import pandas as pd
from matplotlib.axes import Axes
from matplotlib.ticker import MaxNLocator

from outcomes.answers.wording import count, percent
from outcomes.review.team_review import TeamReview
from outcomes.show.figures.picture import ACCENT, DARK, INK, QUIET, Picture, look
from outcomes.show.figures.shown import NARROW, SMALL
from outcomes.show.figures.stack import Stack

__all__ = ["promises_picture"]

_LEFT = 0.8  # inches, for the names of the rows below
_LINE = 0.2


def promises_picture(review: TeamReview) -> Picture | None:
    """Picture of promise against result, by sessions quoted.

    Parameters
    ----------
    review : TeamReview

    Returns
    -------
    Picture or None
        None where no promise is settled, or none may be shown.
    """
    rows = review.promises.dropna(subset=["quoted", "needed", "within", "n"])
    rows = rows[rows["n"] > 0].sort_values("quoted", ignore_index=True)
    if not len(rows):
        return None
    title = "Sessions quoted, sessions needed"
    words = (
        f"{review.quarter}, courses for which sessions were quoted and that are settled: done, or past what "
        f"was quoted. Above the line more were needed than quoted, on average; below it fewer."
    )
    with look(NARROW, 4.0) as figure:
        stack = Stack(figure)
        stack.text(title, fontsize=12.5, fontweight="bold")
        stack.text(words, gap=0.08, color=QUIET, fontsize=SMALL)
        axes = stack.axes(2.2, left=_LEFT, right=0.0, gap=0.36)
        _promises(axes, rows)
        stack.below += 4 * _LINE + 0.2
        stack.text(_UNSETTLED, gap=0.0, color=QUIET, fontsize=SMALL)
        stack.close()
    return Picture(figure, title, f"{title}. {words} {_in_words(rows)} {_UNSETTLED}")


_UNSETTLED = "Courses still open within what was quoted aren't settled: nobody knows yet what they will need."


def _promises(axes: Axes, rows: pd.DataFrame) -> None:
    end = float(rows["quoted"].max()) + 0.5
    line = [0.5, end]
    axes.plot(line, line, color=INK, linewidth=1.1, linestyle=(0, (4, 2)), zorder=1, label="as quoted")
    axes.vlines(rows["quoted"], rows["quoted"], rows["needed"], color=ACCENT, linewidth=1.6, zorder=2)
    axes.scatter(rows["quoted"], rows["needed"], s=36, c=DARK, zorder=3, label="needed, mean")
    for row in rows.to_dict("records"):
        is_above = row["needed"] >= row["quoted"]
        axes.annotate(
            f"{row['needed']:.1f}", (row["quoted"], row["needed"]), xytext=(0, 5 if is_above else -5),
            textcoords="offset points", ha="center", va="bottom" if is_above else "top", fontsize=SMALL,
        )  # fmt: skip
    # room for a number above the highest mark
    axes.set(xlim=(0.5, end), ylim=(0.0, 1.12 * max(float(rows["needed"].max()), end)))
    axes.yaxis.set_major_locator(MaxNLocator(nbins=6, integer=True))
    axes.set_xticks(list(rows["quoted"]), [""] * len(rows))
    axes.set_ylabel("sessions")
    axes.legend(
        loc="lower left", bbox_to_anchor=(-0.02, 1.0), ncols=2, handletextpad=0.4, columnspacing=1.2,
        borderaxespad=0.2, borderpad=0.0,
    )  # fmt: skip
    _table(axes, rows)


def _table(axes: Axes, rows: pd.DataFrame) -> None:
    """Below each number quoted, how many courses there are and how many were done within it."""
    lines = {
        "quoted": [f"{quoted:g}" for quoted in rows["quoted"]],
        "courses": [f"{n:.0f}" for n in rows["n"]],
        "kept, %": [f"{100 * kept / n:.0f}" for kept, n in zip(rows["within"], rows["n"], strict=True)],
        "still open": ["" if pd.isna(n) else f"{n:.0f}" for n in rows["unsettled"]],
    }
    for line, (name, values) in enumerate(lines.items()):
        down = (0, -(7 + 72 * _LINE * line))
        weight = "bold" if line == 0 else "normal"
        for x, value in zip(rows["quoted"], values, strict=True):
            axes.annotate(
                value, (x, 0.0), xycoords=("data", "axes fraction"), xytext=down, textcoords="offset points",
                ha="center", va="top", fontsize=SMALL, fontweight=weight, annotation_clip=False,
            )  # fmt: skip
        axes.annotate(
            name, (0.0, 0.0), xycoords="axes fraction", xytext=(-72 * _LEFT, down[1]), va="top",
            textcoords="offset points", fontsize=SMALL, fontweight=weight, annotation_clip=False,
        )  # fmt: skip


def _in_words(rows: pd.DataFrame) -> str:
    told = []
    for row in rows.to_dict("records"):
        kept = percent(row["within"] / row["n"])
        still = "" if pd.isna(row["unsettled"]) else f", {row['unsettled']:.0f} still open"
        told.append(
            f"{row['quoted']:g} quoted, {row['needed']:.1f} needed, {kept} of "
            f"{count(int(row['n']), 'course')} kept{still}"
        )
    return f"{'; '.join(told)}."
