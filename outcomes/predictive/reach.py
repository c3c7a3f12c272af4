"""Chance that the goal was read by a given minute, for visits whose plan is known in full."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from outcomes.predictive.distribution import rate
from outcomes.predictive.follow import Followed, follow
from outcomes.predictive.lift import LiftPredictive
from outcomes.predictive.normal import normal_quantile
from outcomes.predictive.particles import Particles
from outcomes.predictive.practice import look_times, shares_of
from outcomes.predictive.reading import FollowedSession
from outcomes.predictive.session import Chair, work_session
from outcomes.predictive.told import ToldVisits

__all__ = ["goal_chances", "reach_chances"]

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.intp]

_CELLS = 32768


def reach_chances(
    predictive: LiftPredictive,
    told: ToldVisits,
    at: IntArray,
    goal: FloatArray,
    minutes: FloatArray,
    n: int,
    seed: int,
    *,
    at_rinse: bool,
) -> FloatArray:
    """Chance that the goal is read up to some minute, in visits of new clients.

    Looks come at the stylist's usual intervals, as in a simulated session.

    Parameters
    ----------
    predictive : LiftPredictive
    told : ToldVisits
    at : ndarray of int (m,)
        The visits.
    goal, minutes : ndarray (m,)
        Levels; minutes, a look at that minute included.
    n : int
        Courses a visit, one of `lattice.SIZES`.
    seed : int
    at_rinse : bool
        Whether hair is rinsed at that minute and its result read.

    Returns
    -------
    ndarray (m,)
    """
    at_once = max(1, _CELLS // n)
    parts = [
        _of_part(
            *(predictive, told, at[first : first + at_once], goal[first : first + at_once]),
            *(minutes[first : first + at_once], n, seed, at_rinse),
        )
        for first in range(0, len(at), at_once)
    ]
    return np.concatenate(parts) if parts else np.zeros(0)


def _of_part(
    predictive: LiftPredictive,
    told: ToldVisits,
    at: IntArray,
    goal: FloatArray,
    minutes: FloatArray,
    n: int,
    seed: int,
    at_rinse: bool,
) -> FloatArray:
    people = Particles.evenly(predictive, len(at), n, seed)
    steady, centre = people.steady(told, at)
    people, visit = people.split(np.broadcast_to(normal_quantile(people.away), steady.shape))
    log_rate = steady + people.client + visit
    recalibration = predictive.recalibration
    if recalibration.changes_rates:
        log_rate = recalibration.rates(centre, log_rate, people.mixings)
    start = told.start[at][:, None] + people.drawn("sd_start") * people.z["start"]
    reached = _reached(
        *(predictive, people, rate(log_rate), start, told.stylist[at], goal, minutes, seed), at_rinse=at_rinse
    )
    return np.asarray(reached.mean(axis=1), dtype=np.float64)


def goal_chances(
    predictive: LiftPredictive, told: ToldVisits, goal: FloatArray, minutes: FloatArray, n: int, seed: int
) -> tuple[FloatArray, Followed]:
    """Chance that the goal is read in each visit, had it been worked by any stylist of the log.

    Given all that the client's earlier visits told, so that hair which is known to be slow isn't expected to
    be fast; with the looks of the stylist who did it.

    Parameters
    ----------
    predictive : LiftPredictive
    told : ToldVisits
        V visits.
    goal, minutes : ndarray (V,)
        Levels; longest time intended.
    n : int
        Particles a client, one of `lattice.SIZES`.
    seed : int

    Returns
    -------
    chances : ndarray (V,)
    followed : Followed
        What was expected of the readings, of the stylist who did the visit.
    """
    found = np.zeros(len(told.start))
    anybody = np.full(len(told.start), -2, dtype=np.intp)

    def ask(session: FollowedSession, at: IntArray) -> None:
        reached = _reached(
            *(predictive, session.people, session.rate_of(anybody), session.start_level()),
            *(told.stylist[at], goal[at], minutes[at], seed),
            at_rinse=True,
        )
        weight = session.first_weight
        found[at] = (weight * reached).sum(axis=1) / weight.sum(axis=1)

    followed = follow(predictive, told, n, seed, ask=ask)
    return found, followed


def _reached(
    predictive: LiftPredictive,
    people: Particles,
    rates: FloatArray,
    start: FloatArray,
    stylist: IntArray,
    goal: FloatArray,
    minutes: FloatArray,
    seed: int,
    *,
    at_rinse: bool,
) -> FloatArray:
    """Chance of each particle (m, n) that the goal is read in the time; the rest as the particle has it."""
    m, n = rates.shape
    recalibration = predictive.recalibration
    shuffled = (np.random.default_rng(seed).permutation(n) + 0.5) / n
    whose = np.repeat(stylist, n)
    unseen = shares_of(predictive.practice.unseen, predictive.stylist_visits, whose)
    # a look is as good as at that minute when it's half a minute away
    rinse = np.repeat(minutes if at_rinse else minutes + 0.5, n)
    looks = look_times(predictive.look_gaps, unseen, whose, np.tile(shuffled, m), rinse)
    chair = Chair(
        level=np.minimum(start, predictive.top).ravel(),
        goal=np.repeat(goal, n),
        rate=rates.ravel(),
        theta=people.drawn("shape").ravel(),
        saturating=people.drawn("saturating").ravel() > 0,
        looks=looks,
        rinse=rinse,
        sd_look=recalibration.reading * people.drawn("sd_look").ravel(),
        sd_result=recalibration.reading * people.drawn("sd_result").ravel(),
        look_offset=people.drawn("look_offset").ravel(),
    )
    worked = work_session(
        predictive, chair, np.ones(len(chair.level)), tells_levels=False, reads_result=at_rinse
    )
    return np.asarray(1.0 - worked.weight.reshape(m, n), dtype=np.float64)
