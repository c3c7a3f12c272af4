"""What to expect today, look by look: level, band, chance that the goal was read, and when to look."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from typing import Any

import numpy as np

from outcomes.answers.earlier import of_the_course, read_past
from outcomes.answers.inputs import read_number
from outcomes.answers.plan_support import can_be, support_of_question
from outcomes.answers.question import Question, ask, plans_of
from outcomes.answers.sessions import WIDE, check_seed, level_band
from outcomes.answers.sessions_answer import COVERAGE, LevelBand, client_as_json
from outcomes.answers.wording import CAUTIONS, FEW_LIKE_THIS, FROM_THE_TRADE, chance, outside_sentence
from outcomes.predictive.distribution import Basis
from outcomes.predictive.known import KnownRate
from outcomes.predictive.lift import LiftPredictive
from outcomes.predictive.looking import LooksAhead, looks_ahead
from outcomes.predictive.past import Past
from outcomes.predictive.saved import Fitted, SalonModel, as_predictive
from outcomes.predictive.simulate import rate_of_client

__all__ = ["WORTH", "LookAhead", "TodayAnswer", "look_by_look", "today"]

COURSES = 16384
WORTH = 0.05
"""Chance of the goal from which on a look is worth taking for the level's sake."""

_SHORTEST, _LONGEST = 1.0, 60.0  # minutes between looks, as in the visit log
_USUAL = 10.0  # minutes between looks where the log has none; common practice, no source


@dataclass(frozen=True)
class LookAhead:
    """A look, or the reading after the rinse.

    Attributes
    ----------
    minutes : float
    level : LevelBand
        As it would be read, were lightener left on so long.
    reached : float
        Chance that the goal has been read by then, at this look or one before.
    is_worth : bool
        Whether at least 1 in 20 such clients read the goal at a look then.
    """

    minutes: float
    level: LevelBand
    reached: float
    is_worth: bool


@dataclass(frozen=True)
class TodayAnswer:
    """A session to come, look by look.

    Attributes
    ----------
    question : Question
    every : float
        Minutes between looks.
    looks : tuple of LookAhead
        The last is the reading after the rinse.
    worth_from : int or None
        First whole minute from which a look is worth taking; None: none before the rinse.
    past : Past or None
        None for a new client.
    rate : KnownRate or None
        The client's; None for a new one, or where what was told can hardly be.
    support : {"inside", "edge", "outside"}
    support_notes : tuple of str
    basis : Basis
    seed : int
    coverage : float
        Of the bands of levels; outside the log they have half a level more at both ends besides.
    """

    question: Question
    every: float
    looks: tuple[LookAhead, ...]
    worth_from: int | None
    past: Past | None
    rate: KnownRate | None
    support: str
    support_notes: tuple[str, ...]
    basis: Basis
    seed: int
    coverage: float = COVERAGE

    @property
    def is_later(self) -> bool:
        """Whether this session goes on with a course that was begun."""
        return self.past is not None and self.past.of_course > 0

    @property
    def sentence(self) -> str:
        """The answer to say out loud; without any number where the plan is outside the log."""
        if self.support == "outside":
            return outside_sentence(
                "no level or chance can be named; test a strand, and go by the hair",
                is_starter=self.basis.starter,
            )
        last, goal = self.looks[-1], self.question.goal
        whom = "clients like this" if self.past is None else "clients with such sessions behind them"
        said = f"By {_minutes(last.minutes)} level {goal:g} is read for {chance(last.reached)} {whom}. "
        said += f"Hair that's left so long reads level {last.level.span} for {chance(last.level.holds)}. "
        if self.worth_from is None:
            said += f"A look before the rinse would hardly find level {goal:g}."
        else:
            said += f"A look is worth taking from {_minutes(self.worth_from)} on."
        if self.basis.starter:
            return f"{said} {FROM_THE_TRADE}"
        return said + (f" {FEW_LIKE_THIS}" if self.support == "edge" else "")

    def __str__(self) -> str:
        return self.sentence

    def to_dict(self) -> dict[str, Any]:
        """The answer as JSON values; without middles where the plan is outside the log."""
        outside = self.support == "outside"
        past = [] if self.past is None else [visit.to_dict() for visit in self.past.visits]
        looks = [
            {
                "minutes": look.minutes,
                "median": None if outside else look.level.median,
                "low": look.level.low,
                "high": look.level.high,
                "holds": round(look.level.holds, 6),
                "reached": None if outside else round(look.reached, 6),
                "worth": None if outside else look.is_worth,
            }
            for look in self.looks
        ]
        client = {} if self.past is None else {"client": client_as_json(self.past, self.rate)}
        return {
            "inputs": {**asdict(self.question), "every": self.every, "seed": self.seed, "past": past},
            **client,
            "looks": looks,
            "worth_from": None if outside else self.worth_from,
            "worth_at": WORTH,
            "coverage": self.coverage,
            "support": self.support,
            "support_notes": list(self.support_notes),
            "basis": self.basis.to_dict(),
            "cautions": list(CAUTIONS),
            "sentence": self.sentence,
        }


