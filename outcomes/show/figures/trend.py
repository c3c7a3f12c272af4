"""Quarter by quarter: sessions until the goal, what was expected of the same visits, and how many."""

from __future__ import annotations

from math import ceil

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.ticker import MaxNLocator

from outcomes.answers.wording import count
from outcomes.review.team_review import COVERAGE, TeamReview
from outcomes.show.figures.picture import ACCENT, DARK, INK, QUIET, SOFT, Picture, look
from outcomes.show.figures.shown import NARROW, SMALL
from outcomes.show.figures.stack import Stack

__all__ = ["trend_picture"]

_ASIDE = 0.2  # quarters by which expected ones stand to the right, or the two would hide each other
_NAMED = 12  # quarters up to which each has its name; beyond, years alone
_YEARS = 36  # quarters up to which each of their years is named
_COUNTED = 8  # quarters up to which visits are written


def trend_picture(review: TeamReview) -> Picture | None:
    """Picture of sessions until the goal over the quarters.

    Parameters
    ----------
    review : TeamReview

    Returns
    -------
    Picture or None
        None where no quarter has a median.
    """
    rows = review.trend.dropna(subset=["median"]).reset_index(drop=True)
    if not len(rows):
        return None
    rows = rows.assign(at=[pd.Period(str(quarter), freq="Q").ordinal for quarter in rows["quarter"]])
    rows = rows.sort_values("at", ignore_index=True)
    title = "Sessions until the goal, quarter by quarter"
    words = (
        f"Half of the courses needed no more than the median. Lines: its {100 * COVERAGE:.0f} % bands. Open "
        "marks: what was expected of the very same visits, so a change that they share lies in the cases."
    )
    endless = rows["low"].notna() & ~np.isfinite(rows["high"].astype(float))
    beyond = "An arrow: so few were done that the band has no upper end." if endless.any() else ""
    with look(NARROW, 4.0) as figure:
        stack = Stack(figure)
        stack.text(title, fontsize=12.5, fontweight="bold")
        stack.text(words, gap=0.08, color=QUIET, fontsize=SMALL)
        above = stack.axes(1.9, left=0.52, gap=0.38)
        _medians(above, rows.assign(endless=endless))
        below = stack.axes(0.5, left=0.52, gap=0.27)
        _visits(below, rows)
        first, last = int(rows["at"].min()), int(rows["at"].max())
        for axes in (above, below):
            axes.set_xlim(first - 0.55, last + 0.55)
        _name_quarters(above, below, range(first, last + 1))
        stack.below += 0.42
        if beyond:
            stack.text(beyond, gap=0.08, color=QUIET, fontsize=SMALL)
        stack.close()
    return Picture(figure, title, f"{title}. {words} {_in_words(rows)} {beyond}".rstrip())


def _medians(axes: Axes, rows: pd.DataFrame) -> None:
    ends = rows[["median", "low", "high", "expected"]].to_numpy(dtype=np.float64)
    bottom, top = float(ends[np.isfinite(ends)].min()), float(ends[np.isfinite(ends)].max())
    room = max(0.08 * (top - bottom), 0.1)
    axes.set_ylim(max(bottom - room, 0.0), top + room)
    high = rows["high"].mask(rows["endless"], top + room)
    axes.vlines(rows["at"], rows["low"], high, color=DARK, linewidth=2.0, zorder=2)
    arrows = rows[rows["endless"]]
    axes.scatter(
        arrows["at"], high[rows["endless"]], marker="^", s=30, c=DARK, clip_on=False, zorder=3, gid="arrows"
    )
    every = range(int(rows["at"].min()), int(rows["at"].max()) + 1)
    # a quarter without a median breaks the line
    axes.plot(every, rows.set_index("at")["median"].reindex(every), color=SOFT, linewidth=1.4, zorder=1)
    axes.scatter(rows["at"], rows["median"], s=34, c=DARK, zorder=3, label="median")
    axes.scatter(
        rows["at"] + _ASIDE, rows["expected"], marker="D", s=24, c="white", edgecolors=ACCENT, linewidths=1.3,
        zorder=4, label="expected of the same visits",
    )  # fmt: skip
    axes.yaxis.set_major_locator(MaxNLocator(nbins=5, steps=[1, 2, 5, 10]))
    axes.set_ylabel("sessions")
    axes.legend(
        loc="lower left", bbox_to_anchor=(-0.02, 1.0), ncols=2, handletextpad=0.2, columnspacing=1.2,
        borderaxespad=0.2, borderpad=0.0,
    )  # fmt: skip


def _visits(axes: Axes, rows: pd.DataFrame) -> None:
    axes.bar(rows["at"], rows["visits"], width=0.6, color=SOFT, edgecolor=INK, linewidth=0.6)
    axes.set_yticks([])
    axes.spines["left"].set_visible(False)
    axes.set_ylim(0.0, 1.02 * max(float(rows["visits"].max()), 1.0))
    axes.annotate(
        "visits", (0.0, 0.0), xycoords="axes fraction", xytext=(-4, 0), textcoords="offset points",
        ha="right", va="bottom", annotation_clip=False,
    )  # fmt: skip
    if rows["at"].max() - rows["at"].min() >= _COUNTED:
        if (most := float(rows["visits"].max())) > 0:
            axes.set_yticks([most], [f"{most:,.0f}"])
        return
    for x, visits in zip(rows["at"], rows["visits"], strict=True):
        if pd.notna(visits):
            axes.annotate(
                f"{visits:,.0f}", (x, visits), xytext=(0, 1.5), textcoords="offset points", ha="center",
                va="bottom", fontsize=SMALL, annotation_clip=False,
            )  # fmt: skip


def _name_quarters(above: Axes, below: Axes, every: range) -> None:
    """Below the bars; a year is written at its first quarter, and at the first of all."""
    first_of_year = [at for at in every if at % 4 == 0]
    if len(every) > _NAMED:
        at = first_of_year[:: ceil(len(every) / _YEARS)]
        names = [str(1970 + one // 4) for one in at]
    else:
        # a fourth quarter leaves no room for two years side by side where there are many
        years = {*first_of_year, *(every[:1] if len(every) <= _COUNTED or every[0] % 4 < 3 else ())}
        at = list(every)
        names = [f"Q{one % 4 + 1}\n{1970 + one // 4 if one in years else ' '}" for one in every]
    above.set_xticks(at, [""] * len(at))
    below.set_xticks(at, names)
    below.tick_params("x", length=0, labelsize=SMALL)


def _in_words(rows: pd.DataFrame) -> str:
    told = []
    for row in rows.to_dict("records"):
        high = f"to {row['high']:.2f}" if np.isfinite(row["high"]) else "or more"
        band = "" if pd.isna(row["low"]) else f" ({row['low']:.2f} {high})"
        expected = "" if pd.isna(row["expected"]) else f", expected {row['expected']:.2f}"
        visits = "" if pd.isna(row["visits"]) else f", {count(int(row['visits']), 'visit')}"
        told.append(f"{row['quarter']} {row['median']:.2f}{band}{expected}{visits}")
    return f"{'; '.join(told)}."
