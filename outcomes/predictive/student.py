"""Student's t in numpy alone: a normal over its scale; tails and quantiles that are exact far out."""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import cache

import numpy as np
import numpy.typing as npt

from outcomes.errors import InputError
from outcomes.predictive.normal import normal_quantile

__all__ = [
    "check_df",
    "falling_root",
    "few_scales",
    "student_scales",
    "two_sided_quantile",
    "upper_tail",
]

FloatArray = npt.NDArray[np.float64]

_NODES = 60
_FAR = 20.0  # from here on the series of Mills' ratio is exact to rounding
_STEPS = 100


def check_df(df: float | None) -> None:
    """Refuse degrees of freedom that no t has.

    Parameters
    ----------
    df : float or None

    Raises
    ------
    InputError
        Below 1, or not finite.
    """
    if df is not None and not 1.0 <= df < math.inf:
        raise InputError(
            f"degrees of freedom: found {df:g}; expected 1 or more, or none given where the variance is known"
        )


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
        Relative error below 1e-7 from df 1 on.

    Notes
    -----
    With S = sqrt(chi-squared / df) the tail is the mean of the normal's beyond t S. Most of a far one comes
    from small S, where a quadrature for S has few nodes; so the part that falls steeply is taken out:
    (1 + t^2 / df)^(-df / 2) times the mean of exp(y^2 / 2) times the normal tail beyond y = S t /
    sqrt(1 + t^2 / df), which hardly varies.
    """
    if df is None:
        return 0.5 * math.erfc(t / math.sqrt(2.0))
    if t < 0.0:
        return 1.0 - upper_tail(-t, df)
    scales, weights = student_scales(df)
    wider = math.log1p(t * t / df)
    ratios = [_mills(y) for y in (scales * (t * math.exp(-0.5 * wider))).tolist()]
    return math.exp(-0.5 * df * wider) * float(weights @ np.array(ratios))


def _mills(y: float) -> float:
    """exp(y^2 / 2) times the normal tail beyond y, which is 0 or more."""
    if y < _FAR:
        return 0.5 * math.exp(0.5 * y * y) * math.erfc(y / math.sqrt(2.0))
    r = 1.0 / (y * y)
    series = 1.0 - r * (1.0 - 3.0 * r * (1.0 - 5.0 * r * (1.0 - 7.0 * r * (1.0 - 9.0 * r))))
    return series / (y * math.sqrt(2.0 * math.pi))


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
    # Bounds on either tail (Chernoff's, Laurent and Massart's) leave out less than exp(-36).
    part = 36.0 / df
    high = 0.5 * math.log1p(2.0 * math.sqrt(part) + 2.0 * part)
    low = -part - 0.5
    if part < 0.25:
        low = max(low, 0.5 * math.log1p(-2.0 * math.sqrt(part)))
    log_scale = 0.5 * (high + low) + 0.5 * (high - low) * node
    log_density = df * log_scale - 0.5 * df * np.expm1(2.0 * log_scale)
    share = weight * np.exp(log_density)
    return np.exp(log_scale), share / share.sum()


def few_scales(df: float | None) -> tuple[FloatArray, FloatArray]:
    """`student_scales` at as few nodes as a lattice's error warrants: Gauss's for log S (Lanczos).

    Parameters
    ----------
    df : float or None

    Returns
    -------
    scales, weights : ndarray
    """
    scales, weights = student_scales(df)
    # by trial: off by less than 1e-5 in the chance from df 3 on
    few = 1 if df is None else 4 + math.ceil(60.0 / df)
    if few >= len(scales):
        return scales, weights
    log_scale = np.log(scales)
    basis = [np.sqrt(weights)]
    matrix = np.zeros((few, few))
    for i in range(few):
        rest = log_scale * basis[i]
        matrix[i, i] = rest @ basis[i]
        for _ in range(2):  # once more: rounding leaves a little of the earlier ones
            for one in basis:
                rest = rest - (rest @ one) * one
        if i + 1 < few:
            matrix[i, i + 1] = matrix[i + 1, i] = math.sqrt(rest @ rest)
            basis.append(rest / matrix[i, i + 1])
    nodes, vectors = np.linalg.eigh(matrix)
    return np.exp(nodes), vectors[0] ** 2


def two_sided_quantile(outside: float, df: float | None = None) -> float:
    """Value beyond which |t| lies with some chance.

    Parameters
    ----------
    outside : float
        That chance, between 0 and 1.
    df : float, optional
        Of Student's t, 1 or more; by default normal.

    Returns
    -------
    float
    """
    normal = -float(normal_quantile(0.5 * outside))
    if df is None:
        return normal
    tail = 0.5 * outside
    return falling_root(lambda c: math.log(upper_tail(c, df) / tail), normal, 2.0 * normal, 1e-13)


def falling_root(falling: Callable[[float], float], low: float, high: float, within: float) -> float:
    """Where a falling function is 0: the bracket widened if need be, then secants and bisection in turn.

    Parameters
    ----------
    falling : callable
    low, high : float
        Above 0; where to begin.
    within : float
        Of 0: near enough.

    Returns
    -------
    float
    """
    below, above = falling(low), falling(high)
    for _ in range(_STEPS):
        if below >= 0.0 >= above:
            break
        if above > 0.0:
            low, below, high = high, above, 2.0 * high
            above = falling(high)
        else:
            low, high, above = 0.5 * low, low, below
            below = falling(low)
    for step in range(_STEPS):
        if below == above or high - low < 1e-12 * high:
            break
        middle = 0.5 * (low + high) if step % 3 == 2 else low + below * (high - low) / (below - above)
        found = falling(middle)
        if abs(found) < within:
            return middle
        if found > 0.0:
            low, below = middle, found
        else:
            high, above = middle, found
    return 0.5 * (low + high)
