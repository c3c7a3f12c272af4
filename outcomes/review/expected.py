"""Every visit beside what was expected of it, had any stylist of the log worked it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from outcomes.calibration.reliability import longest_time
from outcomes.models.condition_loss import ConditionLoss, condition_loss
from outcomes.models.lift import LiftModel
from outcomes.models.told import told_visits
from outcomes.predictive.lift import LiftPredictive
from outcomes.predictive.normal import normal_quantile
from outcomes.predictive.reach import goal_chances
from outcomes.predictive.told import ToldVisits

__all__ = ["ADJUSTED", "Expected", "chance_of_count", "expected_visits"]

FloatArray = npt.NDArray[np.float64]

ADJUSTED = {
    "start and goal level": "goal_level",
    "hair before": "hair",
    "layers of older dark colour": "colour_history",
    "texture": "texture",
    "zone": "zone",
    "developer strength and heat": "peroxide_pct",
    "mixing ratio": "mix_ratio",
    "wrap": "wrap",
    "times lightener was applied": "applications",
    "product": "product",
    "longest time intended": "planned_minutes",
    "which session of the course it was": "session",
    "what the client's earlier visits told of how fast that hair lifts": "client",
}
"""What expectations are adjusted for, and the column that says it."""

_PARTICLES = 256
_FARTHEST = 1e-6  # of a probability integral transform from 0 and 1


@dataclass(frozen=True, eq=False)
class Expected:
    """Visits, and what was expected of them.

    Attributes
    ----------
    visits : DataFrame (n rows)
        Of the whole log. Canonical columns, those of `assign_courses`, and: `chance` (of the goal in this
        visit), `reached`, `residual` (of the first reading, standard normal while the stylist works as
        before; NaN without any), `loss` and `loss_expected` (points of condition; NaN where not written),
        `n_looks` (NaN where looks aren't written), `longest` (minutes intended), `quarter` (Period). In order
        of date.
    told : ToldVisits
        Its readings as they were followed, clients in order; `place` (n,) says where each of `visits` stands.
    loss : ConditionLoss or None
    """

    visits: pd.DataFrame
    told: ToldVisits
    place: npt.NDArray[np.intp]
    loss: ConditionLoss | None


def expected_visits(model: LiftModel, predictive: LiftPredictive, seed: int = 1) -> Expected:
    """Hold visits against what was expected of them.

    Parameters
    ----------
    model : LiftModel
        Fitted to visits up to the end of the quarter.
    predictive : LiftPredictive
        The calibrated distribution by which it's expected.
    seed : int
        Of particles, and of the place of a rounded reading within its step.

    Returns
    -------
    Expected

    Raises
    ------
    InputError
        A category that the distribution doesn't know.
    """
    rows = model.told_rows_
    told = told_visits(model.readings_, predictive.design, predictive.stylists, predictive.products)
    goal = rows["goal_level"].to_numpy(dtype=np.float64)
    minutes = longest_time(rows)
    chance, followed = goal_chances(predictive, told, goal, minutes, _PARTICLES, seed)
    has = told.n_readings > 0
    first = told.first_reading[has]
    low, high = followed.low[first], followed.high[first]
    place = low + np.random.default_rng(seed).random(len(low)) * (high - low)
    residual = np.full(len(rows), np.nan)
    residual[has] = normal_quantile(np.clip(place, _FARTHEST, 1.0 - _FARTHEST))
    loss = condition_loss(rows)
    looks = np.bincount(
        np.repeat(np.arange(len(rows)), told.n_readings), told.is_look.astype(float), len(rows)
    )
    counted = rows["looks"].to_numpy(dtype=np.float64)
    nothing = np.full(len(rows), np.nan)
    reached = (rows["stop"] == "target") | (rows["achieved_level"] >= rows["goal_level"])
    visits = rows.assign(
        chance=chance,
        reached=reached.to_numpy(dtype=bool),
        residual=residual,
        loss=nothing if loss is None else loss.observed,
        loss_expected=nothing if loss is None else loss.expected,
        n_looks=np.where(looks > 0, looks, counted),
        longest=minutes,
        quarter=rows["date"].dt.to_period("Q"),
    )
    order = np.argsort(visits["date"].to_numpy(), kind="stable")
    return Expected(visits.iloc[order].reset_index(drop=True), told, order, loss)


def chance_of_count(chances: FloatArray, count: int) -> float:
    """Chance of a count as far from the expected one, to either side, of visits with unlike chances.

    Half of the chance of the very count is left out, so that it's as often below 0.1 as a tenth says.

    Parameters
    ----------
    chances : ndarray (n,)
        Of each visit, independent of each other.
    count : int
        That came.

    Returns
    -------
    float

    References
    ----------
    The Poisson binomial distribution by convolution; mid-p: Lancaster, H. O. (1961). Significance tests in
    discrete distributions. J. Am. Stat. Assoc. 56, 223-234.
    """
    shares = np.ones(1)
    for chance in chances:
        shares = np.convolve(shares, [1.0 - chance, chance])
    at = shares[count]
    below, above = shares[:count].sum() + 0.5 * at, shares[count + 1 :].sum() + 0.5 * at
    return float(min(1.0, 2.0 * min(below, above)))
