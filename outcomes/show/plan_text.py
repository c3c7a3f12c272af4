"""What every answer about a plan says of it in a terminal: what was asked, what it rests on."""

from __future__ import annotations

import re
import textwrap
from typing import Protocol

from outcomes.answers.question import Question
from outcomes.answers.wording import count
from outcomes.predictive.distribution import Basis

__all__ = ["Answered", "plan_in_words", "rests_on", "support_in_words", "wrapped"]

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
    return (
        f"level {asked.start:g} to {asked.goal:g}, {asked.hair} hair, {asked.peroxide:g} % developer, "
        f"{'no' if asked.heat == 'none' else asked.heat} heat, at most {asked.minutes:g} minutes, {who}"
    )


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
