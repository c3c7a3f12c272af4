"""Chances of every number of sessions: ten clients to count, and bars to read."""

from __future__ import annotations

from collections.abc import Sequence

import seaborn as sns
from matplotlib.axes import Axes
from matplotlib.patches import Circle

from outcomes.answers.out_of_ten import out_of_ten
from outcomes.answers.question import Question
from outcomes.answers.sessions_answer import SessionsAnswer
from outcomes.answers.wording import CAUTIONS, count, percent, span
from outcomes.show.figures.picture import ACCENT, DARK, INK, MID, PALE, QUIET, SOFT, Picture, bare, look
from outcomes.show.figures.stack import KEPT, WIDTH, Stack

__all__ = ["plan_below", "plan_in_words", "sessions_picture", "why"]

_SHADES = (DARK, MID, SOFT, PALE)
_ON = ("white", "white", INK, INK)  # what a number is written in, on each shade
_SHOWN = 0.005  # numbers of sessions rarer than this at the far end share a bar

# Inches. Bars end where a chance of 1 ends; right of that the longest label, the bracket and its name have
# room of their own, whatever the chances are.
_ROW = 0.32
_NAMES, _BESIDE = 0.35, 1.35
_BRACKET = 0.68  # from the end of a chance of 1


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
    with look(WIDTH, 4.0) as figure:
        stack = Stack(figure)
        stack.text(answer.sentence, fontsize=13, fontweight="bold")
        plan_below(stack, answer.question)
        if answer.support == "outside":
            stack.text("\n".join(why(answer.support_notes)), gap=0.25)
            alt = " ".join(
                [answer.sentence, f"{plan_in_words(answer.question)}.", *why(answer.support_notes)]
            )
        else:
            names, chances = _shown(answer)
            _ten(stack.axes(0.5, gap=0.52), names, chances)
            bars = stack.axes(_ROW * len(names), left=_NAMES, right=_BESIDE, gap=0.5)
            _bars(bars, names, chances)
            _band(bars, answer, len(names))
            alt = _in_words(answer, names, chances)
        stack.text(_rests_on(answer), gap=0.28, color=QUIET, fontsize=9.5)
        stack.close()
    return Picture(figure, title, alt)


def plan_in_words(question: Question) -> str:
    """The plan in one line, as pictures show it below their title.

    Parameters
    ----------
    question : Question

    Returns
    -------
    str
    """
    return ", ".join(_parts(question))


def plan_below(stack: Stack, question: Question) -> None:
    """The plan below a picture's sentence; lines are broken at its commas.

    Parameters
    ----------
    stack : Stack
        Of the picture.
    question : Question
    """
    kept = ", ".join(part.replace(" ", KEPT) for part in _parts(question))
    stack.text(kept, gap=0.1, color=QUIET)


def why(support_notes: Sequence[str]) -> list[str]:
    """What speaks against a plan, a sentence each.

    Parameters
    ----------
    support_notes : sequence of str

    Returns
    -------
    list of str
    """
    return [f"{note[:1].upper()}{note[1:]}." for note in support_notes]


def _parts(question: Question) -> tuple[str, ...]:
    whose = {None: "one of the log's stylists", "new": "a stylist new to the log"}
    return (
        f"Level {question.start:g} to {question.goal:g}",
        f"{question.hair} hair",
        f"{question.peroxide:g} % developer",
        f"{'no' if question.heat == 'none' else question.heat} heat",
        f"at most {question.minutes:g} minutes",
        whose.get(question.stylist, f"stylist {question.stylist}"),
    )


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


def _ten(axes: Axes, names: list[str], chances: list[float]) -> None:
    """A row of ten clients, each with the sessions needed."""
    numbers = [i for i, people in enumerate(out_of_ten(chances)) for _ in range(people)]
    for x, i in enumerate(numbers):
        shade = min(i, len(_SHADES) - 1)
        axes.add_patch(Circle((x, 0), 0.43, facecolor=_SHADES[shade], edgecolor=INK, linewidth=0.8))
        axes.text(x, 0, names[i], ha="center", va="center_baseline", fontsize=12, color=_ON[shade])
    axes.set(xlim=(-0.45, 9.45), ylim=(-0.47, 0.47), aspect="equal", anchor="W")
    axes.set_title("Of 10 clients like this, sessions needed", loc="left", pad=6)
    bare(axes)


def _bars(axes: Axes, names: list[str], chances: list[float]) -> None:
    shades = [_SHADES[min(i, len(_SHADES) - 1)] for i in range(len(names))]
    sns.barplot(
        x=chances, y=names, hue=names, palette=shades, legend=False, ax=axes, saturation=1.0, width=0.66,
        edgecolor=INK, linewidth=0.8,
    )  # fmt: skip
    for i, chance in enumerate(chances):
        axes.annotate(
            percent(chance), (chance, i), xytext=(5, 0), textcoords="offset points", va="center_baseline",
            annotation_clip=False,
        )  # fmt: skip
    axes.set(xlim=(0, 1.0), xlabel="", ylabel="", xticks=[])
    axes.spines["bottom"].set_visible(False)
    axes.tick_params(axis="y", length=0)
    width = WIDTH * axes.get_position().width
    axes.set_title("Chance of each number of sessions", loc="left", pad=6, x=-_NAMES / width)


def _band(axes: Axes, answer: SessionsAnswer, shown: int) -> None:
    """A bracket beside the numbers of sessions within the band, right of where any bar or label can be."""
    inch = 1.0 / (WIDTH * axes.get_position().width)
    first = min((answer.band_low or answer.limit + 1) - 1, shown - 1)
    last = min((answer.band_high or answer.limit + 1) - 1, shown - 1)
    top, bottom, x = first - 0.34, last + 0.34, 1.0 + _BRACKET * inch
    foot = x - 0.06 * inch
    axes.plot(
        [foot, x, x, foot], [top, top, bottom, bottom], color=ACCENT, linewidth=1.6, clip_on=False,
        scalex=False, scaley=False, gid="band",
    )  # fmt: skip
    axes.annotate(
        f"{100 * answer.band_coverage:.0f} %\nband", (x, (top + bottom) / 2), xytext=(5, 0),
        textcoords="offset points", color=ACCENT, va="center", linespacing=1.2, annotation_clip=False,
    )  # fmt: skip


def _rests_on(answer: SessionsAnswer) -> str:
    basis = answer.basis
    checked = "checked out of sample" if basis.calibrated else "not yet checked out of sample"
    where = {"inside": "Inside", "edge": "At the edge of", "outside": "Outside"}[answer.support]
    against = [f" {said}" for said in why(answer.support_notes)] if answer.support == "edge" else []
    return (
        f"From {count(basis.visits, 'logged visit')} of {count(basis.clients, 'client')} by "
        f"{count(basis.stylists, 'stylist')}; {checked}. {where} what the log covers.{''.join(against)}\n"
        f"{' '.join(CAUTIONS)}"
    )


def _in_words(answer: SessionsAnswer, names: list[str], chances: list[float]) -> str:
    each = "; ".join(f"{name}: {percent(chance)}" for name, chance in zip(names, chances, strict=True))
    ten = ", ".join(
        f"{people} need{'s' if people == 1 else ''} {name}"
        for name, people in zip(names, out_of_ten(chances), strict=True)
        if people
    )
    return (
        f"{answer.sentence} {plan_in_words(answer.question)}. Of 10 clients like this {ten}. "
        f"Chance of each number of sessions: {each}. {100 * answer.band_coverage:.0f} % band: "
        f"{span(answer.band_low, answer.band_high, answer.limit)} sessions. {_rests_on(answer)}"
    ).replace("\n", " ")
