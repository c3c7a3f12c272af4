"""Root shades now and at the next visit: level now, level then with its band, and the blend window."""

from __future__ import annotations

from math import ceil, floor

import seaborn as sns
from matplotlib.axes import Axes

from outcomes.answers.root_shade import Candidate, RootShadeAnswer, if_missing
from outcomes.answers.wording import CAUTIONS, count, likely
from outcomes.show.figures.picture import ACCENT, DARK, INK, PALE, QUIET, SOFT, Picture, look
from outcomes.show.figures.stack import WIDTH, Stack

__all__ = ["root_shade_picture"]

_ROW = 0.27  # inches
_NAMES, _NUMBERS = 1.25, 0.62
_MOST = 18  # rows; of more the tone that blends best stands for each level


def root_shade_picture(answer: RootShadeAnswer) -> Picture:
    """Picture of the candidates, the lightest on top.

    Parameters
    ----------
    answer : RootShadeAnswer

    Returns
    -------
    Picture
    """
    title = f"Root shades now and after {answer.washes:g} washes"
    rows = _rows(answer)
    with look(WIDTH, 4.0) as figure:
        stack = Stack(figure)
        stack.text(answer.sentence, fontsize=13, fontweight="bold")
        stack.text(
            f"Ring: level now. Dot and line: level after {answer.washes:g} washes, 8 new clients in 10. "
            f"Shaded: blends, level {answer.natural:g} to {answer.limit:g}. "
            "At the right the chance to blend.",
            gap=0.08, color=QUIET,
        )  # fmt: skip
        _draw(stack.axes(_ROW * len(rows), left=_NAMES, right=_NUMBERS, gap=0.2), answer, rows)
        below = _below(answer, len(rows))
        stack.text(f"{below} {' '.join(CAUTIONS)}", gap=0.62, color=QUIET, fontsize=9.5)
        stack.close()
    told = "; ".join(_in_words(one) for one in rows)
    return Picture(figure, title, f"{answer.sentence} {title}: {told}. {below} {' '.join(CAUTIONS)}")


def _rows(answer: RootShadeAnswer) -> list[Candidate]:
    every = sorted(answer.candidates, key=lambda one: (-one.root_level, one.root_tone))
    if len(every) <= _MOST:
        return every
    best: dict[float, Candidate] = {}
    for one in every:
        kept = best.get(one.root_level)
        if kept is None or (one is answer.choice) or (one.blends > kept.blends and kept is not answer.choice):
            best[one.root_level] = one
    return list(best.values())


def _draw(axes: Axes, answer: RootShadeAnswer, rows: list[Candidate]) -> None:
    axes.axvspan(answer.natural, answer.limit, color=PALE, linewidth=0, zorder=0)
    for end in (answer.natural, answer.limit):
        axes.axvline(end, color=SOFT, linewidth=1.0, zorder=1)
    for row, one in enumerate(rows):
        shown = one.support != "outside"
        colour = ACCENT if one is answer.choice else DARK
        low, high = one.level_then.low, one.level_then.high
        if shown and low is not None and high is not None:
            axes.plot([low, high], [row, row], color=colour, linewidth=2.4, solid_capstyle="butt", zorder=2)
        axes.annotate(
            likely(one.blends) if shown else "-", (1.0, row), xytext=(9, 0), textcoords="offset points",
            xycoords=("axes fraction", "data"), va="center_baseline", annotation_clip=False,
            fontweight="bold" if one is answer.choice else "normal",
        )  # fmt: skip
        mark = "  (outside)" if not shown else ""
        axes.annotate(
            f"{one.root_level:g} {one.root_tone}{mark}", (0.0, row), xytext=(-8, 0), ha="right",
            textcoords="offset points", xycoords=("axes fraction", "data"), va="center_baseline",
            annotation_clip=False, color=INK if shown else QUIET,
            fontweight="bold" if one is answer.choice else "normal",
        )  # fmt: skip
    places = list(range(len(rows)))
    sns.scatterplot(
        x=[one.root_level for one in rows], y=places, ax=axes, color="white", edgecolor=INK, linewidth=1.3,
        s=34, zorder=3,
    )  # fmt: skip
    then = [(one.level_then.median, row) for row, one in enumerate(rows) if one.support != "outside"]
    if then:
        sns.scatterplot(
            x=[level for level, _ in then], y=[row for _, row in then], ax=axes, color=DARK, linewidth=0,
            s=34, zorder=4,
        )  # fmt: skip
    highest = max([answer.limit, *(one.level_then.high or 0 for one in rows)])
    first, last = floor(answer.natural), ceil(highest)
    axes.set(xlim=(first - 0.2, last + 0.2), xticks=range(first, last + 1), yticks=[], ylabel="")
    axes.set(ylim=(len(rows) - 0.5, -0.5), xlabel="level: 1 black to 10 lightest blonde")
    axes.spines["left"].set_visible(False)


def _below(answer: RootShadeAnswer, shown: int) -> str:
    said = [f"From {count(answer.basis.visits, 'visit')} read after washes."]
    if shown < len(answer.candidates):
        said.append("For each level the tone that blends most often.")
    if answer.told is not None:
        said.append(if_missing(answer.told))
    return " ".join(said)


def _in_words(one: Candidate) -> str:
    if one.support == "outside":
        return f"{one.root_level:g} {one.root_tone}: outside the log"
    then = one.level_then
    return (
        f"{one.root_level:g} {one.root_tone}: {then.median:.1f} ({then.low:.1f} to {then.high:.1f}), blends "
        f"{likely(one.blends)}"
    )
