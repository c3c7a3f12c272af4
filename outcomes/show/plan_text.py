"""What every answer about a plan says of it in a terminal: what was asked, what it rests on."""

from __future__ import annotations

import re
import textwrap
from typing import Protocol

from outcomes.answers.question import Question
from outcomes.answers.wording import count
from outcomes.log.schema import COURSE_GOAL_WITHIN, COURSE_START_WITHIN
from outcomes.predictive.distribution import Basis
from outcomes.predictive.known import KnownRate
from outcomes.predictive.past import Past, PastVisit

__all__ = ["Answered", "client_lines", "plan_in_words", "rests_on", "support_in_words", "wrapped"]

WIDTH = 80
_KEPT = "\N{NO-BREAK SPACE}"


class Answered(Protocol):
    """An answer about a plan."""

    @property
    def question(self) -> Question:
        """What was asked."""

    @property
    def basis(self) -> Basis:
        """What it rests on."""

    @property
    def support(self) -> str:
        """Whether the log covers it."""

    @property
    def is_later(self) -> bool:
        """Whether it goes on with a course that was begun."""


def wrapped(line: str) -> str:
    """A line no wider than a terminal, what runs over standing under where the first line's words begin.

    Parameters
    ----------
    line : str

    Returns
    -------
    str
        One line or several.
    """
    start = re.match(r" *(?:(?:\d+ % )?[a-z]+(?: [a-z]+)?   +|! |why: |note: |line \d+: )?", line)
    indent = " " * (start.end() if start else 0)
    kept = re.sub(r"(?<=\d) %", f"{_KEPT}%", line)  # a number and its % stay together
    return textwrap.fill(kept, WIDTH, subsequent_indent=indent, break_long_words=False).replace(_KEPT, " ")


def plan_in_words(answer: Answered) -> str:
    """What was asked.

    Parameters
    ----------
    answer : Answered

    Returns
    -------
    str
    """
    asked = answer.question
    anybody = "one of this log's stylists" if answer.basis.visits else "a stylist"
    whose = {None: anybody, "new": "a stylist new to this log"}
    who = whose.get(asked.stylist, f"stylist {asked.stylist}")
    longest = f"{asked.minutes:g} minute{'' if asked.minutes == 1 else 's'}"
    hair = f"{asked.hair} hair{' before the first session' if answer.is_later else ''}"
    return (
        f"level {asked.start:g} to {asked.goal:g}, {hair}, {asked.peroxide:g} % developer, "
        f"{'no' if asked.heat == 'none' else asked.heat} heat, at most {longest}, {who}"
    )


def client_lines(past: Past | None, rate: KnownRate | None, question: Question) -> list[str]:
    """What is known of the client.

    Parameters
    ----------
    past : Past or None
        None for a new client: no line.
    rate : KnownRate or None
        None where what was told can hardly be.
    question : Question

    Returns
    -------
    list of str
        Not wrapped.
    """
    if past is None:
        return []
    before = count(past.counted, "visit" if past.given else "session")
    course = "the same course goes on" if past.continues else _new_course(past.visits[-1], question)
    rated = "what is told of it can hardly be, so this is a new client's forecast"
    if rate is not None:
        rated = (
            f"this hair lifts {rate.ratio:.2f} times as fast as that of clients like this "
            f"(8 in 10 chances: {rate.low:.2f} to {rate.high:.2f})"
        )
    known = [
        f"{column.replace('_', ' ')} {value if isinstance(value, str) else f'{value:g}'}"
        for column, value in past.given.items()
        if value is not None
    ]
    lines = [f"  client        {before} before, {course}; {rated}"]
    return lines + ([f"                as at the last visit: {', '.join(known)}"] if known else [])


def _new_course(last: PastVisit, question: Question) -> str:
    begins = f"a new course begins on {question.hair} hair"
    if abs(question.start - last.achieved) > COURSE_START_WITHIN:
        why = f"level {question.start:g} isn't near what the last one reached, level {last.achieved:g}"
        return f"{why}, so {begins}"
    if abs(question.goal - last.goal) > COURSE_GOAL_WITHIN:
        ended = last.stop == "target" and last.achieved == last.goal
        goal = " ended at its goal," if ended else "'s goal was"
        return f"the last one{goal} level {last.goal:g}, so {begins}"
    return begins


def rests_on(answer: Answered) -> str:
    """How much was logged, and whether it was checked.

    Parameters
    ----------
    answer : Answered

    Returns
    -------
    str
    """
    basis = answer.basis
    checked = "checked out of sample" if basis.calibrated else "not yet checked out of sample"
    visits, clients, stylists = (
        count(n, thing)
        for n, thing in ((basis.visits, "visit"), (basis.clients, "client"), (basis.stylists, "stylist"))
    )
    starter = "starter values of the trade, no source; " if basis.starter else ""
    return f"{starter}{visits}, {clients}, {stylists}; {checked}"


def support_in_words(answer: Answered) -> str:
    """Whether the log covers it.

    Parameters
    ----------
    answer : Answered

    Returns
    -------
    str
    """
    covered = {"inside": "well within what the log covers", "edge": "at the edge of what the log covers"}
    said = covered.get(answer.support, "the log does not cover this")
    if answer.basis.starter:
        said = said.replace("what the log covers", "what is usual in the trade")
        said = said.replace("the log does not cover this", "beyond what is usual in the trade")
    return f"{answer.support}: {said}"
