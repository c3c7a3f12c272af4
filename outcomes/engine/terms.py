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
from scipy.special import erfcx, log_ndtr, ndtr

FloatArray = npt.NDArray[np.float64]
BoolArray = npt.NDArray[np.bool_]

# Stands for an open bound: large enough that phi vanishes, small enough that its cube stays finite.
OPEN = 1e30
_FAR = 1e4  # standard deviations
_LOG_ROOT_2PI = 0.5 * np.log(2.0 * np.pi)


class MeanTerms(NamedTuple):
    """l and its first two derivatives by the mean.

    Attributes
    ----------
    value : ndarray (n, k)
        l.
    m, mm : ndarray (n, k)
        dl/dm and d2l/dm2.
    """

    value: FloatArray
    m: FloatArray
    mm: FloatArray


class AllTerms(NamedTuple):
    """l with derivatives by the mean (m) to third order and by the log sd (w).

    Attributes
    ----------
    value : ndarray (n, k)
        l.
    m, mm, mmm, w, ww, mw, mmw : ndarray (n, k)
        Derivatives; each letter is one more by m or by w.
    """

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

    Returns
    -------
    MeanTerms
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
    far, near = _out_of_sight(z_lower, z_upper)
    if far.any():
        s = np.broadcast_to(sd, far.shape)[far]
        terms.m[far] = near[far] / s
        terms.mm[far] = -1.0 / (s * s)
    if exact.any():
        z, s = z_lower[exact], sd[exact]
        terms.value[exact] = -0.5 * z * z - _LOG_ROOT_2PI - np.log(s)
        terms.m[exact] = z / s
        terms.mm[exact] = -1.0 / (s * s)
    return terms


def all_terms(
    lower: FloatArray, upper: FloatArray, exact: BoolArray, mean: FloatArray, sd: FloatArray
) -> AllTerms:
    """Value and all derivatives that the outer gradient needs.

    Parameters
    ----------
    lower, upper, exact, mean, sd : ndarray
        As for `mean_terms`.

    Returns
    -------
    AllTerms
    """
    if exact.all():
        z, inverse = (lower - mean) / sd, 1.0 / sd
        square = z * z
        none, curvature = np.zeros_like(z), np.broadcast_to(-inverse * inverse, z.shape)
        return AllTerms(
            value=-0.5 * square - _LOG_ROOT_2PI - np.log(sd),
            m=z * inverse,
            mm=curvature,
            mmm=none,
            w=square - 1.0,
            ww=-2.0 * square,
            mw=-2.0 * z * inverse,
            mmw=-2.0 * curvature,
        )
    z_lower, z_upper = (lower - mean) / sd, (upper - mean) / sd
    log_p, r_lower, r_upper = _ratios(z_lower, z_upper)
    a0 = r_upper - r_lower
    r_lower, r_upper = z_lower * r_lower, z_upper * r_upper
    a1 = r_upper - r_lower
    r_lower, r_upper = z_lower * r_lower, z_upper * r_upper
    a2 = r_upper - r_lower
    a3 = z_upper * r_upper - z_lower * r_lower
    inverse = 1.0 / sd
    squared = a0 * a0
    # dA_n/dm = (A_{n+1} - n A_{n-1} + A_0 A_n) / tau;  dA_n/dw = A_{n+2} - n A_n + A_1 A_n
    by_w = a2 + a0 * a1 - a0
    terms = AllTerms(
        value=log_p,
        m=-a0 * inverse,
        mm=-(a1 + squared) * inverse**2,
        mmm=-(a2 - a0 + 3.0 * a0 * a1 + 2.0 * a0 * squared) * inverse**3,
        w=-a1,
        ww=-(a3 - a1 + a1 * a1),
        mw=-by_w * inverse,
        mmw=-(a3 - 3.0 * a1 + a1 * a1 + 2.0 * a0 * by_w) * inverse**2,
    )
    far, near = _out_of_sight(z_lower, z_upper)
    if far.any():
        z, s = near[far], np.broadcast_to(sd, far.shape)[far]
        terms.m[far] = z / s
        terms.mm[far] = -1.0 / (s * s)
        terms.mmm[far] = 0.0
        terms.w[far] = z * z
        terms.ww[far] = -2.0 * z * z
        terms.mw[far] = -2.0 * z / s
        terms.mmw[far] = 2.0 / (s * s)
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
        _tail(z_lower, z_upper, tiny, log_p, r_lower, r_upper)
    return log_p, r_lower, r_upper


def _tail(
    z_lower: FloatArray,
    z_upper: FloatArray,
    where: BoolArray,
    log_p: FloatArray,
    r_lower: FloatArray,
    r_upper: FloatArray,
) -> None:
    """The same where P underflows, in place: both bounds lie far out on one side."""
    low, high = z_lower[where], z_upper[where]
    right = low > 0
    near, far = np.where(right, low, -high), np.where(right, high, -low)
    log_near = log_ndtr(-near)
    beyond = np.exp(log_ndtr(-far) - log_near)
    # two bounds that are one number to rounding would divide by 0
    inside = np.maximum(1.0 - beyond, 1e-300)
    log_p[where] = log_near + np.log(inside)
    at_near = np.sqrt(2.0 / np.pi) / erfcx(near / np.sqrt(2.0)) / inside
    at_far = at_near * np.exp(np.maximum(0.5 * (near - far) * (near + far), -745.0))
    r_lower[where] = np.where(right, at_near, at_far)
    r_upper[where] = np.where(right, at_far, at_near)


def _out_of_sight(z_lower: FloatArray, z_upper: FloatArray) -> tuple[BoolArray, FloatArray]:
    """Where the nearer bound is so far away that it acts like an exact reading, and its z."""
    near = np.where(z_lower > 0, z_lower, z_upper)
    return ((z_lower > _FAR) | (z_upper < -_FAR)), near
