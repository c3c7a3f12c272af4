"""A client's earlier sessions as a stylist tells them at the chair, checked and laid out."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from outcomes.answers.inputs import read_level, read_number, read_word
from outcomes.answers.question import LONGEST, SHORTEST, Question, read_strength, read_stylist
from outcomes.errors import InputError
from outcomes.log.schema import COURSE_GOAL_WITHIN, COURSE_START_WITHIN
from outcomes.predictive.lift import LiftPredictive
from outcomes.predictive.past import LookedWay, Past, PastVisit
from outcomes.predictive.plans import HAIR, HEAT
from outcomes.predictive.unknowns import MOST_PAST
from outcomes.readings.bounds import HALF_STEP, reading_bounds

__all__ = ["of_the_course", "read_past", "told_past"]

STOPS = ("target", "time", "condition", "other")
_NEEDED = ("start", "achieved", "minutes", "peroxide", "heat", "stop")
_KEYS = (*_NEEDED, "goal", "hair", "stylist")
_OTHER_GOAL = 1.0  # levels below today's goal; nearer to it a result may have been misread
_DARKER = 0.5  # a result so much below its start is an error of reading; more of it is a slip


def read_past(
    predictive: LiftPredictive, question: Question, told: str | Sequence[str | Mapping[str, Any]] | None
) -> Past | None:
    """Earlier sessions from texts such as "start=3,achieved=6.5,minutes=45,peroxide=6,heat=low,stop=time".

    Parameters
    ----------
    predictive : LiftPredictive
    question : Question
        What is asked today.
    told : sequence of str or mapping, or str; None as an empty one
        A text for each session, in the order in which they were; or values as `told_past` takes them. A text
        by itself is one session.

    Returns
    -------
    Past or None
        None where nothing is told.

    Raises
    ------
    InputError
        A text that isn't of that form; as `told_past`.
    """
    return told_past(predictive, question, [told] if isinstance(told, str) else told or ())


def told_past(
    predictive: LiftPredictive, question: Question, told: Sequence[str | Mapping[str, Any]]
) -> Past | None:
    """Earlier sessions from their values, or from texts of them.

    A session goes on with the course of the one before where its start is within 1.5 levels of that result
    and their goals are within 1. Looks before a rinse at the goal, which nobody tells, are taken to have come
    at the stylist's intervals.

    Parameters
    ----------
    predictive : LiftPredictive
    question : Question
    told : sequence of mapping or str
        start, achieved, minutes, peroxide, heat, stop; if known goal (by default today's; of a session that
        ended at its goal a level or more below that, what it reached), hair (by default the question's for
        the first, and for later ones what later sessions have in the log) and stylist (by default the
        question's).

    Returns
    -------
    Past or None

    Raises
    ------
    InputError
        A value that's missing or can't be used; more than 12 sessions.
    """
    if len(told) > MOST_PAST:
        raise InputError(
            f"past: found {len(told)} sessions; expected {MOST_PAST} at most; give the last ones"
        )
    visits: list[PastVisit] = []
    for number, values in enumerate(told, start=1):
        try:
            given = _parts(values) if isinstance(values, str) else values
            visits.append(_visit(predictive, question, given, visits[-1] if visits else None))
        except InputError as cause:
            raise InputError(f"past session {number}: {cause}") from cause
    if not visits:
        return None
    last = visits[-1]
    return Past(
        tuple(visits),
        continues=_goes_on(last, question.start, question.goal),
        is_copied=question.start == last.achieved,
        counted=len(visits),
    )


def of_the_course(question: Question, past: Past | None) -> Question:
    """A question that goes on with a course, with the hair there was before the course's first session.

    Parameters
    ----------
    question : Question
    past : Past or None

    Returns
    -------
    Question
        The same where no course goes on.
    """
    if past is None or not past.of_course:
        return question
    return replace(question, hair=past.visits[-past.of_course].hair or question.hair)


def _goes_on(before: PastVisit, start: float, goal: float) -> bool:
    near = abs(start - before.achieved) <= COURSE_START_WITHIN
    return near and abs(goal - before.goal) <= COURSE_GOAL_WITHIN


def _parts(text: str) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for part in text.split(","):
        key, sign, value = (piece.strip() for piece in part.partition("="))
        if not sign or key not in _KEYS or not value or key in found:
            raise InputError(
                f"found {part.strip()!r}; expected each of {', '.join(_KEYS)} once at most, as in "
                "start=3,achieved=6.5,minutes=45,peroxide=6,heat=low,stop=time"
            )
        found[key] = value
    return found


def _visit(
    predictive: LiftPredictive, question: Question, values: Mapping[str, Any], before: PastVisit | None
) -> PastVisit:
    if not isinstance(values, Mapping) or (unknown := [key for key in values if key not in _KEYS]):
        found = repr(unknown[0]) if isinstance(values, Mapping) else repr(values)
        raise InputError(f"found {found}; expected {', '.join(_KEYS)} with their values; correct it")
    if missing := [name for name in _NEEDED if values.get(name) in (None, "")]:
        raise InputError(f"{', '.join(missing)}: not given; expected all of {', '.join(_NEEDED)}")
    start, achieved = (read_level(name, values[name]) for name in ("start", "achieved"))
    stop = read_word("stop", values["stop"], STOPS)
    goal = read_level("goal", values.get("goal") or _usual_goal(question, stop, start, achieved))
    if goal <= start:
        raise InputError(f"goal: found level {goal:g} at or below the start, level {start:g}; give its goal")
    if achieved < start - _DARKER:
        raise InputError(
            f"achieved: found level {achieved:g}, darker than the start, level {start:g}; correct one of them"
        )
    minutes = read_number("minutes", values["minutes"], SHORTEST, LONGEST)
    stylist = read_stylist(predictive, values.get("stylist") or None)
    later = before is not None and _goes_on(before, start, goal)
    hair = values.get("hair") or (None if later else question.hair)
    at = np.array([minutes])
    lower, upper = reading_bounds(np.array([achieved]), np.array([start]))
    stopped = stop == "target"
    short = goal - start - HALF_STEP
    return PastVisit(
        start=start,
        achieved=achieved,
        goal=goal,
        stop=stop,
        hair=None if hair is None else read_word("hair", hair, HAIR),
        heat=read_word("heat", values["heat"], HEAT),
        peroxide=read_strength(values["peroxide"]),
        rinse=minutes,
        is_later=later,
        is_copied=later and before is not None and start == before.achieved,
        minutes=at,
        is_look=np.array([False]),
        lower=lower,
        upper=upper,
        ways=_ways(predictive, stylist or question.stylist, minutes) if stopped else (),
        not_yet=short,
        stopped_above=short if stopped else None,
        stylist=stylist,
    )


def _usual_goal(question: Question, stop: str, start: float, achieved: float) -> float:
    """Today's goal; of a session that ended at its goal far below that, what it reached."""
    is_other = stop == "target" and start < achieved <= question.goal - _OTHER_GOAL
    return achieved if is_other else question.goal


def _ways(predictive: LiftPredictive, stylist: str | None, minutes: float) -> tuple[LookedWay, ...]:
    """When the look before the one at the goal may have been."""
    gaps = predictive.look_gaps
    share = gaps.share
    if stylist in predictive.stylists:
        share = gaps.by_stylist[predictive.stylists.index(str(stylist))]
    ways = [
        LookedWay(float(chance), np.array([minutes - gap] if gap < minutes else []))
        for gap, chance in zip(gaps.minutes.tolist(), share / max(share.sum(), 1e-300), strict=True)
        if chance > 0
    ]
    return tuple(ways)
