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
_NO_VARIANCE = 1e-12  # share of what its parts have, below which a contrast's variance is rounding
_NODES = 60
_ROUGH = 512  # points that the first guess rests on
_BLOCK = 8192  # points at a time: their arrays fit a core's cache
_LIGHT = 0.02  # weight, over the chance outside, of a node of the scale that the rough lattice will do for
_TINY = 1e-300  # stands for no chance at all
_FAR = 20.0  # from here on the series of Mills' ratio is exact to rounding
_STEPS = 100


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

    Raises
    ------
    InputError
        Fewer than 2 estimates, a reference that isn't one of them.
    """
    if k < 2 or not 0 <= reference < k:
        raise InputError(
            f"contrasts: found {k} estimates and reference {reference}; expected 2 or more, and the "
            "reference's place among them, counted from 0"
        )
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

    Raises
    ------
    InputError
        Fewer than 2 estimates.
    """
    if k < 2:
        raise InputError(f"contrasts: found {k} estimates; expected 2 or more to compare")
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
        As `max_abs_t_quantile`; another number of estimates than the covariance's.
    """
    contrasts = np.atleast_2d(np.asarray(contrasts, dtype=np.float64))
    estimates = np.asarray(estimates, dtype=np.float64)
    if estimates.shape != np.shape(covariance)[:1]:
        raise InputError(
            f"estimates: found shape {estimates.shape}, covariance {np.shape(covariance)}; expected one row "
            "of the covariance for each estimate"
        )
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
        Of Student's t, 1 or more; by default normal.
    points : int
        Of the lattice that the last integrals are averaged over, one of `lattice.SIZES`.
    seed : int
        Shifts the lattice; the same seed gives the same quantile.

    Returns
    -------
    float

    Raises
    ------
    InputError
        Shapes that don't fit, no contrast, one without variance, a coverage that isn't between 0 and 1, too
        few degrees of freedom.

    Notes
    -----
    The box |T| <= c is integrated one variable after the other (Genz), each within the bounds that contrasts
    of which it is the last part leave it. So more contrasts than estimates, as of all pairs, are no harder.
    A single variable, as of one contrast, takes no lattice.

    References
    ----------
    Genz, A. (1992). Numerical computation of multivariate normal probabilities. J. Comput. Graph. Stat. 1,
    141-149. doi:10.1080/10618600.1992.10477010. Genz, A. & Bretz, F. (2009). Computation of multivariate
    normal and t probabilities. Springer. doi:10.1007/978-3-642-01689-9. Sidak, Z. (1967). Rectangular
    confidence regions for the means of multivariate normal distributions. J. Am. Stat. Assoc. 62, 626-633.
    doi:10.1080/01621459.1967.10482935.
    """
    if not 0.0 < coverage < 1.0:
        raise InputError(f"coverage: found {coverage}; expected a number between 0 and 1")
    _check_df(df)
    rows = _triangle(_covariance_of(contrasts, covariance))
    single = _single_quantile(1.0 - coverage, df)
    if rows.shape[1] == 1:
        return single
    scales, weights = _few_scales(df)
    light = weights < _LIGHT * (1.0 - coverage)
    boxes = {n: _Box(rows, lattice(n, rows.shape[1] - 1, seed)) for n in (min(points, _ROUGH), points)}

    def missing(c: float, n: int) -> float:
        """Logarithm of the chance outside, over what it should be: nearly straight in c."""
        inside = boxes[n].average(c * scales[~light], weights[~light])
        inside += boxes[min(n, _ROUGH)].average(c * scales[light], weights[light])
        return math.log(max(1.0 - inside, _TINY) / (1.0 - coverage))

    def rough(c: float) -> float:
        return missing(c, min(points, _ROUGH))

    # Contrasts that move as one need least, independent ones most (Sidak).
    most = _single_quantile(-math.expm1(math.log(coverage) / len(rows)), df)
    if not single < most:  # as for a coverage of next to nothing
        return single

    def between(c: float) -> float:
        return min(max(c, single), most)

    # The rough lattice is off by a few hundredths but tells the slope; the whole one is then asked twice.
    c = between(_root(rough, single, most, 1e-6))
    step = 1e-3 * most
    slope = (rough(c + step) - rough(c)) / step
    if not slope < 0.0:  # so close to certainty that rounding is all there is
        return c
    first = missing(c, points)
    closer = between(c - first / slope)
    second = missing(closer, points)
    if second not in (0.0, first):
        closer -= second * (closer - c) / (second - first)
    return between(closer)