def today(
    model: SalonModel | LiftPredictive | Fitted,
    start: float | str,
    goal: float | str,
    hair: str,
    peroxide: float | str,
    heat: str,
    minutes: float | str,
    stylist: str | None = None,
    *,
    every: float | str | None = None,
    past: Past | Sequence[str | Mapping[str, Any]] = (),
    seed: int = 1,
) -> TodayAnswer:
    """Level and chance of the goal at each look of one session.

    Parameters
    ----------
    model, start, goal, hair, peroxide, heat, minutes, stylist, past, seed : as in `outcomes.sessions`
    every : float, optional
        Minutes between looks, 1 to 60; by default the middle of the log's intervals.

    Returns
    -------
    TodayAnswer

    Raises
    ------
    InputError
        A value that can't be used; says which and what to do.
    """
    predictive = as_predictive(model)
    question = ask(predictive, start, goal, hair, peroxide, heat, minutes, stylist)
    known = past if isinstance(past, Past) else read_past(predictive, question, past)
    return look_by_look(predictive, of_the_course(question, known), every=every, past=known, seed=seed)


def look_by_look(
    predictive: LiftPredictive,
    question: Question,
    *,
    every: float | str | None = None,
    past: Past | None = None,
    seed: int = 1,
) -> TodayAnswer:
    """The answer to a checked question.

    Parameters
    ----------
    predictive : LiftPredictive
    question : Question
    every, seed : as in `today`
    past : Past, optional

    Returns
    -------
    TodayAnswer

    Raises
    ------
    InputError
        As `today`.
    """
    gap = _usual(predictive) if every is None else read_number("every", every, _SHORTEST, _LONGEST, "minutes")
    times = [gap * k for k in range(1, int(np.ceil(question.minutes / gap - 1e-9)))]
    plan = plans_of([question])
    at = np.array([*times, question.minutes])
    check_seed(seed)
    before = past.of_course if past is not None else 0
    rate = rate_of_client(predictive, plan, COURSES, seed, past) if past is not None else None
    believed = past if can_be(rate) else None
    found = looks_ahead(predictive, plan, at, COURSES, seed, worth=WORTH, past=believed)
    support, notes = support_of_question(predictive, question, before + 1, past, rate)
    coverage = WIDE if support == "outside" else COVERAGE
    # of hair that did what such hair can hardly do nobody knows whether it moves at all
    down_to = None if can_be(rate) else question.start
    return TodayAnswer(
        question=question,
        every=gap,
        looks=tuple(
            _look(predictive, found, i, time, coverage, down_to) for i, time in enumerate(at.tolist())
        ),
        worth_from=found.worth_from,
        past=past,
        rate=rate if can_be(rate) else None,
        support=support,
        support_notes=notes,
        basis=predictive.basis,
        seed=seed,
        coverage=coverage,
    )


def _minutes(minutes: float) -> str:
    return f"{minutes:g} minute{'s' * (minutes != 1)}"


def _look(
    predictive: LiftPredictive,
    found: LooksAhead,
    i: int,
    minutes: float,
    coverage: float,
    down_to: float | None,
) -> LookAhead:
    return LookAhead(
        minutes,
        level_band(predictive, 1, found.levels[i], coverage, down_to),
        float(np.clip(found.reached[i], 0.0, 1.0)),
        bool(found.at_goal[i] >= WORTH),
    )


def _usual(predictive: LiftPredictive) -> float:
    """The middle of the log's intervals from look to look, in whole minutes."""
    gaps = predictive.look_gaps
    if not len(gaps.minutes):
        return _USUAL
    order = np.argsort(gaps.minutes)
    middle = np.searchsorted(gaps.share[order].cumsum(), 0.5 * gaps.share.sum())
    return float(max(round(float(gaps.minutes[order][min(middle, len(order) - 1)])), 1))
