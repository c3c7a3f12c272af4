"""Strand condition over a course as lines for a terminal."""

from __future__ import annotations

from collections.abc import Sequence

from outcomes.answers.condition import ConditionAnswer, ConditionBand
from outcomes.answers.wording import chance, count

__all__ = ["condition_lines"]

SHOWN = 0.005  # sessions that fewer courses come to aren't shown


def condition_lines(answer: ConditionAnswer, sessions: Sequence[float]) -> list[str]:
    """Condition after each session and the chance that it stops the course; a band alone outside the log.

    Parameters
    ----------
    answer : ConditionAnswer
    sessions : sequence of float
        Chances of 1, 2, ..., limit sessions, then of more.

    Returns
    -------
    list of str
        Not wrapped.
    """
    lines = ["  strand condition after each session, 5 strong to 1 breaking"]
    lines.append(f"    before      {answer.before}")
    if answer.stops_first is None:
        lines += [f"    at the end  wide band {_span(answer.end)}", ""]
        lines.append(f"  condition     rests on {answer.rests_on}")
    else:
        within = f"within {count(len(answer.sessions))}"
        stops = f"falls below {answer.floor} before the goal is read, {within}: {chance(answer.stops_first)}"
        lines += [*_each(answer, sessions), ""]
        lines.append(f"  stops first   strand condition {stops}; rests on {answer.rests_on}")
        lines.append(f"  sessions      {answer.notes[0]}")
    return [*lines, f"  assumed       {'; '.join(answer.notes[1:])}"]


def _each(answer: ConditionAnswer, sessions: Sequence[float]) -> list[str]:
    lines, going = [], 1.0
    for number, (band, done) in enumerate(zip(answer.sessions, sessions[:-1], strict=True), start=1):
        if number > 1 and going < SHOWN:
            break
        below = "" if band.below is None else f"below {answer.floor}: {chance(band.below)}"
        lines.append(f"    {number:<10}  {band.median:<5} {_span(band):<12}{below}")
        going -= done
    return lines


def _span(band: ConditionBand) -> str:
    return f"{band.low}" if band.low == band.high else f"{band.low} to {band.high}"
