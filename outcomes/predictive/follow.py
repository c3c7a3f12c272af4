"""Visits that did happen, followed reading by reading: what was expected before each, and after it.

Every client carries many particles, each a full set of what isn't known: parameters, the client's own rate,
the visit's luck, the true level at its start. Before a reading they say what it may be; after it, each weighs
as much as it expected what came. So a reading is predicted given the client's earlier visits and the earlier
readings of its own visit, and nothing later (Dawid 1984).
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from outcomes.predictive.distribution import Predictive, Recalibration
from outcomes.predictive.normal import normal_quantile
from outcomes.predictive.particles import Particles, resampled
from outcomes.predictive.reading import FollowedSession
from outcomes.predictive.told import ToldVisits

__all__ = ["SAMPLE", "Followed", "follow"]

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.intp]

SAMPLE = 128
"""Values that stand for the distribution of a visit's first reading."""

_CELLS = 32768  # particles worked on at once: few enough to stay in the processor's cache


@dataclass(frozen=True, eq=False)
class Followed:
    """What was expected of V visits and their n readings.

    Attributes
    ----------
    low, high : ndarray (n,)
        Chance of a reading below the one that came, and of one not above it: its interval of probability
        integral transforms. For the first reading of a visit whose looks weren't written down, jointly with
        "not at the goal at the looks before": visits that ended earlier count as above it.
    log_chance : ndarray (V,)
        Log of the chance of all of a visit's readings, and of looks that weren't written down, given the
        client's earlier visits; a slip of the pen included (`outcomes.predictive.reading.SLIP`).
    slope : ndarray (V, 3)
        Its derivatives by log spread, log reading and log later of the recalibration, what the client's
        earlier visits told being held.
    sample : ndarray (V, SAMPLE)
        Evenly spread values of the first reading, levels gained, before it's rounded.
    """

    low: FloatArray
    high: FloatArray
    log_chance: FloatArray
    slope: FloatArray
    sample: FloatArray


def follow(
    predictive: Predictive,
    told: ToldVisits,
    n: int,
    seed: int,
    *,
    slopes: bool = False,
    samples: bool = False,
    pilot: Recalibration | None = None,
    ask: Callable[[FollowedSession, IntArray], None] | None = None,
) -> Followed:
    """Follow visits with n particles for each client.

    Parameters
    ----------
    predictive : Predictive
        Fitted without these clients, or the prediction isn't one.
    told : ToldVisits
    n : int
        One of `lattice.SIZES`.
    seed : int
    slopes, samples : bool
        Whether `slope` and `sample` are wanted; zeros otherwise.
    pilot : Recalibration, optional
        By which particles are placed; by default the distribution's own. Under one pilot, `log_chance` is a
        smooth function of the recalibration, and `slope` its derivative.
    ask : callable, optional
        Called with every round of visits, and their positions, before anything of them is read.

    Returns
    -------
    Followed
        Zeros for visits and readings that `told` leaves out.

    References
    ----------
    Dawid, A. P. (1984). Present position and potential developments: some personal views: statistical theory:
    the prequential approach. J. R. Stat. Soc. A 147, 278-292. doi:10.2307/2981683.
    Czado, C., Gneiting, T. & Held, L. (2009). Predictive model assessment for count data. Biometrics 65,
    1254-1261. doi:10.1111/j.1541-0420.2009.01191.x (intervals of probability integral transforms).
    Gordon, N. J., Salmond, D. J. & Smith, A. F. M. (1993). Novel approach to nonlinear/non-Gaussian Bayesian
    state estimation. IEE Proc. F 140, 107-113. doi:10.1049/ip-f-2.1993.0015 (particles).
    """
    readings, visits = len(told.minutes), len(told.start)
    found = Followed(
        low=np.zeros(readings),
        high=np.zeros(readings),
        log_chance=np.zeros(visits),
        slope=np.zeros((visits, 3)),
        sample=np.zeros((visits, SAMPLE)),
    )
    for part, clients in enumerate(_parts(told, n)):
        _follow_part(
            *(predictive, pilot or predictive.recalibration, told, clients, n, seed + part, found),
            slopes=slopes,
            samples=samples,
            ask=ask,
        )
    return found


def _parts(told: ToldVisits, n: int) -> Iterator[IntArray]:
    """Clients to be worked on together, those with most visits first."""
    order = np.argsort(-told.n_visits, kind="stable")
    order = order[told.n_visits[order] > 0]
    at_once = max(1, _CELLS // n)
    for first in range(0, len(order), at_once):
        yield order[first : first + at_once]


def _follow_part(
    predictive: Predictive,
    pilot: Recalibration,
    told: ToldVisits,
    clients: IntArray,
    n: int,
    seed: int,
    found: Followed,
    *,
    slopes: bool,
    samples: bool,
    ask: Callable[[FollowedSession, IntArray], None] | None,
) -> None:
    rng = np.random.default_rng(seed)
    visits, first = told.n_visits[clients], told.first_visit[clients]
    people = Particles.evenly(predictive, len(clients), n, seed)
    start_z, away = people.z["start"], people.away
    ends: list[FloatArray] = []  # true level after each visit so far
    for j in range(int(visits[0])):
        at = (first + j)[visits > j]
        m = len(at)
        if j:
            start_z = normal_quantile((rng.permutation(n) + rng.random()) / n)
            away = (rng.permutation(n) + rng.random()) / n
        start_error = people.first(m).drawn("sd_start") * start_z
        before = told.previous[at] - first[:m]
        for row in np.flatnonzero(told.previous[at] >= 0):
            start_error[row] = ends[before[row]][row] - told.start[at[row]]
        session = FollowedSession(
            predictive, told, people.first(m), at, start_error, away, pilot, later=j > 0
        )
        if ask is not None:
            ask(session, at)
        if told.unwritten is not None:
            session.survive(told.unwritten, slopes)
        for p in range(int(told.n_readings[at].max(initial=0))):
            rows = np.flatnonzero(told.n_readings[at] > p)
            reading = told.first_reading[at[rows]] + p
            if samples and p == 0:
                imagined = session.imagined(rows, reading, people.z["reading"])
                found.sample[at[rows]] = _thinned(imagined, session.first_weight[rows])
            found.low[reading], found.high[reading] = session.read(rows, reading, slopes)
        found.log_chance[at], found.slope[at] = session.log_chance(), session.slope()
        again = int((visits > j + 1).sum())
        if again:
            places = resampled(session.weight[:again], rng)
            people = session.people.first(again).chosen(places)
            ends = [level[:again] for level in [*ends, session.end_level()]]
            ends = [np.take_along_axis(level, places, axis=1) for level in ends]


def _thinned(values: FloatArray, weight: FloatArray) -> FloatArray:
    """`SAMPLE` of the values in each row, in order of size and evenly spread by weight."""
    order = np.argsort(values, axis=1)
    upto = np.cumsum(np.take_along_axis(weight, order, axis=1), axis=1)
    wanted = (np.arange(SAMPLE) + 0.5) / SAMPLE
    # each row moved up by its number: one sorted array in which all rows are looked up at once
    row = np.arange(len(values))[:, None]
    found = np.searchsorted((upto / upto[:, -1:] + row).ravel(), (wanted + row).ravel())
    places = np.clip(found.reshape(len(values), SAMPLE) - row * values.shape[1], 0, values.shape[1] - 1)
    return np.take_along_axis(values, np.take_along_axis(order, places, axis=1), axis=1)
