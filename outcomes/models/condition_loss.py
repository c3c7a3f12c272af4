"""What hair of the same kind, treated in the same way, loses of its condition, whoever works it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from outcomes.engine import MixedFit, fit_interval_mixed
from outcomes.predictive.hazard import HAZARD_TERMS, hazard_features
from outcomes.predictive.normal import normal_cdf

__all__ = ["ConditionLoss", "condition_loss"]

FloatArray = npt.NDArray[np.float64]

FEWEST = 40
"""Visits with both conditions; with fewer nothing is expected."""

_BEFORE = "condition_before"
_STRONG = 4.0  # of 1 to 5: conditions before stand against it
_BEST, _WORST = 5.0, 1.0
_HALF = 0.5  # point
_NODES, _TOLERANCE = 9, 0.01


@dataclass(frozen=True, eq=False)
class ConditionLoss:
    """Loss of strand condition, points of 1 to 5, of n visits.

    Attributes
    ----------
    observed, expected : ndarray (n,)
        NaN where a condition wasn't written.
    effects, errors : mapping of stylist to float
        Points lost more than expected, drawn towards none, and standard errors.
    fit : MixedFit
    """

    observed: FloatArray
    expected: FloatArray
    effects: dict[str, float]
    errors: dict[str, float]
    fit: MixedFit


def condition_loss(visits: pd.DataFrame) -> ConditionLoss | None:
    """Expect the loss of condition from hair, treatment and the condition before, without the stylist.

    Conditions are whole points, so a loss is known to half a point; where hair was at an end of the scale
    afterwards, it's open to that side.

    Parameters
    ----------
    visits : DataFrame (n rows)
        Canonical columns, and `later_session`.

    Returns
    -------
    ConditionLoss or None
        None where fewer than 40 visits, or a single stylist's, have both conditions.

    Raises
    ------
    FitError
        As the engine.
    """
    before, after = (
        visits[name].to_numpy(dtype=np.float64) for name in ("condition_before", "condition_after")
    )
    has = ~np.isnan(before) & ~np.isnan(after)
    told = visits[has].reset_index(drop=True)
    if has.sum() < FEWEST or told["stylist"].nunique() < 2:
        return None
    later = told["later_session"].to_numpy(dtype=bool)
    features = hazard_features(
        told["minutes"].to_numpy(dtype=np.float64),
        told["peroxide_pct"].to_numpy(dtype=np.float64),
        told["heat"].to_numpy(dtype=object),
        told["hair"].to_numpy(dtype=object),
        later,
    )
    design = pd.DataFrame(features, columns=list(HAZARD_TERMS)).assign(**{_BEFORE: before[has] - _STRONG})
    design = _told_apart(design)
    loss = before[has] - after[has]
    groups = {
        name: pd.Series(told[name].astype(str).to_numpy(dtype=object)) for name in ("client", "stylist")
    }
    if groups["client"].nunique() in (1, len(told)):  # every client once: that's the error of a visit
        del groups["client"]
    fit = fit_interval_mixed(
        np.where(after[has] == _BEST, -np.inf, loss - _HALF),
        np.where(after[has] == _WORST, np.inf, loss + _HALF),
        design,
        groups,
        nodes=_NODES,
        tolerance=_TOLERANCE,
    )
    observed, expected = np.full(len(visits), np.nan), np.full(len(visits), np.nan)
    observed[has] = loss
    mean = design.to_numpy() @ fit.coefficients[list(design.columns)].to_numpy(dtype=np.float64)
    expected[has] = _written(mean, _spread(fit), before[has])
    known = fit.group_effects["stylist"]
    return ConditionLoss(
        observed,
        expected,
        {str(code): float(value) for code, value in known["effect"].items()},
        {str(code): float(value) for code, value in known["sd"].items()},
        fit,
    )


def _spread(fit: MixedFit) -> float:
    """Sd of a loss before it's rounded, of any stylist's visit."""
    reading = fit.reading_sd
    assert isinstance(reading, float)
    return float(np.sqrt(reading**2 + sum(sd**2 for sd in fit.group_sd.values())))


def _written(mean: FloatArray, sd: float, before: FloatArray) -> FloatArray:
    """Mean loss as it's written, in whole points within the scale."""
    losses = np.arange(_WORST - _BEST, _BEST - _WORST)  # passed where it's more than half a point beyond
    beyond = normal_cdf((mean[:, None] - losses - _HALF) / sd)
    low, high = before - _BEST, before - _WORST
    inside = (losses >= low[:, None]) & (losses < high[:, None])
    return np.asarray(low + (beyond * inside).sum(axis=1), dtype=np.float64)


def _told_apart(design: pd.DataFrame) -> pd.DataFrame:
    """Columns that earlier ones don't tell already."""
    kept: list[str] = []
    for name in design.columns:
        if np.linalg.matrix_rank(design[[*kept, name]].to_numpy()) > len(kept):
            kept.append(str(name))
    return design[kept]
