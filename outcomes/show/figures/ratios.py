"""Ratios of fade rates as a forest plot: every shade against the reference, bands that hold together."""

from __future__ import annotations

from typing import Any

from outcomes.answers.fade_answer import FadeAnswer
from outcomes.answers.wording import FADE_NAMES, count
from outcomes.show.figures.forest import NAMES, NUMBERS, ROW, forest
from outcomes.show.figures.picture import QUIET, Picture, look
from outcomes.show.figures.scale import numbers
from outcomes.show.figures.stack import WIDTH, Stack

__all__ = ["ratios_picture"]


def ratios_picture(answer: FadeAnswer) -> Picture:
    """Picture of the ratios of an answer.

    Parameters
    ----------
    answer : FadeAnswer

    Returns
    -------
    Picture
    """
    by = answer.by.replace("_", " ")
    title = f"How fast shades fade, by {by}"
    heading = f"{by.capitalize()}, against {answer.reference.replace('_', '-')}"
    lines: list[tuple[str, Any]] = [(heading, None)]
    for row in answer.rows:
        if row.shade != answer.reference:
            one = row.ratio
            lines.append(
                (row.shade.replace("_", "-"), {"ratio": one.value, "low": one.low, "high": one.high})
            )
    share = round(100 * answer.ratio_coverage)
    explained = (
        f"Ratio of fade rates by {FADE_NAMES[answer.measure]}, all else alike; 1 is no difference. "
        f"The bands all hold at once {share} times in 100."
    )
    thin = [f"{row.shade} ({count(row.visits, 'visit')})" for row in answer.rows if row.support != "inside"]
    visits, clients = count(answer.basis.visits, "visit"), count(answer.basis.clients, "client")
    below = f"From {visits} of {clients} read after washes."
    if thin:
        below += f" Few visits: {', '.join(thin)}."
    with look(WIDTH, 4.0) as figure:
        stack = Stack(figure)
        stack.text(title, fontsize=13, fontweight="bold")
        stack.text(explained, gap=0.08, color=QUIET)
        axes = stack.axes(ROW * len(lines), left=NAMES, right=NUMBERS, gap=0.2)
        forest(axes, lines, "fade rate")
        stack.text(below, gap=0.62, color=QUIET, fontsize=9.5)
        stack.close()
    told = ", ".join(f"{name} {numbers(term, 'ratio')}" for name, term in lines[1:])
    return Picture(figure, title, f"{title}. {explained} {heading}: {told}. {below}")
