"""Level against minutes for one plan, with the band over clients and the logged readings behind."""

from __future__ import annotations

import seaborn as sns
from matplotlib.axes import Axes
from pandas import DataFrame

from outcomes.answers.lift_curve import LiftCurveAnswer
from outcomes.answers.wording import count
from outcomes.show.figures.picture import ACCENT, DARK, INK, QUIET, SOFT, Picture, look
from outcomes.show.figures.sessions import plan_in_words

__all__ = ["lift_curve_picture"]

_KINDS = {"look": "look, hair wet", "result": "result, rinsed"}


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
    with look(8.0, 4.9) as figure:
        axes: Axes = figure.add_axes((0.09, 0.215, 0.64, 0.585))
        figure.text(0.03, 0.955, str(answer), fontsize=12, fontweight="bold", va="top")
        figure.text(0.03, 0.89, plan_in_words(asked), fontsize=9.5, color=QUIET, va="top")
        inside = answer.support != "outside"
        if inside:
            axes.fill_between(answer.minutes, answer.low, answer.high, color=SOFT, alpha=0.55, linewidth=0)
        number = 0 if readings is None else _readings(axes, answer, readings)
        if inside:
            sns.lineplot(
                x=answer.minutes, y=answer.median, ax=axes, color=DARK, linewidth=2.4, legend=False, zorder=4
            )
            _name_curves(axes, answer)
        axes.axhline(asked.goal, color=ACCENT, linewidth=1.4, linestyle=(0, (5, 3)), zorder=3)
        axes.annotate(
            f"goal {asked.goal:g}", (1.015, asked.goal), xycoords=("axes fraction", "data"), color=ACCENT,
            va="center", annotation_clip=False,
        )  # fmt: skip
        axes.set(xlim=(0, asked.minutes), yticks=range(1, 11))
        axes.set_ylim(max(asked.start - 1, 1) - 0.25, 10.25)
        axes.set_xlabel("minutes since the lightener went on")
        axes.set_ylabel("level")
        behind = (
            f"Marks: {count(number, 'reading')} of logged visits with the same hair, developer and heat,\n"
            "whatever their start, by size. Late ones show slow hair only: fast hair had been rinsed by then."
            if number
            else f"From {count(answer.basis.visits, 'logged visit')}."
        )
        figure.text(0.03, 0.03, behind, fontsize=9, color=QUIET, va="bottom", linespacing=1.35)
    points = f"Level by minutes: {_points(answer)}. " if inside else ""
    alt = f"{answer} {plan_in_words(asked)}. {points}{behind}".replace("\n", " ")
    return Picture(figure, title, alt)


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
        axes.legend(
            [h for h, _ in kept],
            [label for _, label in kept],
            loc="upper left",
            bbox_to_anchor=(1.0, 0.22),
            handletextpad=0.3,
        )
    return int(shown["n"].sum())


def _name_curves(axes: Axes, answer: LiftCurveAnswer) -> None:
    """Names at the right end, in place of a legend."""
    end = [
        ("middle", answer.median[-1], DARK),
        (f"{100 * answer.coverage:.0f} % band", answer.low[-1], QUIET),
    ]
    for name, level, colour in end:
        # the goal's own name comes first
        nudge = -0.42 if abs(level - answer.question.goal) < 0.42 else 0.0
        axes.annotate(
            name, (1.015, level + nudge), xycoords=("axes fraction", "data"), color=colour, va="center",
            annotation_clip=False,
        )  # fmt: skip


def _points(answer: LiftCurveAnswer) -> str:
    third = len(answer.minutes) // 3
    chosen = range(third, len(answer.minutes), third)
    rows = ((answer.minutes[i], answer.median[i], answer.low[i], answer.high[i]) for i in chosen)
    return "; ".join(
        f"{at:.0f} minutes {median:.1f} ({low:.1f} to {high:.1f})" for at, median, low, high in rows
    )
