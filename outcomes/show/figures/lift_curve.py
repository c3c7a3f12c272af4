"""Level against minutes for one plan, with the band over clients and the logged readings behind."""

from __future__ import annotations

from math import ceil

import seaborn as sns
from matplotlib.axes import Axes
from pandas import DataFrame

from outcomes.answers.lift_curve import LiftCurveAnswer
from outcomes.answers.wording import CAUTIONS, count
from outcomes.show.figures.picture import ACCENT, DARK, INK, QUIET, SOFT, Picture, look
from outcomes.show.figures.sessions import plan_below, plan_in_words, why
from outcomes.show.figures.stack import WIDTH, Stack

__all__ = ["lift_curve_picture"]

_KINDS = {"look": "look, hair wet", "result": "result, rinsed"}
_TOP = 10.25  # upper end of the axes, so that level 10 is seen whole
_NAME_ROW = 0.19  # inches between the middles of two names


def lift_curve_picture(answer: LiftCurveAnswer, readings: DataFrame | None = None) -> Picture:
    """Picture of a lift curve.

    Parameters
    ----------
    answer : LiftCurveAnswer
    readings : DataFrame, optional
        Logged readings to show behind it: `minutes`, `gained`, `kind`, `n`, as
        `outcomes.readings.alike.readings_alike` counts them.

    Returns
    -------
    Picture
    """
    asked = answer.question
    title = f"How light in {asked.minutes:g} minutes"
    inside = answer.support != "outside"
    with look(WIDTH, 4.9) as figure:
        stack = Stack(figure)
        stack.text(str(answer), fontsize=13, fontweight="bold")
        plan_below(stack, asked)
        axes = stack.axes(2.95, left=0.42, right=0.9, gap=0.42)
        if inside:
            axes.fill_between(answer.minutes, answer.low, answer.high, color=SOFT, alpha=0.55, linewidth=0)
        number = 0 if readings is None else _readings(axes, answer, readings)
        if inside:
            sns.lineplot(
                x=answer.minutes, y=answer.median, ax=axes, color=DARK, linewidth=2.4, legend=False, zorder=4
            )
        axes.axhline(asked.goal, color=ACCENT, linewidth=1.4, linestyle=(0, (5, 3)), zorder=3)
        lowest = max(asked.start - 1, 1) - 0.25
        axes.set(xlim=(0, asked.minutes), yticks=range(ceil(lowest), 11), ylim=(lowest, _TOP))
        axes.set_xlabel("minutes since the lightener went on")
        axes.set_ylabel("level")
        _name_lines(axes, answer, _NAME_ROW * (_TOP - lowest) / 2.95)
        behind = _behind(answer, number)
        stack.text(behind + "\n" + " ".join(CAUTIONS), gap=0.62, color=QUIET, fontsize=9.5)
        stack.close()
    points = f"Level by minutes: {_points(answer)}. " if inside else ""
    alt = f"{answer} {plan_in_words(asked)}. {points}{behind} {' '.join(CAUTIONS)}".replace("\n", " ")
    return Picture(figure, title, alt)


def _behind(answer: LiftCurveAnswer, number: int) -> str:
    """What the curve rests on, what the marks are, and what speaks against the plan."""
    said = [f"From {count(answer.basis.visits, 'logged visit')}."]
    if number:
        said.append(
            f"Marks: {count(number, 'reading')} in visits with the same hair, developer and heat, whatever "
            "their start; the larger, the more. Late ones show slow hair only: fast hair had been rinsed."
        )
    if answer.support == "edge":
        said.append("At the edge of what the log covers.")
    said += why(answer.support_notes)
    return " ".join(said)


def _readings(axes: Axes, answer: LiftCurveAnswer, readings: DataFrame) -> int:
    """Circles for the readings within the axes; returns how many readings they stand for."""
    shown = readings[readings["minutes"] <= answer.minutes[-1]]
    shown = shown.assign(level=answer.question.start + shown["gained"], kind=shown["kind"].map(_KINDS))
    # The two kinds side by side, or one would hide the other.
    side = shown["kind"].map({_KINDS["look"]: -0.55, _KINDS["result"]: 0.55}).astype(float)
    if len(shown):
        sns.scatterplot(
            data=shown.assign(minutes=shown["minutes"] + side), x="minutes", y="level", size="n",
            hue="kind", style="kind", hue_order=[*_KINDS.values()], style_order=[*_KINDS.values()],
            sizes=(14, 170), palette={_KINDS["look"]: QUIET, _KINDS["result"]: INK},
            markers={_KINDS["look"]: "o", _KINDS["result"]: "s"}, alpha=0.5, linewidth=0, ax=axes, zorder=2,
        )  # fmt: skip
        handles, labels = axes.get_legend_handles_labels()
        kept = [(h, label) for h, label in zip(handles, labels, strict=True) if label in _KINDS.values()]
        # above the axes, where neither a curve nor a mark can be
        axes.legend(
            [h for h, _ in kept], [label for _, label in kept], loc="lower left", bbox_to_anchor=(0.0, 1.0),
            ncols=2, handletextpad=0.2, columnspacing=1.2, borderaxespad=0.2, borderpad=0.0,
        )  # fmt: skip
    return int(shown["n"].sum())


def _name_lines(axes: Axes, answer: LiftCurveAnswer, row: float) -> None:
    """Names at the right end, in place of a legend; those that would touch stand `row` levels apart."""
    names = [(answer.question.goal, f"goal {answer.question.goal:g}", ACCENT)]
    if answer.support != "outside":
        names += [
            (float(answer.median[-1]), "middle", DARK),
            (float(answer.low[-1]), f"{100 * answer.coverage:.0f} % band", QUIET),
        ]
    names.sort()
    at = [max(names[0][0], axes.get_ylim()[0])]
    for level, _, _ in names[1:]:
        at.append(max(level, at[-1] + row))
    # pushed up beyond the axes, all that touch come down again
    ceiling = _TOP
    for i in reversed(range(len(at))):
        at[i] = min(at[i], ceiling)
        ceiling = at[i] - row
    for (_, name, colour), level in zip(names, at, strict=True):
        axes.annotate(
            name, (1.0, level), xytext=(5, 0), textcoords="offset points",
            xycoords=("axes fraction", "data"), color=colour, va="center", annotation_clip=False,
        )  # fmt: skip


def _points(answer: LiftCurveAnswer) -> str:
    third = len(answer.minutes) // 3
    chosen = range(third, len(answer.minutes), third)
    rows = ((answer.minutes[i], answer.median[i], answer.low[i], answer.high[i]) for i in chosen)
    return "; ".join(
        f"{at:.0f} minutes {median:.1f} ({low:.1f} to {high:.1f})" for at, median, low, high in rows
    )
