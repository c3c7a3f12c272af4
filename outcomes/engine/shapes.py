"""The shape g(x; theta) of progress over exposure, with its derivatives by log theta.

Exposure is counted in reference exposures, so that g(1) = 1 whatever theta is and the rate keeps its
meaning: progress per reference exposure.

power        g = x ** theta
saturating   g = (1 - exp(-x / theta)) / (1 - exp(-1 / theta))
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from outcomes.errors import InputError

FloatArray = npt.NDArray[np.float64]

FAMILIES = ("power", "saturating")


class Shape(NamedTuple):
    """g and its first and second derivative by log theta, arrays shaped like the exposure.

    Attributes
    ----------
    value : ndarray
        g.
    first, second : ndarray
        dg / d log theta and d2g / d (log theta)2.
    """

    value: FloatArray
    first: FloatArray
    second: FloatArray


def shape_at(family: str, exposure: FloatArray, theta: float) -> Shape:
    """Evaluate g and its derivatives by log theta.

    Parameters
    ----------
    family : {"power", "saturating"}
    exposure : ndarray
        In reference exposures, 0 or more.
    theta : float
        Above 0; for "saturating" in reference exposures.

    Returns
    -------
    Shape

    Raises
    ------
    InputError
        An unknown family.
    """
    if family == "power":
        return _power(exposure, theta)
    if family == "saturating":
        return _saturating(exposure, theta)
    raise InputError(f"shape {family!r}; one of {', '.join(FAMILIES)} is expected")


def _power(exposure: FloatArray, theta: float) -> Shape:
    positive = exposure > 0
    log_x = np.log(np.where(positive, exposure, 1.0))
    g = np.where(positive, np.exp(theta * log_x), 0.0)
    slope = theta * log_x  # d log g / d log theta
    return Shape(g, g * slope, g * (slope * slope + slope))


def _saturating(exposure: FloatArray, theta: float) -> Shape:
    n0, n1, n2 = _rise(exposure, theta)
    m0, m1, m2 = _rise(np.ones(1), theta)
    g = n0 / m0
    first = (n1 - g * m1) / m0
    second = (n2 - 2.0 * first * m1 - g * m2) / m0
    return Shape(g, first, second)


def _rise(exposure: FloatArray, theta: float) -> Shape:
    """1 - exp(-x / theta) and its derivatives by log theta."""
    ratio = exposure / theta
    left = np.exp(-ratio)
    return Shape(-np.expm1(-ratio), -ratio * left, ratio * (1.0 - ratio) * left)
