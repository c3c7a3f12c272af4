"""The continuous ranked probability score: how far a predictive distribution lies from what then happened.

In the unit of the observation, the lower the better; of a single point it is the absolute error.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
from scipy.special import betaln, ndtr, stdtr

from outcomes.calibration.given import given_numbers, given_positive
from outcomes.errors import InputError

__all__ = ["crps_draws", "crps_grid", "crps_normal", "crps_quantiles", "crps_student", "pinball"]

FloatArray = npt.NDArray[np.float64]

_ROOT_2_OVER_PI = np.sqrt(2.0 / np.pi)


def crps_normal(y: npt.ArrayLike, mean: npt.ArrayLike, sd: npt.ArrayLike) -> FloatArray:
    """Continuous ranked probability score of normal distributions.

    Parameters
    ----------
    y, mean, sd : array_like
        What was observed, and the distribution; shapes that fit each other, one unit.

    Returns
    -------
    ndarray
        In the unit of y.

    Raises
    ------
    InputError
        An sd that isn't above 0.

    References
    ----------
    Gneiting, T. & Raftery, A. E. (2007). Strictly proper scoring rules, prediction, and estimation.
    J. Am. Stat. Assoc. 102, 359-378. doi:10.1198/016214506000001437
    """
    sd = given_positive("sd", sd)
    z = np.subtract(y, mean) / sd
    return np.asarray(
        sd * (z * (2.0 * ndtr(z) - 1.0) + _ROOT_2_OVER_PI * np.exp(-0.5 * z**2) - 1.0 / np.sqrt(np.pi))
    )


def crps_student(
    y: npt.ArrayLike, mean: npt.ArrayLike, scale: npt.ArrayLike, df: npt.ArrayLike
) -> FloatArray:
    """Continuous ranked probability score of Student's t, moved and stretched.

    Parameters
    ----------
    y, mean, scale, df : array_like
        What was observed, and the distribution; shapes that fit each other. `df` above 1;
        infinite: normal.

    Returns
    -------
    ndarray
        In the unit of y.

    Raises
    ------
    InputError
        A scale that isn't above 0, or a df that isn't above 1: the score is infinite there.

    References
    ----------
    Jordan, A., Krüger, F. & Lerch, S. (2019). Evaluating probabilistic forecasts with scoringRules.
    J. Stat. Softw. 90 (12). doi:10.18637/jss.v090.i12
    """
    degrees = np.asarray(df, dtype=np.float64)
    if np.isposinf(degrees).all():
        return crps_normal(y, mean, scale)
    scale = given_positive("scale", scale)
    more = given_positive("df less 1", degrees - 1.0)
    z = np.subtract(y, mean) / scale
    log_density = -0.5 * (degrees + 1.0) * np.log1p(z**2 / degrees)
    density = np.exp(log_density - 0.5 * np.log(degrees) - betaln(0.5 * degrees, 0.5))
    spread = np.exp(betaln(0.5, degrees - 0.5) - 2.0 * betaln(0.5 * degrees, 0.5))
    tails = density * (degrees + z**2) - np.sqrt(degrees) * spread
    return np.asarray(scale * (z * (2.0 * stdtr(degrees, z) - 1.0) + 2.0 * tails / more))


def crps_draws(draws: npt.ArrayLike, y: npt.ArrayLike, *, fair: bool = False) -> FloatArray:
    """Continuous ranked probability score of draws: E|X - y| - E|X - X'| / 2.

    Parameters
    ----------
    draws : array_like (..., m)
    y : array_like (...)
    fair : bool
        False: the draws are the distribution, pairs over m squared. True: they are a sample of it, pairs over
        m (m - 1), which is unbiased for the distribution drawn from.

    Returns
    -------
    ndarray (...)
        In the unit of y.

    Raises
    ------
    InputError
        No draws; a single one with `fair`.

    References
    ----------
    Gneiting & Raftery (2007), as above, equation 21; for `fair`: Ferro, C. A. T. (2014). Fair scores for
    ensemble forecasts. Q. J. R. Meteorol. Soc. 140, 1917-1923. doi:10.1002/qj.2270
    """
    ordered = np.sort(np.asarray(draws, dtype=np.float64), axis=-1)
    m = ordered.shape[-1]
    if m < 1 + fair:
        raise InputError(f"draws: found {m}; {1 + fair} or more are expected; draw again")
    off = np.abs(ordered - np.asarray(y, dtype=np.float64)[..., None]).mean(axis=-1)
    # the sum of all differences, each pair once: draw i stands above i others and below m - 1 - i
    apart = ordered @ (2.0 * np.arange(m) - (m - 1.0))
    return np.asarray(off - apart / (m * (m - 1.0 if fair else m)))


def crps_grid(levels: npt.ArrayLike, chances: npt.ArrayLike, y: npt.ArrayLike) -> FloatArray:
    """Continuous ranked probability score of distributions on a grid: integral of (F(x) - 1{y <= x}) squared.

    Parameters
    ----------
    levels : array_like (L,)
        The grid, increasing.
    chances : array_like (n, L)
        Chances of its points; each row adds up to 1.
    y : array_like (n,)
        On the grid or not, within it or beyond.

    Returns
    -------
    ndarray (n,)
        Exact, in the unit of the levels.

    Raises
    ------
    InputError
        A grid that doesn't increase; chances below 0 or that don't add up to 1; shapes that don't fit.

    References
    ----------
    Matheson, J. E. & Winkler, R. L. (1976). Scoring rules for continuous probability distributions.
    Management Science 22, 1087-1096. doi:10.1287/mnsc.22.10.1087
    """
    grid = given_numbers("levels", levels, (-1,))
    seen = given_numbers("y", y, (-1,))
    chance = given_numbers("chances", chances, (len(seen), len(grid)))
    width = np.diff(grid)
    if not len(grid) or (width <= 0.0).any():
        raise InputError("levels that don't increase; each above the one before is expected; sort them")
    if (chance < -1e-9).any() or (np.abs(chance.sum(axis=1) - 1.0) > 1e-6).any():
        raise InputError("chances below 0, or rows that don't add up to 1; divide each row by its sum")
    cdf = np.cumsum(chance, axis=1)[:, :-1]
    # of each cell the part that lies below y, where the indicator is 0
    below = np.clip(seen[:, None] - grid[:-1], 0.0, width)
    inside = (below * cdf**2 + (width - below) * (1.0 - cdf) ** 2).sum(axis=1)
    return np.asarray(inside + np.maximum(grid[0] - seen, 0.0) + np.maximum(seen - grid[-1], 0.0))


def crps_quantiles(levels: npt.ArrayLike, quantiles: npt.ArrayLike, y: npt.ArrayLike) -> FloatArray:
    """Continuous ranked probability score from a few quantiles: twice the pinball loss averaged over levels.

    The mean loss at level t falls to 0 at t = 0 and 1, so weights are such that t (1 - t) times a polynomial
    with as many terms as there are levels is averaged exactly. With .05, .1, .25, .5, .75, .9 and .95 the
    mean score of a normal, uniform or exponential distribution is then right to 0.02 %.

    Parameters
    ----------
    levels : array_like (L,)
        Between 0 and 1, increasing.
    quantiles : array_like (n, L)
    y : array_like (n,)

    Returns
    -------
    ndarray (n,)
        In the unit of y.

    Raises
    ------
    InputError
        Levels so uneven that one would count below 0; shapes that don't fit.

    References
    ----------
    Laio, F. & Tamea, S. (2007). Verification tools for probabilistic forecasts of continuous hydrological
    variables. Hydrol. Earth Syst. Sci. 11, 1267-1277. doi:10.5194/hess-11-1267-2007
    """
    at = given_numbers("levels", levels, (-1,))
    seen = given_numbers("y", y, (-1,))
    told = given_numbers("quantiles", quantiles, (len(seen), len(at)))
    nodes, parts = np.polynomial.legendre.leggauss(len(at) + 2)
    powers = np.arange(len(at))[:, None]
    whole = (0.125 * parts * (1.0 - nodes**2) * nodes**powers).sum(axis=1)
    weights = np.linalg.solve((2.0 * at - 1.0) ** powers * at * (1.0 - at), whole)
    if (weights < 0.0).any():
        raise InputError(f"levels {at.tolist()}; evenly spread ones between 0 and 1 are expected; add some")
    return np.asarray(2.0 * pinball(seen[:, None], told, at) @ weights)


def pinball(y: npt.ArrayLike, quantile: npt.ArrayLike, level: npt.ArrayLike) -> FloatArray:
    """Pinball loss of a quantile; its mean is least at the true one.

    Parameters
    ----------
    y, quantile : array_like
        In one unit; shapes that fit each other and `level`.
    level : array_like
        Chance of falling below the quantile, 0 to 1.

    Returns
    -------
    ndarray
        In the unit of y.

    References
    ----------
    Koenker, R. & Bassett, G. (1978). Regression quantiles. Econometrica 46, 33-50. doi:10.2307/1913643
    """
    off = np.subtract(y, quantile)
    return np.asarray(off * np.subtract(level, off < 0.0))
