"""Log probability that a Gaussian reading falls between two bounds, with its derivatives.

For a reading of mean m and sd tau = exp(w) the contribution is

    l(m, w) = log[Phi((upper - m) / tau) - Phi((lower - m) / tau)],

or the log density where the bounds are equal. With z the standardised bounds, P the probability and

    A_n = [z_u**n phi(z_u) - z_l**n phi(z_l)] / P

all derivatives are polynomials in A_0 .. A_3; they are worked out in the comments below.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt
from scipy.special import log_ndtr, ndtr

FloatArray = npt.NDArray[np.float64]
BoolArray = npt.NDArray[np.bool_]

# Stands for an open bound: large enough that phi vanishes, small enough that its cube stays finite.
OPEN = 1e30
_LOG_ROOT_2PI = 0.5 * np.log(2.0 * np.pi)


class MeanTerms(NamedTuple):
    """l and its first two derivatives by the mean."""

    value: FloatArray
    m: FloatArray
    mm: FloatArray


class AllTerms(NamedTuple):
    """l with derivatives by the mean (m) to third order and by the log sd (w)."""

    value: FloatArray
    m: FloatArray
    mm: FloatArray
    mmm: FloatArray
    w: FloatArray
    ww: FloatArray
    mw: FloatArray
    mmw: FloatArray


def mean_terms(
    lower: FloatArray, upper: FloatArray, exact: BoolArray, mean: FloatArray, sd: FloatArray
) -> MeanTerms:
    """Value and the derivatives that a Newton step by the mean needs.

    Parameters
    ----------
    lower, upper : ndarray (n, 1)
        Bounds in the units of the reading; open ones as -OPEN and OPEN. An exact reading stands in
        `lower`, its `upper` is OPEN (so that the interval formulas stay finite before they are replaced).
    exact : ndarray (n,) of bool
        Which readings are exact.
    mean : ndarray (n, k)
    sd : ndarray (n, 1)
    """
    if exact.all():
        z = (lower - mean) / sd
        curvature = np.broadcast_to(-1.0 / (sd * sd), z.shape)
        return MeanTerms(-0.5 * z * z - _LOG_ROOT_2PI - np.log(sd), z / sd, curvature)
    z_lower, z_upper = (lower - mean) / sd, (upper - mean) / sd
    log_p, r_lower, r_upper = _ratios(z_lower, z_upper)
    a0 = r_upper - r_lower
    a1 = z_upper * r_upper - z_lower * r_lower
    # dA_0/dm = (A_1 + A_0**2) / tau
    terms = MeanTerms(log_p, -a0 / sd, -(a1 + a0 * a0) / (sd * sd))
    if exact.any():
        z, s = z_lower[exact], sd[exact]
        terms.value[exact] = -0.5 * z * z - _LOG_ROOT_2PI - np.log(s)
        terms.m[exact] = z / s
        terms.mm[exact] = -1.0 / (s * s)
    return terms


def all_terms(
    lower: FloatArray, upper: FloatArray, exact: BoolArray, mean: FloatArray, sd: FloatArray
) -> AllTerms:
    """Value and all derivatives that the outer gradient needs; arguments as for `mean_terms`."""
    z_lower, z_upper = (lower - mean) / sd, (upper - mean) / sd
    log_p, r_lower, r_upper = _ratios(z_lower, z_upper)
    a0 = r_upper - r_lower
    r_lower, r_upper = z_lower * r_lower, z_upper * r_upper
    a1 = r_upper - r_lower
    r_lower, r_upper = z_lower * r_lower, z_upper * r_upper
    a2 = r_upper - r_lower
    a3 = z_upper * r_upper - z_lower * r_lower
    inverse = 1.0 / sd
    # dA_n/dm = (A_{n+1} - n A_{n-1} + A_0 A_n) / tau;  dA_n/dw = A_{n+2} - n A_n + A_1 A_n
    by_w = a2 + a0 * a1 - a0
    terms = AllTerms(
        value=log_p,
        m=-a0 * inverse,
        mm=-(a1 + a0 * a0) * inverse**2,
        mmm=-(a2 - a0 + 3.0 * a0 * a1 + 2.0 * a0**3) * inverse**3,
        w=-a1,
        ww=-(a3 - a1 + a1 * a1),
        mw=-by_w * inverse,
        mmw=-(a3 - 3.0 * a1 + a1 * a1 + 2.0 * a0 * by_w) * inverse**2,
    )
    if exact.any():
        z, s = z_lower[exact], np.broadcast_to(sd, z_lower.shape)[exact]
        terms.value[exact] = -0.5 * z * z - _LOG_ROOT_2PI - np.log(s)
        terms.m[exact] = z / s
        terms.mm[exact] = -1.0 / (s * s)
        terms.mmm[exact] = 0.0
        terms.w[exact] = z * z - 1.0
        terms.ww[exact] = -2.0 * z * z
        terms.mw[exact] = -2.0 * z / s
        terms.mmw[exact] = 2.0 / (s * s)
    return terms


def _ratios(z_lower: FloatArray, z_upper: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
    """log P and phi(z) / P at both bounds, without cancellation in the upper tail."""
    # Phi is accurate relative to itself on the left only, so an interval on the right is mirrored
    mirrored = z_lower + z_upper > 0
    p = ndtr(np.where(mirrored, -z_lower, z_upper)) - ndtr(np.where(mirrored, -z_upper, z_lower))
    tiny = p < 1e-280
    p = np.where(tiny, 1.0, p)
    log_p = np.log(p)
    scale = np.exp(-_LOG_ROOT_2PI) / p
    r_lower = np.exp(-0.5 * z_lower * z_lower) * scale
    r_upper = np.exp(-0.5 * z_upper * z_upper) * scale
    if tiny.any():
        far_lower, far_upper = z_lower[tiny], z_upper[tiny]
        flip = far_lower + far_upper > 0
        high = log_ndtr(np.where(flip, -far_lower, far_upper))
        low = log_ndtr(np.where(flip, -far_upper, far_lower))
        # np.maximum: two bounds that are one number to rounding would give log(0)
        far = high + np.log(-np.expm1(np.minimum(low - high, -1e-300)))
        log_p[tiny] = far
        r_lower[tiny] = np.exp(np.minimum(-0.5 * far_lower**2 - _LOG_ROOT_2PI - far, 300.0))
        r_upper[tiny] = np.exp(np.minimum(-0.5 * far_upper**2 - _LOG_ROOT_2PI - far, 300.0))
    return log_p, r_lower, r_upper
