"""How many sessions does this goal need?"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import fields
from typing import Any

import numpy as np

from outcomes.answers.earlier import of_the_course, read_past
from outcomes.answers.plan_support import can_be, support_of_question
from outcomes.answers.question import Question, ask, plans_of
from outcomes.answers.sessions_answer import COVERAGE, KnownSessionsAnswer, LevelBand, SessionsAnswer
from outcomes.errors import InputError
from outcomes.predictive.known import KnownRate
from outcomes.predictive.lift import LiftPredictive
from outcomes.predictive.past import Past
from outcomes.predictive.saved import Fitted, SalonModel, as_predictive
from outcomes.predictive.simulate import rate_of_client, simulate_courses

__all__ = ["answer_all", "averaged_over", "level_band", "sessions"]

WIDE = 0.95
"""Coverage of the band where a plan is outside what the log covers; a session wider at both ends besides."""

MOST_SESSIONS = 12
EFFORTS: tuple[tuple[float, tuple[int, int, int]], ...] = (
    (60, (16384, 200, 256)),  # standard error of any chance below 0.003
    (250, (4096, 100, 128)),  # below 0.006
    (np.inf, (1024, 50, 64)),  # below 0.01
)
"""Plans asked together up to which so many courses, draws, and courses a draw are simulated: a few thousand
plans must not take minutes."""


def sessions(
    model: SalonModel | LiftPredictive | Fitted,
    start: float | str,
    goal: float | str,
    hair: str,
    peroxide: float | str,
    heat: str,
    minutes: float | str,
    stylist: str | None = None,
    *,
    past: Past | Sequence[str | Mapping[str, Any]] = (),
    limit: int = 6,
    seed: int = 1,
) -> SessionsAnswer:
    """Chances of reaching a goal in 1, 2, 3 ... sessions, from courses worked as this log's stylists work.

    Parameters
    ----------
    model : LiftPredictive or fitted LiftModel
    start, goal : float
        Levels, half steps.
    hair : {"natural", "coloured", "lightened"}
    peroxide : float
        Developer strength, %, at most 12.
    heat : {"none", "low", "medium", "high"}
    minutes : float
        Longest processing time intended, 1 to 180; the same in every session, as developer and heat.
    stylist : str, optional
        A code of the log, or "new". By default one of the log's stylists, in proportion to their visits.
    past : sequence, or Past
        This client's earlier sessions, in order: each a text such as
        "start=3,achieved=6.5,minutes=45,peroxide=6,heat=low,stop=time", or a mapping of those names to values
        (`outcomes.answers.earlier.told_past` has all of them); or what `past_of_client` found in a log. Then
        `start` is today's, and `hair` what there was before the first of them.
    limit : int
        Sessions followed, 1 to 12.
    seed : int
        The same seed gives the same answer.

    Returns
    -------
    SessionsAnswer

    Raises
    ------
    InputError
        A value that can't be used; says which and what to do.
    """
    predictive = as_predictive(model)
    question = ask(predictive, start, goal, hair, peroxide, heat, minutes, stylist)
    known = past if isinstance(past, Past) else read_past(predictive, question, past)
    return answer_all(predictive, [of_the_course(question, known)], past=known, limit=limit, seed=seed)[0]


def answer_all(
    predictive: LiftPredictive,
    questions: Sequence[Question],
    *,
    past: Past | None = None,
    limit: int = 6,
    seed: int = 1,
) -> list[SessionsAnswer]:
    """Answers to many checked questions, worked out together.

    Up to 60 of them are answered as each would be alone; of more, each with fewer courses (`EFFORTS`).

    Parameters
    ----------
    predictive : LiftPredictive
    questions : sequence of Question
        From `ask`.
    past : Past, optional
        Of the one client whom all of them are about; they're then of one stylist and hair.
    limit, seed : int
        As in `sessions`.

    Returns
    -------
    list of SessionsAnswer
        In the order of the questions.

    Raises
    ------
    InputError
        A limit outside 1 to 12, or a seed that isn't a whole number from 0 to 2^63.
    """
    _check_whole("limit", limit, 1, MOST_SESSIONS)
    check_seed(seed)
    if not questions:
        return []
    plans = plans_of(questions)
    n, draws, per_draw = next(effort for most, effort in EFFORTS if len(questions) <= most)
    # followed at least to where the log's courses end: whether it covers a plan must not hang on the limit
    follow = min(max(limit, max(predictive.support.sessions, default=0) + 1), MOST_SESSIONS)
    rate = rate_of_client(predictive, plans, n, seed, past) if past is not None else None
    believed = past if can_be(rate) else None
    found = simulate_courses(
        predictive, plans, n, seed, limit=follow, draws=draws, per_draw=per_draw, past=believed
    )
    before = past.of_course if past is not None else 0
    averaged = {hair: averaged_over(predictive, hair) for hair in set(plans.hair)}
    if past is not None:
        averaged = {
            hair: {c: s for c, s in of.items() if c not in past.given} for hair, of in averaged.items()
        }
    parts = zip(questions, found.sessions, found.levels, found.today, found.today_weight, strict=True)
    answers = [
        _answer(
            *(predictive, question, limit, seed, averaged[question.hair], *of),
            before=before,
            past=past,
            rate=rate,
        )
        for question, *of in parts
    ]
    if past is None:
        return answers
    return [_known(answer, past, rate if can_be(rate) else None) for answer in answers]


def check_seed(seed: int) -> None:
    """Refuse what is no seed.

    Parameters
    ----------
    seed : int

    Raises
    ------
    InputError
        No whole number from 0 to 2^63.
    """
    _check_whole("seed", seed, 0, 2**63)


def _check_whole(name: str, value: int, low: int, high: int) -> None:
    if isinstance(value, bool) or not isinstance(value, int) or not low <= value <= high:
        wanted = f"a whole number from {low} to {high:,}"
        raise InputError(f"{name}: found {value!r}; expected {wanted}; correct it")


def _known(answer: SessionsAnswer, past: Past, rate: KnownRate | None) -> KnownSessionsAnswer:
    values = {one.name: getattr(answer, one.name) for one in fields(answer)}
    return KnownSessionsAnswer(**values, past=past, rate=rate)


def _answer(
    predictive: LiftPredictive,
    question: Question,
    limit: int,
    seed: int,
    averaged: Mapping[str, Mapping[str, float]],
    chances: np.ndarray,
    levels: np.ndarray,
    today: np.ndarray,
    weight: np.ndarray,
    *,
    before: int,
    past: Past | None,
    rate: KnownRate | None,
) -> SessionsAnswer:
    needed = _fewest(chances, 0.5)
    needed = before + (needed if needed is not None else len(chances))
    support, notes = support_of_question(predictive, question, needed, past, rate)
    chances = np.append(chances[:limit], chances[limit:].sum())
    median = _fewest(chances, 0.5)
    coverage = WIDE if support == "outside" else COVERAGE
    low, high = _fewest(chances, (1 - coverage) / 2), _fewest(chances, (1 + coverage) / 2)
    if support == "outside":
        low = max(low - 1, 1) if low is not None else limit
        # of hair that did what such hair can hardly do nobody knows how long it takes
        high = high + 1 if high is not None and high < limit and can_be(rate) else None
    reach = float(chances[0])
    # Single draws share fewer courses than the chance itself, so their mean is off a little.
    spread = _ends(today, weight) - np.average(today, weights=weight)
    return SessionsAnswer(
        question=question,
        limit=limit,
        seed=seed,
        averaged=averaged,
        sessions=tuple(float(p) for p in chances),
        median=None if support == "outside" else median,
        band_low=low,
        band_high=high,
        band_coverage=coverage,
        today=reach,
        today_low=min(max(reach + float(spread[0]), 0.0), reach),
        today_high=max(min(reach + float(spread[1]), 1.0), reach),
        levels=tuple(level_band(predictive, k, of) for k, of in enumerate(levels[:limit], start=1)),
        support=support,
        support_notes=notes,
        basis=predictive.basis,
        look_minutes=predictive.look_gaps.usual(),
        looks_assumed=predictive.look_gaps.assumed,
        condition_drops=(predictive.hazard.drop_first, predictive.hazard.drop_later),
    )


def _ends(values: np.ndarray, weight: np.ndarray) -> np.ndarray:
    """Ends of the band of weighted values."""
    order = np.argsort(values)
    middle = np.cumsum(weight[order]) - 0.5 * weight[order]
    wanted = np.array([(1 - COVERAGE) / 2, (1 + COVERAGE) / 2])
    return np.asarray(np.interp(wanted * weight.sum(), middle, values[order]))


def _fewest(chances: np.ndarray, share: float) -> int | None:
    """Fewest sessions within which this share of courses is done; None beyond the limit."""
    enough = np.flatnonzero(np.cumsum(chances[:-1]) >= share - 1e-9)
    return int(enough[0]) + 1 if len(enough) else None


def level_band(
    predictive: LiftPredictive,
    session: int,
    chances: np.ndarray,
    coverage: float = COVERAGE,
    down_to: float | None = None,
) -> LevelBand:
    """Middle and band of a level that is read; the wide band has a recording step more at both ends.

    Parameters
    ----------
    predictive : LiftPredictive
    session : int
        After which.
    chances : ndarray (L,)
        Of each level, 1 to the top in recording steps.
    coverage : float
    down_to : float, optional
        A level that the band holds in any case.

    Returns
    -------
    LevelBand
    """
    shares = (0.5, (1 - coverage) / 2, (1 + coverage) / 2)
    cells = np.searchsorted(np.cumsum(chances), np.array(shares) - 1e-9)
    cells += (0, -1, 1) if coverage == WIDE else (0, 0, 0)
    if down_to is not None:
        cells[1] = min(cells[1], round((down_to - 1.0) / predictive.step))
    cells = np.clip(cells, 0, len(chances) - 1)
    median, low, high = (1.0 + predictive.step * int(cell) for cell in cells)
    return LevelBand(session, median, low, high, float(chances[cells[1] : cells[2] + 1].sum()))


def averaged_over(predictive: LiftPredictive, hair: str) -> dict[str, dict[str, float]]:
    """What a question doesn't give: covariates in the shares of the log's visits with this hair.

    Parameters
    ----------
    predictive : LiftPredictive
    hair : str

    Returns
    -------
    dict of column to dict of value in words to share
    """
    used = set(predictive.design.columns)
    return {
        column: {_said(value): share for value, share in shares}
        for column, shares in predictive.covariates.get(hair, {}).items()
        if column in used
    }


def _said(value: str | float | None) -> str:
    if value is None:
        return "not given"
    return value if isinstance(value, str) else f"{value:g}"
