"""Scores of bands and densities, and all the other measures of this folder from one place.

The scores are proper, the lower the better: on average nothing scores lower than the truth.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
from scipy.special import log_ndtr, stdtr

from outcomes.calibration.conformal import conformal_quantile, conformal_rank
from outcomes.calibration.crps import (
    crps_draws,
    crps_grid,
    crps_normal,
    crps_quantiles,
    crps_student,
    pinball,
)
from outcomes.calibration.given import given_positive, given_share
from outcomes.calibration.pit import (
    interval_pit_band,
    interval_pit_heights,
    interval_pit_mean,
    randomised_pit,
    rank_counts_band,
)
from outcomes.calibration.shares import effective_number, kaplan_meier, wilson
from outcomes.errors import InputError

__all__ = [
    "conformal_quantile",
    "conformal_rank",
    "crps_draws",
    "crps_grid",
    "crps_normal",
    "crps_quantiles",
    "crps_student",
    "effective_number",
    "interval_pit_band",
    "interval_pit_heights",
    "interval_pit_mean",
    "interval_score",
    "kaplan_meier",
    "log_score_normal",
    "log_score_rounded",
    "pinball",
    "randomised_pit",
    "rank_counts_band",
    "wilson",
]

FloatArray = npt.NDArray[np.float64]

_LOG_ROOT_2PI = 0.5 * np.log(2.0 * np.pi)


def interval_score(low: npt.ArrayLike, high: npt.ArrayLike, y: npt.ArrayLike, coverage: float) -> FloatArray:
    """Width of a central band, and what lies beyond it times 2 / (1 - coverage).

    Parameters
    ----------
    low, high : array_like
        Ends of the band; either may be infinite, and then so is the score.
    y : array_like
        What was observed; shapes that fit each other, one unit.
    coverage : float
        Of the band, such as 0.8.

    Returns
    -------
    ndarray
        In the unit of y.

    Raises
    ------
    InputError
        A coverage that isn't between 0 and 1; a band that ends below where it begins.

    References
    ----------
    Gneiting, T. & Raftery, A. E. (2007). Strictly proper scoring rules, prediction, and estimation.
    J. Am. Stat. Assoc. 102, 359-378, equation 43. doi:10.1198/016214506000001437
    """
    alpha = 1.0 - given_share("coverage", coverage)
    low, high = np.asarray(low, dtype=np.float64), np.asarray(high, dtype=np.float64)
    if not (low <= high).all():
        raise InputError(
            "a band with low above high, or NaN; low at or below high is expected; swap the ends"
        )
    beyond = np.maximum(np.subtract(low, y), 0.0) + np.maximum(np.subtract(y, high), 0.0)
    return np.asarray((high - low) + 2.0 / alpha * beyond)


def log_score_normal(y: npt.ArrayLike, mean: npt.ArrayLike, sd: npt.ArrayLike) -> FloatArray:
    """Minus the log density of normal distributions.

    Parameters
    ----------
    y, mean, sd : array_like
        Shapes that fit each other, one unit.

    Returns
    -------
    ndarray

    Raises
    ------
    InputError
        An sd that isn't above 0.

    References
    ----------
    Good, I. J. (1952). Rational decisions. J. R. Stat. Soc. B 14, 107-114;
    Gneiting & Raftery (2007), as above.
    """
    sd = given_positive("sd", sd)
    z = np.subtract(y, mean) / sd
    return np.asarray(0.5 * z**2 + np.log(sd) + _LOG_ROOT_2PI)


def log_score_rounded(
    y: npt.ArrayLike,
    mean: npt.ArrayLike,
    scale: npt.ArrayLike,
    df: npt.ArrayLike = np.inf,
    half: float = 0.25,
) -> FloatArray:
    """Minus the log chance of a value that was rounded: that it lies within `half` of what was written.

    Parameters
    ----------
    y : array_like
        What was written.
    mean, scale, df : array_like
        Student's t, moved and stretched; normal where df is infinite. Shapes that fit each other and y.
    half : float
        Half a step of the scale that is written in, 0.25 level by default.

    Returns
    -------
    ndarray
        Infinite where the chance is too small for a number.

    Raises
    ------
    InputError
        A scale, df or half that isn't above 0.

    References
    ----------
    As `log_score_normal`, of the distribution of the written value.
    """
    scale, half = given_positive("scale", scale), float(given_positive("half", half))
    degrees = given_positive("df", df)
    # in the lower tail small chances keep their figures
    z = -np.abs(np.subtract(y, mean))
    upper, lower = (z + half) / scale, (z - half) / scale
    with np.errstate(divide="ignore"):
        if np.isposinf(degrees).all():
            return np.asarray(-log_ndtr(upper) - np.log1p(-np.exp(log_ndtr(lower) - log_ndtr(upper))))
        return np.asarray(-np.log(stdtr(degrees, upper) - stdtr(degrees, lower)))