def equivalence(value: float, se: float, margin: float, df: float | None = None) -> Equivalence:
    """Whether a value is surely within a margin stated beforehand.

    Parameters
    ----------
    value, se : float
        Se above 0.
    margin : float
        Above 0, in the value's unit.
    df : float, optional
        Of Student's t, 1 or more; by default normal.

    Returns
    -------
    Equivalence

    Raises
    ------
    InputError
        An se or margin that isn't above 0, too few degrees of freedom.

    References
    ----------
    Schuirmann, D. J. (1987). A comparison of the two one-sided tests procedure and the power approach.
    J. Pharmacokinet. Biopharm. 15, 657-680. doi:10.1007/BF01068419.
    """
    if not (se > 0 and margin > 0):
        raise InputError(f"equivalence: found se {se} and margin {margin}; expected both above 0")
    _check_df(df)
    lower, upper = upper_tail((value + margin) / se, df), upper_tail((margin - value) / se, df)
    return Equivalence(lower, upper, max(lower, upper) < 0.05)


def _check_df(df: float | None) -> None:
    if df is not None and not 1.0 <= df < math.inf:
        raise InputError(
            f"degrees of freedom: found {df:g}; expected 1 or more, or none given where the variance is known"
        )


def _covariance_of(contrasts: FloatArray, covariance: FloatArray) -> FloatArray:
    """Covariance of contrasts, once they are fit to be compared."""
    contrasts = np.atleast_2d(np.asarray(contrasts, dtype=np.float64))
    covariance = np.asarray(covariance, dtype=np.float64)
    fits = contrasts.ndim == 2 and covariance.shape == (contrasts.shape[1],) * 2
    if not fits or not contrasts.size:
        raise InputError(
            f"contrasts: found shape {contrasts.shape}, covariance {covariance.shape}; expected one row or "
            "more and one column for each estimate"
        )
    if not (np.isfinite(contrasts).all() and np.isfinite(covariance).all()):
        raise InputError(
            "contrasts: found a coefficient or covariance that isn't a finite number; leave out what it is of"
        )
    product = contrasts @ covariance @ contrasts.T
    parts = np.abs(contrasts) @ np.sqrt(np.abs(np.diagonal(covariance)))
    bare = np.flatnonzero(~(np.diagonal(product) > _NO_VARIANCE * parts**2))
    if len(bare):
        raise InputError(f"contrasts: found one without variance, row {bare[0] + 1}; leave it out")
    return np.asarray(product, dtype=np.float64)


def _triangle(covariance: FloatArray) -> FloatArray:
    """Rows of unit length whose products are the correlations, each row with as few last parts as can be."""
    sd = np.sqrt(np.diagonal(covariance))
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


class _Box:
    """Chance of |rows @ z| <= c for independent standard normal z, averaged over points."""

    def __init__(self, rows: FloatArray, points: FloatArray) -> None:
        # periodic: a lattice then integrates smooth functions better
        self.folded = np.abs(2.0 * points - 1.0)
        # The box is the same in all of -z: half of the first variable's range tells all, and twice as well.
        self.folded[:1] *= 0.5
        last = np.array([int(np.flatnonzero(np.abs(row) > _LEAST)[-1]) for row in rows])
        ends = rows[np.arange(len(rows)), last]
        bounds = rows / ends[:, None]
        # of each variable: what bounds it on either side, as shares of the earlier ones and of c
        self.steps = [(bounds[last == j, :j], 1.0 / np.abs(ends[last == j])) for j in range(rows.shape[1])]

    def average(self, limits: FloatArray, weights: FloatArray) -> float:
        """Of several c, by weight."""
        at_once = max(1, _BLOCK // self.folded.shape[1])
        blocks = [slice(k, k + at_once) for k in range(0, len(limits), at_once)]
        return float(sum(weights[block] @ self._chances(limits[block]) for block in blocks))

    def _chances(self, limits: FloatArray) -> FloatArray:
        drawn = np.empty((len(self.folded), len(limits), self.folded.shape[1]))
        chance = np.ones(drawn.shape[1:])
        for j, (before, reach) in enumerate(self.steps):
            middle = -np.tensordot(before, drawn[:j], 1)
            side = np.multiply.outer(reach, limits)[:, :, None]
            least = normal_cdf((middle - side).max(axis=0))
            share = np.maximum(normal_cdf((middle + side).min(axis=0)) - least, 0.0)
            chance *= share
            if j < len(drawn):  # nothing depends on the last
                drawn[j] = normal_quantile(least + self.folded[j] * share)
        return np.asarray(chance.mean(axis=1), dtype=np.float64)


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


def _few_scales(df: float | None) -> tuple[FloatArray, FloatArray]:
    """`student_scales` at as few nodes as a lattice's error warrants: Gauss's for log S (Lanczos)."""
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


def _single_quantile(outside: float, df: float | None) -> float:
    """Beyond which |t| lies with this chance."""
    normal = -float(normal_quantile([0.5 * outside])[0])
    if df is None:
        return normal
    tail = 0.5 * outside
    return _root(lambda c: math.log(upper_tail(c, df) / tail), normal, 2.0 * normal, 1e-13)


def _root(falling: Callable[[float], float], low: float, high: float, within: float) -> float:
    """Where a falling function is 0: the bracket widened if need be, then secants and bisection in turn."""
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
