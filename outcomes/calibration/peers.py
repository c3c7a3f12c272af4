"""Scores of first readings of new clients, beside what else could have been used."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pandas as pd

from outcomes.calibration.baselines import BASELINES, BoostedQuantiles
from outcomes.calibration.checked import CheckedReadings
from outcomes.calibration.crps import crps_draws
from outcomes.calibration.folds import HeldOut
from outcomes.calibration.scores import interval_score
from outcomes.errors import InputError
from outcomes.predictive.lift import LiftPredictive
from outcomes.readings.bounds import HALF_STEP

__all__ = ["MODEL", "first_levels", "scores_table"]

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.intp]

MODEL = "this model"
COVERAGE = 0.8


def scores_table(
    checked: CheckedReadings, held: HeldOut[LiftPredictive], *, peers: bool = True
) -> pd.DataFrame:
    """Scores of the first reading of the first visit of clients who were left out; the lower the better.

    The peers learn from first readings of all visits of the other clients, with the model's covariates and
    the
    minutes. Looks that nobody wrote down, and results that say only "at or above the goal", are passed over.

    Parameters
    ----------
    checked : CheckedReadings
    held : HeldOut
    peers : bool
        False: the model alone.

    Returns
    -------
    DataFrame
        `model`, `crps`, `interval_score_80` (levels), `log_score` (minus the log chance of the half step that
        was written; NaN where a peer has no density), `n` (clients).
    """
    told, followed = held.told, checked.followed
    usable, gain, covariates = first_levels(held)
    at = told.first_visit[usable[told.first_visit]]
    columns = ["model", "crps", "interval_score_80", "log_score", "n"]
    if not len(at):
        return pd.DataFrame(columns=columns)
    sample = followed.sample[at]
    low, high = np.quantile(sample, [0.5 * (1 - COVERAGE), 0.5 * (1 + COVERAGE)], axis=1)
    reading = told.first_reading[at]
    chance = np.maximum(followed.high[reading] - followed.low[reading], 1e-12)
    own = (
        crps_draws(sample, gain[at]).mean(),
        interval_score(low, high, gain[at], COVERAGE).mean(),
        -np.log(chance).mean(),
    )
    rows: list[tuple[object, ...]] = [(MODEL, *map(float, own), len(at))]
    for name in BASELINES if peers else ():
        scores = _of_peer(name, held, usable, gain, covariates, at)
        if scores is not None:
            rows.append((name.replace("_", " "), *scores, len(at)))
    return pd.DataFrame(rows, columns=columns)


def _of_peer(
    name: str,
    held: HeldOut[LiftPredictive],
    usable: npt.NDArray[np.bool_],
    gain: FloatArray,
    covariates: FloatArray,
    at: IntArray,
) -> tuple[float, float, float] | None:
    """Mean scores of a peer that learns outside each fold; None where there is too little to learn from."""
    told = held.told
    client = np.repeat(np.arange(len(told.n_visits)), told.n_visits)
    fold = held.fold[client]
    minutes = told.minutes[np.minimum(told.first_reading, len(told.minutes) - 1)]
    found = np.full((3, len(told.start)), np.nan)
    first = np.zeros(len(told.start), dtype=bool)
    first[at] = True
    settled: dict[str, tuple[int, ...]] = {}
    for number in range(len(held.predictives)):
        learn, ask = usable & (fold != number), np.flatnonzero(first & (fold == number))
        if not len(ask):
            continue
        peer = BASELINES[name](**settled)
        try:
            peer.fit(covariates[learn], minutes[learn], gain[learn], client[learn])
        except InputError:
            return None
        if isinstance(peer, BoostedQuantiles):  # tuned once: sizes hardly differ between folds
            settled = {"leaves": peer.size_[:1], "iterations": peer.size_[1:]}
        asked = (covariates[ask], minutes[ask])
        found[0, ask] = peer.crps(*asked, gain[ask])
        found[1, ask] = interval_score(*peer.band(*asked, COVERAGE), gain[ask], COVERAGE)
        found[2, ask] = peer.log_score(*asked, gain[ask])
    crps, interval, log = (float(values[at].mean()) for values in found)
    return crps, interval, log


def first_levels(held: HeldOut[LiftPredictive]) -> tuple[npt.NDArray[np.bool_], FloatArray, FloatArray]:
    """First readings of all visits, as other methods learn from them.

    Parameters
    ----------
    held : HeldOut

    Returns
    -------
    usable : ndarray of bool (V,)
        Whether the first reading is a level, and known to be the first.
    gain : ndarray (V,)
        Levels gained as written; 0 where none is above the start.
    rows : ndarray (V, p - 1)
        Encoded covariates without the intercept.
    """
    told = held.told
    usable = told.n_readings > 0
    reading = told.first_reading[usable]
    lower, upper = told.lower[reading], told.upper[reading]
    gain = np.zeros(len(told.start))
    gain[usable] = np.select(
        [np.isfinite(lower), np.isfinite(upper)], [lower + HALF_STEP, upper - HALF_STEP], 0.0
    )
    # a result written as the goal unseen, or the unwritten look that ended a visit, is open below level 10
    is_level = np.isfinite(upper) | (told.start[usable] + lower + HALF_STEP >= held.top)
    usable[usable] = is_level
    if told.unwritten is not None:
        usable &= told.unwritten.count == 0
    names = held.predictives[0].design.names
    return usable, gain, told.rows[:, [name != "intercept" for name in names]]
