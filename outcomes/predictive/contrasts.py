"""Comparisons whose bands hold together: the largest |t| of a joint normal, or Student's t.

Numpy and the standard library only, so that shades can be compared at the chair without loading scipy.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache

import numpy as np
import numpy.typing as npt

from outcomes.errors import InputError
from outcomes.predictive.lattice import lattice
from outcomes.predictive.normal import normal_cdf, normal_quantile

__all__ = [
    "Comparisons",
    "Equivalence",
    "against",
    "equivalence",
    "max_abs_t_quantile",
    "pairs",
    "simultaneous",
    "student_scales",
    "upper_tail",
]

FloatArray = npt.NDArray[np.float64]

_LEAST = 1e-9  # share of a contrast's length below which it doesn't depend on a variable
_FARTHEST = 60.0
_NODES = 60


@dataclass(frozen=True, eq=False)
class Comparisons:
    """Contrasts with bands that all hold at once.

    Attributes
    ----------
    value, se, low, high : ndarray (m,)
    critical : float
        Standard errors from a value to the ends of its band.
    coverage : float
        Of all bands together.
    """

    value: FloatArray
    se: FloatArray
    low: FloatArray
    high: FloatArray
    critical: float
    coverage: float


@dataclass(frozen=True)
class Equivalence:
    """Two one-sided tests.

    Attributes
    ----------
    p_lower, p_upper : float
        Of a value at or below minus the margin, and at or above the margin.
    equivalent : bool
        Whether both are below 0.05.
    """

    p_lower: float
    p_upper: float
    equivalent: bool


def against(k: int, reference: int = 0) -> FloatArray:
    """Each of k estimates less the reference, (k - 1, k).

    Parameters
    ----------
    k : int
        2 or more.
    reference : int
        Its place.

    Returns
    -------
    ndarray (k - 1, k)
    """
    contrasts = np.delete(np.eye(k), reference, axis=0)
    contrasts[:, reference] = -1.0
    return contrasts


def pairs(k: int) -> FloatArray:
    """Each of k estimates less every earlier one, (k (k - 1) / 2, k).

    Parameters
    ----------
    k : int
        2 or more.

    Returns
    -------
    ndarray (k (k - 1) / 2, k)
    """
    one, other = np.tril_indices(k, -1)
    return np.asarray(np.eye(k)[one] - np.eye(k)[other])


def simultaneous(
    estimates: FloatArray,
    covariance: FloatArray,
    contrasts: FloatArray,
    coverage: float = 0.95,
    df: float | None = None,
) -> Comparisons:
    """Contrasts of estimates within bands that all hold at once.

    Parameters
    ----------
    estimates : ndarray (k,)
    covariance : ndarray (k, k)
    contrasts : ndarray (m, k)
    coverage : float
        Of all bands together.
    df : float, optional
        Degrees of freedom of the variance that the covariance shares; by default it's known.

    Returns
    -------
    Comparisons

    Raises
    ------
    InputError
        As `max_abs_t_quantile`.
    """
    critical = max_abs_t_quantile(covariance, contrasts, coverage, df)
    value = contrasts @ estimates
    se = np.sqrt(np.einsum("ij,jk,ik->i", contrasts, covariance, contrasts))
    return Comparisons(value, se, value - critical * se, value + critical * se, critical, coverage)


def max_abs_t_quantile(
    covariance: FloatArray,
    contrasts: FloatArray,
    coverage: float,
    df: float | None = None,
    points: int = 8192,
    seed: int = 1,
) -> float:
    """Quantile of the largest |t| of some contrasts.

    Parameters
    ----------
    covariance : ndarray (k, k)
        Of the estimates; may be singular.
    contrasts : ndarray (m, k)
        None of variance 0.
    coverage : float
        Between 0 and 1.
    df : float, optional
        Of Student's t; by default normal.
    points : int
        Of the lattice that the last integrals are averaged over.
    seed : int
        Shifts the lattice.

    Returns
    -------
    float

    Raises
    ------
    InputError
        Shapes that don't fit, a contrast without variance, a coverage that isn't between 0 and 1.

    Notes
    -----
    The box |T| <= c is integrated one variable after the other (Genz), each within the bounds that contrasts
    of which it is the last part leave it. So more contrasts than estimates, as of all pairs, are no harder.

    References
    ----------
    Genz, A. (1992). Numerical computation of multivariate normal probabilities. J. Comput. Graph. Stat. 1,
    141-149. doi:10.1080/10618600.1992.10477010. Genz, A. & Bretz, F. (2009). Computation of multivariate
    normal and t probabilities. Springer. doi:10.1007/978-3-642-01689-9.
    """
    contrasts = np.atleast_2d(np.asarray(contrasts, dtype=np.float64))
    covariance = np.asarray(covariance, dtype=np.float64)
    k = len(covariance)
    if covariance.shape != (k, k) or contrasts.shape[1] != k or not len(contrasts):
        raise InputError(
            f"contrasts: found shape {contrasts.shape}, covariance {covariance.shape}; expected "
            "one column for each estimate"
        )
    if not 0.0 < coverage < 1.0:
        raise InputError(f"coverage: found {coverage}; expected a number between 0 and 1")
    rows = _triangle(contrasts @ covariance @ contrasts.T)
    last = np.array([int(np.flatnonzero(np.abs(row) > _LEAST)[-1]) for row in rows])
    variables = rows.shape[1]
    # periodic: a lattice then integrates smooth functions better
    folded = np.abs(2.0 * lattice(points, variables, seed) - 1.0)
    scales, weights = student_scales(df)

    def inside(c: float) -> float:
        return float(sum(weight * box(c * scale) for scale, weight in zip(scales, weights, strict=True)))

    def box(c: float) -> float:
        chance, drawn = np.ones(points), np.zeros((variables, points))
        for j in range(variables):
            low, high = np.full(points, -np.inf), np.full(points, np.inf)
            for row in rows[last == j]:
                before = row[:j] @ drawn[:j]
                ends = (-c - before) / row[j], (c - before) / row[j]
                low = np.maximum(low, np.minimum(*ends))
                high = np.minimum(high, np.maximum(*ends))
            least, most = normal_cdf(low), normal_cdf(high)
            share = np.maximum(most - least, 0.0)
            chance *= share
            drawn[j] = normal_quantile(least + folded[j] * share)
        return float(chance.mean())

    return _root(inside, coverage)


def equivalence(value: float, se: float, margin: float, df: float | None = None) -> Equivalence:
    """Whether a value is surely within a margin stated beforehand.

    Parameters
    ----------
    value, se : float
        Se above 0.
    margin : float
        Above 0, in the value's unit.
    df : float, optional
        Of Student's t; by default normal.

    Returns
    -------
    Equivalence

    Raises
    ------
    InputError
        An se or margin that isn't above 0.

    References
    ----------
    Schuirmann, D. J. (1987). A comparison of the two one-sided tests procedure and the power approach.
    J. Pharmacokinet. Biopharm. 15, 657-680. doi:10.1007/BF01068419.
    """
    if not (se > 0 and margin > 0):
        raise InputError(f"equivalence: found se {se} and margin {margin}; expected both above 0")
    lower, upper = upper_tail((value + margin) / se, df), upper_tail((margin - value) / se, df)
    return Equivalence(lower, upper, max(lower, upper) < 0.05)


def _triangle(covariance: FloatArray) -> FloatArray:
    """Rows of unit length whose products are the correlations, each row with as few last parts as can be."""
    sd = np.sqrt(np.diagonal(covariance))
    if not (sd > 0).all():
        raise InputError("contrasts: found one without variance; leave it out")
    left = covariance / np.outer(sd, sd)
    m = len(left)
    rows = np.zeros((m, m))
    used = 0
    # the contrast with most left to explain comes next (pivoted Cholesky)
    for _ in range(m):
        rest = np.diagonal(left).copy()
        pivot = int(np.argmax(rest))
        if rest[pivot] < _LEAST:
            break
        rows[:, used] = left[:, pivot] / math.sqrt(rest[pivot])
        left = left - np.outer(rows[:, used], rows[:, used])
        used += 1
    return rows[:, :used]


def upper_tail(t: float, df: float | None = None) -> float:
    """Chance of more than t.

    Parameters
    ----------
    t : float
    df : float, optional
        Of Student's t; by default normal.

    Returns
    -------
    float
    """
    if df is None:
        return 0.5 * math.erfc(t / math.sqrt(2.0))
    scales, weights = student_scales(df)
    tails = [0.5 * math.erfc(t * scale / math.sqrt(2.0)) for scale in scales.tolist()]
    return float(weights @ np.array(tails))


@cache
def _legendre() -> tuple[FloatArray, FloatArray]:
    return np.polynomial.legendre.leggauss(_NODES)


def student_scales(df: float | None) -> tuple[FloatArray, FloatArray]:
    """sqrt(chi-squared / df), which a t is a normal over, at the nodes of a quadrature (Gauss-Legendre).

    Parameters
    ----------
    df : float or None
        None: 1, for the normal.

    Returns
    -------
    scales, weights : ndarray
        Weights add up to 1.
    """
    if df is None:
        return np.ones(1), np.ones(1)
    node, weight = _legendre()
    wide = 12.0 / math.sqrt(2.0 * df) + 3.0 / df
    log_scale = wide * node - 1.0 / df  # the logarithm leans to the left
    log_density = df * log_scale - 0.5 * df * np.expm1(2.0 * log_scale)
    share = weight * np.exp(log_density)
    return np.exp(log_scale), share / share.sum()


def _root(inside: Callable[[float], float], coverage: float) -> float:
    """Where a rising function reaches the coverage: bisection, ended by secants."""
    low, high = 0.0, 4.0
    while inside(high) < coverage and high < _FARTHEST:
        low, high = high, 2.0 * high
    below, above = inside(low) - coverage, inside(high) - coverage
    for step in range(60):
        middle = 0.5 * (low + high) if step % 3 == 0 else low - below * (high - low) / (above - below)
        found = inside(middle) - coverage
        if abs(found) < 1e-10 or high - low < 1e-8:
            break
        if found < 0:
            low, below = middle, found
        else:
            high, above = middle, found
    return float(middle)
