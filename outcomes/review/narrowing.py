"""Which change in how visits are written down would narrow the bands of a team most: worked out, not guessed.

A stylist's rate is known the better, the more each visit tells of it. What a visit tells follows from its
readings and their errors as the model found them; so it can be worked out for the readings there would be.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import numpy.typing as npt
import pandas as pd

from outcomes.predictive.lift import LiftPredictive
from outcomes.predictive.told import ToldVisits

__all__ = ["WORTH_SAYING", "heaped_to", "narrowing", "told_of_rate"]

FloatArray = npt.NDArray[np.float64]

WORTH_SAYING = 0.02
"""Share by which bands must narrow for a habit to be named."""

_STEPS = (15.0, 10.0, 5.0)  # minutes, the coarsest first
_HEAPED = 0.8  # share of the minutes on such a step that isn't chance
_USUAL_GAP = 10.0  # minutes, where no look is written down


def told_of_rate(
    gained: FloatArray, visit: npt.NDArray[np.intp], variance: FloatArray, start: float, visits: int
) -> FloatArray:
    """What readings tell of the log rate of their visits: inverse variances.

    A reading is start error + gained * exp(deviation of log rate) + its own error.

    Parameters
    ----------
    gained : ndarray (n,)
        Levels gained when each was read.
    visit : ndarray of int (n,)
        0 to visits - 1.
    variance : ndarray (n,)
        Of a reading's own error, rounding included.
    start : float
        Variance of the error of a start, which all readings of a visit share; 0: none.
    visits : int

    Returns
    -------
    ndarray (visits,)
    """
    square, cross, plain = (
        np.bincount(visit, weights / variance, visits)
        for weights in (gained**2, gained, np.ones(len(gained)))
    )
    if start == 0.0:
        return np.asarray(square, dtype=np.float64)
    return np.asarray(square - cross**2 / (1.0 / start + plain), dtype=np.float64)


def heaped_to(minutes: npt.ArrayLike) -> float:
    """Minutes to which times seem to be rounded; 0 where they aren't.

    Parameters
    ----------
    minutes : array_like (n,)

    Returns
    -------
    float
        The coarsest of 15, 10 and 5 that four fifths of the times are multiples of, or 0.
    """
    times = np.asarray(minutes, dtype=np.float64)
    if not len(times):
        return 0.0
    return next((step for step in _STEPS if (np.abs(times % step) < 1e-9).mean() >= _HEAPED), 0.0)


def narrowing(
    predictive: LiftPredictive, told: ToldVisits, here: npt.NDArray[np.bool_], set_aside: int, used: int
) -> pd.DataFrame:
    """By how much each habit of writing would narrow the band of a stylist's rate, the most first.

    Parameters
    ----------
    predictive : LiftPredictive
    told : ToldVisits
        V visits.
    here : ndarray of bool (V,)
        Which of them it's about; at least one.
    set_aside, used : int
        Rows of the log that couldn't be used, and that were.

    Returns
    -------
    DataFrame
        `habit` ("looks", "minutes", "rows"), `now` (share of visits with written looks; minutes that times
        are rounded to; share of rows that are used), `narrower` (share of the band's width).
    """
    sizes: Mapping[str, float] = {
        name: float(np.mean(values)) for name, values in predictive.draws.items() if np.ndim(values) == 1
    }
    at = np.flatnonzero(here)
    rate = np.exp(told.rows[at] @ predictive.draws["coefficients"].mean(axis=0))
    rounding = predictive.step**2 / 12.0
    of_kind = {True: sizes["sd_look"] ** 2 + rounding, False: sizes["sd_result"] ** 2 + rounding}
    start = sizes["sd_start"] ** 2
    saturating = sizes["saturating"] > 0.5

    def gained(visit: npt.NDArray[np.intp], minutes: FloatArray) -> FloatArray:
        theta = np.full(len(minutes), sizes["shape"])
        shape = predictive.progress(minutes, theta, np.full(len(minutes), saturating))
        return np.asarray(rate[visit] * shape, dtype=np.float64)

    def told_by(
        visit: npt.NDArray[np.intp], minutes: FloatArray, is_look: npt.NDArray[np.bool_]
    ) -> FloatArray:
        variance = np.where(is_look, of_kind[True], of_kind[False])
        return told_of_rate(gained(visit, minutes), visit, variance, start, len(at))

    count = told.n_readings[at]
    visit = np.repeat(np.arange(len(at)), count)
    reading = np.arange(count.sum()) + np.repeat(told.first_reading[at] - np.cumsum(count) + count, count)
    looked = np.bincount(visit, told.is_look[reading], len(at)) > 0
    now = told_by(visit, told.minutes[reading], told.is_look[reading])

    gaps = predictive.look_gaps
    gap = float(gaps.minutes @ gaps.share) if len(gaps.minutes) else _USUAL_GAP
    more = np.where(looked, 0, np.maximum(np.ceil(told.rinse[at] / gap - 1e-9).astype(np.intp) - 1, 0))
    extra = np.repeat(np.arange(len(at)), more)
    when = gap * (np.arange(more.sum()) - np.repeat(np.cumsum(more) - more, more) + 1.0)
    with_looks = told_by(
        np.concatenate([visit, extra]),
        np.concatenate([told.minutes[reading], when]),
        np.concatenate([told.is_look[reading], np.ones(len(extra), dtype=bool)]),
    )

    step = heaped_to(told.rinse[at])
    slope = sizes["shape"] if not saturating else 0.5  # of log progress by log time
    of_minutes = (slope * step / np.sqrt(12.0) / told.rinse[at]) ** 2
    between = sizes["sd_client"] ** 2 + sizes["sd_visit"] ** 2

    def width(information: FloatArray, beside: FloatArray, share: float = 1.0) -> float:
        # every visit weighs as much as it tells
        each = 1.0 / (between + beside + 1.0 / np.maximum(information, 1e-9))
        return float(np.sqrt(1.0 / (share * each.sum())))

    before = width(now, of_minutes)
    whole = (used + set_aside) / used
    rows = [
        ("looks", float(looked.mean()), width(with_looks, of_minutes)),
        ("minutes", step, width(now, np.zeros(len(at)))),
        ("rows", 1.0 / whole, width(now, of_minutes, whole)),
    ]
    found = pd.DataFrame([(habit, state, 1.0 - after / before) for habit, state, after in rows],
                         columns=["habit", "now", "narrower"])  # fmt: skip
    return found.sort_values("narrower", ascending=False, ignore_index=True)
