"""Findings in words: each with its number, its band and what it rests on."""

from __future__ import annotations

from outcomes.answers.wording import count
from outcomes.review.findings import Comparison
from outcomes.review.team_review import Finding

__all__ = ["as_finding"]

_SHADES = {
    "level": "root shades faded",
    "tone_left": "tone washed out",
    "delta_e": "colour changed over washes",
}


def as_finding(one: Comparison, *, expected: float, measure: str) -> Finding:
    """A comparison as a sentence.

    Parameters
    ----------
    one : Comparison
    expected : float
        Of "goal": the share that was expected of the team's visits.
    measure : str
        Of "fade".

    Returns
    -------
    Finding
    """
    sentence = _SENTENCES[one.kind](one, expected, measure)
    return Finding(one.kind, one.who, sentence, one.value, one.low, one.high, one.n, one.p)


def _rate(one: Comparison, expected: float, measure: str) -> str:
    return (
        f"{one.who}: hair lifted at a rate {_times(one)} that of the team's middle, all else alike "
        f"({_ends(one)}; {count(one.n, 'visit')})."
    )


def _change(one: Comparison, expected: float, measure: str) -> str:
    return (
        f"{one.who}: hair lifted at a rate {_times(one)} that of the quarter before, all else alike "
        f"({_ends(one)}; {count(one.n, 'visit')})."
    )


def _fade(one: Comparison, expected: float, measure: str) -> str:
    return (
        f"{one.who}: {_SHADES[measure]} at a rate {_times(one)} that of the team's middle, all else alike "
        f"({_ends(one)}; {count(one.n, 'visit')} read after washes, of all quarters)."
    )


def _goal(one: Comparison, expected: float, measure: str) -> str:
    return (
        f"{one.who}: {_share(one.value)} of visits reached their goal, put at the team's mix of cases, where "
        f"{_share(expected)} were expected (90 % band {_share(one.low)} to {_share(one.high)}; "
        f"{count(one.n, 'visit')})."
    )


def _promise(one: Comparison, expected: float, measure: str) -> str:
    way = "more" if one.value > 0.0 else "fewer"
    sign = 1.0 if one.value > 0.0 else -1.0
    low, high = sorted((sign * one.low, sign * one.high))
    courses = "the team's courses" if not one.who else "courses"
    lead = f"{one.who}: " if one.who else ""
    told = (
        f"{lead}{courses} took {abs(one.value):.1f} sessions {way} than quoted, on average "
        f"(90 % band {low:.1f} to {high:.1f}; {count(one.n, 'course')})."
    )
    return told if one.who else told[0].upper() + told[1:]


def _condition(one: Comparison, expected: float, measure: str) -> str:
    way = "more" if one.value > 0.0 else "less"
    sign = 1.0 if one.value > 0.0 else -1.0
    low, high = sorted((sign * one.low, sign * one.high))
    return (
        f"{one.who}: a visit cost {abs(one.value):.2f} points of strand condition {way} than such visits "
        f"cost (90 % band {low:.2f} to {high:.2f}; {count(one.n, 'visit')})."
    )


_SENTENCES = {
    "rate": _rate,
    "change": _change,
    "fade": _fade,
    "goal": _goal,
    "promise": _promise,
    "condition": _condition,
}


def _times(one: Comparison) -> str:
    return f"{one.value:.2f} times"


def _ends(one: Comparison) -> str:
    return f"90 % band {one.low:.2f} to {one.high:.2f}"


def _share(value: float) -> str:
    return f"{100.0 * value:.0f} %"
