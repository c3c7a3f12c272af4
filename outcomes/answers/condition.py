"""Strand condition after each session, and the chance that it stops a course first, within those followed.

A page needs `condition_losses` and `later_hair` of the model, the chances of an answer about sessions and its
support; the chain itself is in `outcomes.predictive.condition_chain`.
"""

from __future__ import annotations

from dataclasses import asdict, dataclass, replace
from typing import Any

import numpy as np
import numpy.typing as npt

from outcomes.answers.inputs import read_number, read_whole
from outcomes.answers.sessions_answer import COVERAGE, SessionsAnswer
from outcomes.answers.wording import count
from outcomes.errors import InputError
from outcomes.predictive.condition_chain import BEST, ConditionLosses, follow_condition
from outcomes.predictive.lift import LiftPredictive
from outcomes.predictive.saved import Fitted, SalonModel, as_predictive
from outcomes.predictive.tally import smallest

__all__ = ["FLOOR", "ConditionAnswer", "ConditionBand", "course_condition"]

FloatArray = npt.NDArray[np.float64]

BREAKING, FLOOR = 1, 2
"""Below it, at 1, hair is breaking."""

FLOOR_LEFT_OUT = "the chances of sessions leave the floor out, as if condition stopped no course"
INDEPENDENT = (
    "lift and strand condition are independent, given the plan; a session stopped for condition misses the "
    "goal as well, so for hair that is weak already the chance that it stops a course comes out low, by a "
    "fifth in a simulation"
)
LONGEST = "every session runs for the longest time"
NO_PAUSES = "hair stays as it is between sessions, of which the log doesn't tell"


@dataclass(frozen=True)
class ConditionBand:
    """Condition at one moment.

    Attributes
    ----------
    median : int or None
        None: the plan is outside the log.
    low, high : int
        Ends of the band, points of 1 to 5.
    holds : float or None
        Chance of lying within it, both ends included; None as for the median.
    below : float or None
        Chance of lying below the floor; None as for the median.
    """

    median: int | None
    low: int
    high: int
    holds: float | None
    below: float | None


@dataclass(frozen=True)
class ConditionAnswer:
    """Strand condition, 5 strong to 1 breaking, over a course.

    Attributes
    ----------
    before : int
        As entered.
    floor : int
        At which a course still goes on.
    sessions : tuple of ConditionBand
        After 1, 2, ..., limit sessions, of hair that is worked so often.
    end : ConditionBand
        After the last session: the goal read, or condition below the floor, or the limit reached.
    stops_first : float or None
        Chance of falling below the floor before the goal is read, within the sessions followed; None: the
        plan is outside the log.
    coverage : float
        Of the bands; outside the log they are one point wider at both ends besides.
    entered : tuple of str
    rests_on : str
    notes : tuple of str
        What the chances of sessions leave out; then what was taken for granted.
    """

    before: int
    floor: int
    sessions: tuple[ConditionBand, ...]
    end: ConditionBand
    stops_first: float | None
    coverage: float
    entered: tuple[str, ...]
    rests_on: str
    notes: tuple[str, ...]

    def to_dict(self) -> dict[str, Any]:
        """The answer as JSON values: condition at the end of the course, then after each session."""
        each = [{"session": k, **_rounded(band)} for k, band in enumerate(self.sessions, start=1)]
        stops = None if self.stops_first is None else round(self.stops_first, 6)
        return {
            **_rounded(self.end),
            "coverage": self.coverage,
            "before": self.before,
            "floor": self.floor,
            "sessions": each,
            "stops_first": stops,
            "stops_within_sessions": len(self.sessions),
            "entered": list(self.entered),
            "rests_on": self.rests_on,
            "notes": list(self.notes),
        }


