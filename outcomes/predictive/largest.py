"""The largest |t| of a joint normal or Student's t: how wide bands are that all hold at once.

Numpy and the standard library only, so that shades can be compared at the chair without loading scipy.
"""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from outcomes.errors import InputError
from outcomes.predictive.lattice import lattice
from outcomes.predictive.normal import normal_cdf, normal_quantile
from outcomes.predictive.student import check_df, falling_root, few_scales, two_sided_quantile

__all__ = ["max_abs_t_quantile"]

FloatArray = npt.NDArray[np.float64]

_LEAST = 1e-9  # share of a contrast's length below which it doesn't depend on a variable
_NO_VARIANCE = 1e-12  # share of what its parts have, below which a contrast's variance is rounding
_ROUGH = 512  # points that the first guess rests on
_BLOCK = 8192  # points at a time: their arrays fit a core's cache
_LIGHT = 0.02  # weight, over the chance outside, of a node of the scale that the rough lattice will do for
_TINY = 1e-300  # stands for no chance at all


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
    check_df(df)
    rows = _triangle(_covariance_of(contrasts, covariance))
    single = two_sided_quantile(1.0 - coverage, df)
    if rows.shape[1] == 1:
        return single
    scales, weights = few_scales(df)
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
    most = two_sided_quantile(-math.expm1(math.log(coverage) / len(rows)), df)
    if not single < most:  # as for a coverage of next to nothing
        return single

    def between(c: float) -> float:
        return min(max(c, single), most)

    # The rough lattice is off by a few hundredths but tells the slope; the whole one is then asked twice.
    c = between(falling_root(rough, single, most, 1e-6))
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
