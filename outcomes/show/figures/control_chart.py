"""Did anything change within the quarter? A control chart of each stylist's visits, side by side."""

from __future__ import annotations

import pandas as pd
from matplotlib.axes import Axes
from matplotlib.ticker import MaxNLocator

from outcomes.answers.wording import count
from outcomes.review.team_review import TeamReview
from outcomes.show.figures.picture import ACCENT, DARK, INK, QUIET, Picture, look
from outcomes.show.figures.shown import NARROW, SMALL, left_out, shown
from outcomes.show.figures.stack import MARGIN, Stack

__all__ = ["chart_picture"]

_MOST = 30  # panels
_WIDE = 8  # up to so many stand in two columns, more in three
_HIGH = {1: 1.1, 2: 0.85, 3: 0.47}  # inches of a panel, by columns
_LEFT, _BETWEEN = 0.52, 0.14  # inches
_TITLE, _TICKS = 0.24, 0.2


def chart_picture(review: TeamReview) -> Picture | None:
    """Picture of the control charts; where there are very many, of those with signals and most visits.

    Parameters
    ----------
    review : TeamReview

    Returns
    -------
    Picture or None
        None where nobody is shown.
    """
    chart = review.chart.dropna(subset=["mean", "limit"])
    every = shown(review)
    every = every[every["stylist"].isin(chart["stylist"])].reset_index(drop=True)
    if not len(every):
        return None
    chart = chart[chart["stylist"].isin(every["stylist"])]
    rows = _chosen(every, chart)
    title = "Did anything change within the quarter?"
    words = (
        f"{review.quarter}, visit by visit: the first reading against what was expected of it, the newest "
        "visits counting most. Up is lighter than expected, down darker. A mark beyond the dashed limits is "
        f"a signal. While nothing changes there is a false signal once in about {_about(review.run_length)} "
        "visits."
    )
    with look(NARROW, 4.0) as figure:
        stack = Stack(figure)
        stack.text(title, fontsize=12.5, fontweight="bold")
        stack.text(words, gap=0.08, color=QUIET, fontsize=SMALL)
        stack.below += 0.1
        _panels(stack, rows, chart)
        of_all = f"The {len(rows)} with signals or most visits, of {len(every)}. " * (len(rows) < len(every))
        if below := f"{of_all}{left_out(review, len(every))}".strip():
            stack.text(below, gap=0.1, color=QUIET, fontsize=SMALL)
        stack.close()
    alt = " ".join(part for part in (f"{title}", words, _in_words(every, chart), below) if part)
    return Picture(figure, title, alt)


def _about(visits: float) -> str:
    """To two digits, as it's an average."""
    return f"{float(f'{visits:.2g}'):,.0f}"


def _chosen(rows: pd.DataFrame, chart: pd.DataFrame) -> pd.DataFrame:
    by_stylist = chart.groupby("stylist")
    has, visits = by_stylist["signal"].any(), by_stylist.size()
    first = sorted(rows.index, key=lambda i: (not has[rows["stylist"][i]], -visits[rows["stylist"][i]], i))
    return rows.loc[sorted(first[:_MOST])]


def _panels(stack: Stack, rows: pd.DataFrame, chart: pd.DataFrame) -> None:
    columns = 1 if len(rows) == 1 else 2 if len(rows) <= _WIDE else 3
    inside = NARROW - 2 * MARGIN
    width = (inside - _LEFT - (columns - 1) * _BETWEEN) / columns
    limit = float(chart["limit"].max())
    top = max(1.6 * limit, 1.1 * float(chart["mean"].abs().max()))
    last = max(int(chart["visit"].max()), 5)
    for i, row in enumerate(rows.to_dict("records")):
        column = i % columns
        if column == 0:
            start = stack.below + _TITLE
        stack.below = start
        left = _LEFT + column * (width + _BETWEEN)
        axes = stack.axes(_HIGH[columns], left=left, right=inside - left - width)
        _panel(axes, chart[chart["stylist"] == row["stylist"]])
        name = axes.set_title(row["drawn"], loc="left", pad=3, fontsize=SMALL)
        name.set_parse_math(False)
        axes.set(xlim=(0.0, 1.03 * last), ylim=(-top, top))
        axes.set_yticks([-0.6 * top, 0.6 * top], ["darker", "lighter"] if column == 0 else ["", ""])
        axes.xaxis.set_major_locator(MaxNLocator(nbins=3, integer=True))
        is_lowest = i + columns >= len(rows)
        axes.tick_params(labelsize=SMALL, length=2.5, pad=2, labelbottom=is_lowest)
        axes.tick_params("y", length=0)
        if is_lowest and i == len(rows) - 1:
            axes.set_xlabel("visits", fontsize=SMALL, labelpad=1)
    stack.below += _TICKS + 0.2


def _panel(axes: Axes, rows: pd.DataFrame) -> None:
    limit = float(rows["limit"].iloc[-1])
    axes.axhline(0.0, color=QUIET, linewidth=0.6, zorder=1)
    for side in (-limit, limit):
        axes.axhline(side, color=INK, linewidth=0.9, linestyle=(0, (4, 2)), zorder=1)
    axes.plot(rows["visit"], rows["mean"], color=DARK, linewidth=1.2, zorder=2)
    beyond = rows[rows["signal"].astype(bool)]
    axes.scatter(beyond["visit"], beyond["mean"], marker="D", s=11, c=ACCENT, linewidths=0, zorder=3)


def _in_words(rows: pd.DataFrame, chart: pd.DataFrame) -> str:
    quiet, loud = [], []
    for row in rows.to_dict("records"):
        own = chart[chart["stylist"] == row["stylist"]]
        signals = own[own["signal"].astype(bool)]
        visits = count(len(own), "visit")
        if len(signals):
            sides = signals["mean"] > 0
            side = "lighter" if sides.all() else "lighter and darker" if sides.any() else "darker"
            first, last = int(signals["visit"].iloc[0]), int(signals["visit"].iloc[-1])
            where = f"at visit {first}" if len(signals) == 1 else f"from visit {first} to {last}"
            loud.append(f"{row['told']} {side}, {count(len(signals), 'signal')} {where} of {visits}")
        else:
            quiet.append(f"{row['told']} ({visits})")
    limit = float(chart["limit"].max())
    said = [f"Limits: {limit:.2f} to either side, where 1 is the spread of single visits."]
    said.append(f"Signals: {'; '.join(loud) or 'none'}.")
    return " ".join([*said, *([f"No signal: {', '.join(quiet)}."] if quiet else [])])
