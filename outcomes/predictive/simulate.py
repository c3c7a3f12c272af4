"""Courses worked session by session: the client stays the same, every session has its own luck."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from outcomes.predictive.chair import Openings
from outcomes.predictive.clients import Clients
from outcomes.predictive.known import KnownRate
from outcomes.predictive.lift import LiftPredictive
from outcomes.predictive.normal import normal_quantile
from outcomes.predictive.past import Past
from outcomes.predictive.plans import Plans
from outcomes.predictive.practice import shares_of
from outcomes.predictive.session import ABOVE, ReadAnew, Worked, work_session
from outcomes.predictive.unknowns import Unknowns

__all__ = ["SimulatedCourses", "course_by_course", "rate_of_client", "simulate_courses"]

FloatArray = npt.NDArray[np.float64]

_GONE = 1e-6  # a course this surely at its goal isn't followed further
_NEVER = 1e-300  # weight of a draw that can't be
_CELLS = 32768  # courses worked at once: few enough to stay in the processor's cache


@dataclass(frozen=True, eq=False)
class SimulatedCourses:
    """What came of B plans.

    Attributes
    ----------
    sessions : ndarray (B, limit + 1)
        Chance that the goal is read in session 1, 2, ..., limit, or not within them; rows sum to 1.
    levels : ndarray (B, limit, L)
        Chances of the result read after each session, 1 to the top in recording steps; a course that is done
        keeps its last. A result read anew after a look that read the goal may be below it. Rows sum to 1.
    today, today_weight : ndarray (B, draws)
        Chance of reading the goal in session 1 for single draws of the parameters; how likely each draw is,
        1 on average.
    """

    sessions: FloatArray
    levels: FloatArray
    today: FloatArray
    today_weight: FloatArray


def simulate_courses(
    predictive: LiftPredictive,
    plans: Plans,
    n: int,
    seed: int,
    *,
    limit: int,
    draws: int,
    per_draw: int,
    past: Past | None = None,
) -> SimulatedCourses:
    """Work n courses of every plan.

    Parameters
    ----------
    predictive : LiftPredictive
    plans : Plans
        B of them.
    n : int
        Courses a plan, one of `lattice.SIZES`.
    seed : int
        The same seed gives the same answer; all plans share their courses' unknowns.
    limit : int
        Sessions at most, 1 to 12.
    draws, per_draw : int
        For `today`: draws of the parameters, and courses for each of them (one of `lattice.SIZES`).
    past : Past, optional
        Of the client whom all plans are for; by default it's a new one.

    Returns
    -------
    SimulatedCourses

    Raises
    ------
    InputError
        As `lattice`, where n or per_draw isn't among its sizes.
    """
    clients = Clients(predictive, plans, past)
    followed, known = clients.people(n, limit, seed)
    draws = min(draws, predictive.n_draws)
    single, single_known = clients.people(per_draw, 1, seed, draws=draws)
    parts = []
    for part in _parts(plans, n):
        sessions, levels, _ = _follow(predictive, clients.opened(part, followed, known), followed, limit)
        courses = clients.opened(part, single, single_known)
        reached = courses.weight * _once(predictive, courses, single)
        by_draw = (len(part), draws, per_draw)
        weight = np.maximum(courses.weight.reshape(by_draw).mean(axis=2), _NEVER)
        parts.append((sessions, levels, reached.reshape(by_draw).mean(axis=2) / weight, weight))
    return SimulatedCourses(*(np.concatenate(found) for found in zip(*parts, strict=True)))


def course_by_course(
    predictive: LiftPredictive, plans: Plans, n: int, seed: int, *, limit: int, past: Past | None = None
) -> tuple[FloatArray, FloatArray]:
    """Chances of every number of sessions for each of the n clients, whom all plans share.

    Their hair and the days' luck are the same under every plan; what is read by eye on the way isn't.

    Parameters
    ----------
    predictive, plans, n, seed, limit, past : as in `simulate_courses`

    Returns
    -------
    chances : ndarray (B, n, limit + 1)
        Chance that the goal is read in session 1, 2, ..., limit, or not within them.
    weight : ndarray (B, n)
        Of each client; 1 on average.

    Raises
    ------
    InputError
        As `lattice`.
    """
    clients = Clients(predictive, plans, past)
    unknowns, known = clients.people(n, limit, seed)
    chances, weights = [], []
    for part in _parts(plans, n):
        courses = clients.opened(part, unknowns, known)
        *_, found = _follow(predictive, courses, unknowns, limit)
        weight = courses.weight[:, None]
        shares = np.divide(found, weight, out=np.zeros_like(found), where=weight > 0)
        chances.append(shares.reshape(len(part), n, limit + 1))
        weights.append(courses.weight.reshape(len(part), n))
    return np.concatenate(chances), np.concatenate(weights)


def rate_of_client(predictive: LiftPredictive, plans: Plans, n: int, seed: int, past: Past) -> KnownRate:
    """A known client's own rate over that of clients like them.

    Parameters
    ----------
    predictive, plans, n, seed, past : as in `simulate_courses`

    Returns
    -------
    KnownRate

    Raises
    ------
    InputError
        As `lattice`.
    """
    _, known = Clients(predictive, plans, past).people(n, 1, seed)
    assert known is not None
    return known.rate(predictive.recalibration.spread)


def _parts(plans: Plans, n: int) -> Iterator[Plans]:
    at_once = max(1, _CELLS // n)
    for first in range(0, len(plans), at_once):
        yield plans.part(first, first + at_once)


def _once(predictive: LiftPredictive, courses: Openings, unknowns: Unknowns) -> FloatArray:
    """Chance of reading the goal in the first session, by course (B n,)."""
    chair = courses.first_session(unknowns)
    return 1.0 - work_session(predictive, chair, np.ones(len(chair.level)), tells_levels=False).weight


def _follow(
    predictive: LiftPredictive, courses: Openings, unknowns: Unknowns, limit: int
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Follow courses over all their sessions: chances of each number of sessions, of levels read, and those
    of each course (B n, limit + 1), times its weight."""
    n_plans, n, step = courses.n_plans, len(unknowns.draw), predictive.step
    n_levels = round((predictive.top - 1.0) / step) + 1
    found = np.zeros((n_plans * n, limit + 1))
    levels = np.zeros((n_plans, limit, n_levels))
    done = np.zeros((n_plans, n_levels))
    weight = courses.weight
    at = np.arange(n_plans * n)
    chair = courses.first_session(unknowns)
    for k in range(limit):
        plan = at // n
        anew = None
        if len(predictive.practice.reread):
            share = shares_of(predictive.practice.reread, predictive.stylist_visits, courses.stylist[at])
            error = chair.sd_result * normal_quantile(unknowns.reading[k, at % n])
            anew = ReadAnew(step, predictive.top, plan, n_plans, share, error)
        worked = work_session(predictive, chair, weight, anew=anew)
        weight = np.where(worked.weight > _GONE, worked.weight, 0.0)
        gone = worked.weight - weight
        worked.told[0] += gone
        found[at, k] = worked.reached + gone
        done += _told_levels(worked, plan, chair.goal, step, n_levels, n_plans)
        if anew is not None:
            done += anew.chances
        still = np.flatnonzero(weight)
        read = _result_below(worked, chair.goal, chair.sd_result, step, unknowns.reading[k, at % n])
        cell = plan * n_levels + np.rint((read - 1.0) / step).astype(np.intp)
        levels[:, k] = done + np.bincount(cell, weight, n_plans * n_levels).reshape(n_plans, n_levels)
        at, weight = at[still], weight[still]
        if not len(at):
            levels[:, k + 1 :] = done[:, None]
            break
        if k + 1 < limit:
            chair = courses.later_session(unknowns, k + 1, at, worked.level[still])
    found[at, limit] = weight
    return found.reshape(n_plans, n, limit + 1).mean(axis=1), levels / n, found


def _told_levels(
    worked: Worked, plan: npt.NDArray[np.intp], goal: FloatArray, step: float, n_levels: int, n_plans: int
) -> FloatArray:
    """Chances of the level read where the reading at the goal is the result, (B, L)."""
    first = np.rint((goal - 1.0) / step).astype(np.intp)
    found = np.zeros(n_plans * n_levels)
    for steps in range(ABOVE + 1):
        beyond = worked.told[steps + 1] if steps < ABOVE else 0.0
        cell = plan * n_levels + np.minimum(first + steps, n_levels - 1)
        found += np.bincount(cell, worked.told[steps] - beyond, n_plans * n_levels)
    return found.reshape(n_plans, n_levels)


def _result_below(
    worked: Worked, goal: FloatArray, sd: FloatArray, step: float, uniform: FloatArray
) -> FloatArray:
    """One result of each course, given that it reads below the goal, as written."""
    error = normal_quantile(uniform * worked.below)
    read = np.floor((worked.level + sd * error) / step + 0.5) * step
    return np.clip(read, 1.0, goal - step)