def course_condition(
    model: SalonModel | LiftPredictive | Fitted,
    answer: SessionsAnswer,
    condition: float | str,
    floor: float | str | None = None,
) -> ConditionAnswer:
    """Strand condition over a course whose number of sessions was answered.

    Parameters
    ----------
    model : SalonModel, LiftPredictive or fitted LiftModel
    answer : SessionsAnswer
    condition : int
        Strand condition before, 2 to 5 (strong): hair at 1 is breaking.
    floor : int, optional
        Below which a course stops, 2 to the condition before; 2 by default.

    Returns
    -------
    ConditionAnswer

    Raises
    ------
    InputError
        No whole point of 2 to 5; a floor above the condition; a model that wasn't told enough of condition.
    """
    predictive = as_predictive(model)
    losses = predictive.condition_losses
    if read_number("condition", condition) == BREAKING:
        raise InputError(
            f"condition: found {BREAKING}, breaking; expected {FLOOR} to {BEST}: no sessions are forecast "
            "for such hair"
        )
    before = read_whole("condition", condition, FLOOR, BEST)
    least = read_whole("floor", FLOOR if floor is None else floor, FLOOR, BEST)
    if least > before:
        raise InputError(
            f"floor: found {least}, and condition {before} is below it already; expected {before} or less; "
            "lower the floor or correct the condition"
        )
    if not losses.is_known:
        raise InputError(
            "condition: this model doesn't know what sessions take off it; expected one of 40 visits or more "
            "with condition_before and condition_after; fit such a log anew, or leave --condition out"
        )
    treatments = _treatments(predictive, answer)
    chain = follow_condition(losses, treatments, before, least, answer.sessions)
    outside = answer.support == "outside"
    coverage = answer.band_coverage if outside else COVERAGE
    sessions = tuple(_band(chances, least, coverage, outside) for chances in chain.after)
    end = _band(chain.end, least, coverage, outside)
    if outside and answer.band_high is None:  # nobody knows how often it's worked
        end = replace(end, low=min(band.low for band in sessions))
    return ConditionAnswer(
        before=before,
        floor=least,
        sessions=sessions,
        end=end,
        stops_first=None if outside else chain.stops,
        coverage=coverage,
        entered=("condition",) if floor is None else ("condition", "floor"),
        rests_on=_rests_on(losses),
        notes=(FLOOR_LEFT_OUT, INDEPENDENT, LONGEST, *(() if losses.pauses else (NO_PAUSES,))),
    )


def _treatments(predictive: LiftPredictive, answer: SessionsAnswer) -> list[FloatArray]:
    """What each session does to hair, from condition to condition."""
    asked = answer.question

    def worked(hair: str, later: bool) -> FloatArray:
        return predictive.condition_losses.after(asked.minutes, asked.peroxide, asked.heat, hair, later)

    shares = predictive.later_hair[asked.hair]
    later: FloatArray = sum((share * worked(hair, True) for hair, share in shares.items()), np.zeros(1))
    first = later if answer.is_later else worked(asked.hair, False)
    return [first, *([later] * (answer.limit - 1))]


def _band(chances: FloatArray, floor: int, coverage: float, outside: bool) -> ConditionBand:
    tail = (1.0 - coverage) / 2.0
    median, low, high = ((smallest(chances, share) or 0) + 1 for share in (0.5, tail, 1.0 - tail))
    if outside:
        return ConditionBand(None, max(low - 1, 1), min(high + 1, BEST), None, None)
    return ConditionBand(
        median, low, high, float(chances[low - 1 : high].sum()), float(chances[: floor - 1].sum())
    )


def _rounded(band: ConditionBand) -> dict[str, Any]:
    values = asdict(band)
    return {name: round(value, 6) if isinstance(value, float) else value for name, value in values.items()}


def _rests_on(losses: ConditionLosses) -> str:
    visits = f"{count(losses.visits, 'visit')} with strand condition before and after"
    pauses = f", {count(losses.pauses, 'pause')} between sessions" if losses.pauses else ""
    return visits + pauses
