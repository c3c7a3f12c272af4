"""Courses worked session by session: the client stays the same, every session has its own luck."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from outcomes.predictive.chair import Openings, open_courses
from outcomes.predictive.lift import LiftPredictive
from outcomes.predictive.normal import normal_quantile
from outcomes.predictive.plans import Plans
from outcomes.predictive.practice import shares_of
from outcomes.predictive.rates import rate_tables
from outcomes.predictive.session import ABOVE, ReadAnew, Worked, work_session
from outcomes.predictive.unknowns import Unknowns, cross_with_draws, draw_unknowns

__all__ = ["SimulatedCourses", "simulate_courses"]

FloatArray = npt.NDArray[np.float64]

_GONE = 1e-6  # a course this surely at its goal isn't followed further
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
    today : ndarray (B, draws)
        Chance of reading the goal in session 1 for single draws of the parameters.
    """

    sessions: FloatArray
    levels: FloatArray
    today: FloatArray


def simulate_courses(
    predictive: LiftPredictive, plans: Plans, n: int, seed: int, *, limit: int, draws: int, per_draw: int
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

    Returns
    -------
    SimulatedCourses

    Raises
    ------
    InputError
        As `lattice`, where n or per_draw isn't among its sizes.
    """
    tables = rate_tables(predictive, tuple(sorted({float(p) for p in plans.peroxide})))
    unknowns = draw_unknowns(predictive, tables, n, limit, seed)
    draws = min(draws, predictive.n_draws)
    single = cross_with_draws(draw_unknowns(predictive, tables, per_draw, 1, seed), draws)
    at_once = max(1, _CELLS // n)
    parts = []
    for first in range(0, len(plans), at_once):
        part = plans.part(first, first + at_once)
        sessions, levels = _follow(
            predictive, open_courses(predictive, tables, part, unknowns), unknowns, limit
        )
        one = _once(predictive, open_courses(predictive, tables, part, single), single)
        parts.append((sessions, levels, one.reshape(len(part), draws, per_draw).mean(axis=2)))
    sessions, levels, today = (np.concatenate(found) for found in zip(*parts, strict=True))
    return SimulatedCourses(sessions, levels, today)


def _once(predictive: LiftPredictive, courses: Openings, unknowns: Unknowns) -> FloatArray:
    """Chance of reading the goal in the first session, by course (B n,)."""
    chair = courses.first_session(unknowns)
    return 1.0 - work_session(predictive, chair, np.ones(len(chair.level)), tells_levels=False).weight


def _follow(
    predictive: LiftPredictive, courses: Openings, unknowns: Unknowns, limit: int
) -> tuple[FloatArray, FloatArray]:
    """Follow courses over all their sessions: chances of each number of sessions, and of levels read."""
    n_plans, n, step = courses.n_plans, len(unknowns.draw), predictive.step
    n_levels = round((predictive.top - 1.0) / step) + 1
    sessions = np.zeros((n_plans, limit + 1))
    levels = np.zeros((n_plans, limit, n_levels))
    done = np.zeros((n_plans, n_levels))
    weight = np.ones(n_plans * n)
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
        sessions[:, k] = np.bincount(plan, worked.reached + gone, minlength=n_plans)
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
    sessions[:, limit] = np.bincount(at // n, weight, minlength=n_plans)
    return sessions / n, levels / n


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
