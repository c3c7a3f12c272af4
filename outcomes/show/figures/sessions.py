"""Chances of every number of sessions: ten clients to count, and bars to read."""

from __future__ import annotations

import textwrap

import seaborn as sns
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Circle

from outcomes.answers.out_of_ten import out_of_ten
from outcomes.answers.question import Question
from outcomes.answers.sessions_answer import SessionsAnswer
from outcomes.answers.wording import CAUTIONS, count, percent, span
from outcomes.show.figures.picture import ACCENT, DARK, INK, MID, PALE, QUIET, SOFT, Picture, bare, look

__all__ = ["plan_in_words", "sessions_picture"]

_SHADES = (DARK, MID, SOFT, PALE)
_ON = ("white", "white", INK, INK)  # what a number is written in, on each shade
_SHOWN = 0.005  # numbers of sessions rarer than this at the far end share a bar


def sessions_picture(answer: SessionsAnswer) -> Picture:
    """Picture of an answer; where the plan is outside the log, its reasons and no chances.

    Parameters
    ----------
    answer : SessionsAnswer

    Returns
    -------
    Picture
    """
    title = f"Sessions from level {answer.question.start:g} to {answer.question.goal:g}"
    with look(8.0, 4.0) as figure:
        said = textwrap.wrap(answer.sentence, 62)
        for i, line in enumerate(said):
            figure.text(0.03, 0.935 - 0.062 * i, line, fontsize=12.5, fontweight="bold", va="top")
        below = 0.935 - 0.062 * len(said)
        asked = textwrap.fill(plan_in_words(answer.question), 100)
        figure.text(0.03, below - 0.015, asked, fontsize=9.5, color=QUIET, va="top")
        if answer.support == "outside":
            notes = "\n".join(textwrap.fill(note, 90) for note in answer.support_notes)
            figure.text(0.03, 0.55, notes, va="top")
            alt = f"{answer.sentence} {' '.join(answer.support_notes)}"
        else:
            names, chances = _shown(answer)
            _ten(figure, names, chances)
            _bars(figure, answer, names, chances)
            alt = _in_words(answer, names, chances)
        figure.text(0.03, 0.035, _rests_on(answer), fontsize=9, color=QUIET, va="bottom", linespacing=1.35)
    return Picture(figure, title, alt)


def plan_in_words(question: Question) -> str:
    """The plan in one line, as pictures show it below their title."""
    whose = {None: "one of the log's stylists", "new": "a stylist new to the log"}
    parts = (
        f"Level {question.start:g} to {question.goal:g}",
        f"{question.hair} hair",
        f"{question.peroxide:g} % developer",
        f"{'no' if question.heat == 'none' else question.heat} heat",
        f"at most {question.minutes:g} minutes",
        whose.get(question.stylist, f"stylist {question.stylist}"),
    )
    return ", ".join(parts)


def _shown(answer: SessionsAnswer) -> tuple[list[str], list[float]]:
    """Numbers of sessions with their chances; those hardly anybody needs share the last."""
    last = len(answer.sessions) - 1
    while last > 1 and sum(answer.sessions[last - 1 :]) < _SHOWN:
        last -= 1
    names, chances = [str(k) for k in range(1, last + 1)], list(answer.sessions[:last])
    if (rest := sum(answer.sessions[last:])) > 0:
        names.append(f"{last + 1}+")
        chances.append(rest)
    return names, chances


def _ten(figure: Figure, names: list[str], chances: list[float]) -> None:
    axes = figure.add_axes((0.03, 0.2, 0.4, 0.42))
    numbers = [i for i, people in enumerate(out_of_ten(chances)) for _ in range(people)]
    for place, i in enumerate(numbers):
        x, y, shade = place % 5, 1 - place // 5, min(i, len(_SHADES) - 1)
        axes.add_patch(Circle((x, y), 0.42, facecolor=_SHADES[shade], edgecolor=INK, linewidth=0.8))
        axes.text(x, y, names[i], ha="center", va="center_baseline", fontsize=12, color=_ON[shade])
    axes.set(xlim=(-0.5, 4.5), ylim=(-0.5, 1.5), aspect="equal", anchor="NW")
    axes.set_title("Of 10 clients like this, sessions needed", loc="left", pad=8)
    bare(axes)


def _bars(figure: Figure, answer: SessionsAnswer, names: list[str], chances: list[float]) -> None:
    axes: Axes = figure.add_axes((0.53, 0.2, 0.38, 0.42))
    shades = [_SHADES[min(i, len(_SHADES) - 1)] for i in range(len(names))]
    sns.barplot(
        x=chances, y=names, hue=names, palette=shades, legend=False, ax=axes, saturation=1.0, width=0.62,
        edgecolor=INK, linewidth=0.8,
    )  # fmt: skip
    for i, chance in enumerate(chances):
        axes.text(chance + 0.02, i, percent(chance), va="center_baseline")
    _band(axes, answer, len(names))
    axes.set(xlim=(0, 1.0), xlabel="", ylabel="", xticks=[])
    axes.spines["bottom"].set_visible(False)
    axes.tick_params(axis="y", length=0)
    axes.set_title("Chance of each number of sessions", loc="left", pad=8)


def _band(axes: Axes, answer: SessionsAnswer, shown: int) -> None:
    """A bracket beside the numbers of sessions within the band."""
    first = min((answer.band_low or answer.limit + 1) - 1, shown - 1)
    last = min((answer.band_high or answer.limit + 1) - 1, shown - 1)
    top, bottom, x = first - 0.34, last + 0.34, 0.88
    axes.plot([x - 0.02, x, x, x - 0.02], [top, top, bottom, bottom], color=ACCENT, linewidth=1.6)
    axes.text(
        x + 0.03, (top + bottom) / 2, f"{100 * answer.band_coverage:.0f} %\nband", color=ACCENT, va="center",
        linespacing=1.2, fontsize=9.5,
    )  # fmt: skip


def _rests_on(answer: SessionsAnswer) -> str:
    basis = answer.basis
    checked = "checked out of sample" if basis.calibrated else "not yet checked out of sample"
    return (
        f"From {count(basis.visits, 'logged visit')} of {count(basis.clients, 'client')} by "
        f"{count(basis.stylists, 'stylist')}; {checked}. {answer.support.capitalize()} what the log covers.\n"
        f"{CAUTIONS[0]} {CAUTIONS[1]}"
    ).replace("Edge what", "At the edge of what")


def _in_words(answer: SessionsAnswer, names: list[str], chances: list[float]) -> str:
    each = "; ".join(f"{name}: {percent(chance)}" for name, chance in zip(names, chances, strict=True))
    ten = ", ".join(
        f"{people} need {name}" for name, people in zip(names, out_of_ten(chances), strict=True) if people
    )
    return (
        f"{answer.sentence} {plan_in_words(answer.question)}. Of 10 clients like this {ten}. "
        f"Chance of each number of sessions: {each}. {100 * answer.band_coverage:.0f} % band: "
        f"{span(answer.band_low, answer.band_high, answer.limit)} sessions. {_rests_on(answer)}"
    ).replace("\n", " ")
