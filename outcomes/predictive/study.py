"""How many clients a comparison of two groups takes: power of the t test, and repeated readings of a client.

Numpy and the standard library only.
"""

from __future__ import annotations

import math

import numpy as np

from outcomes.errors import InputError
from outcomes.predictive.student import student_scales, upper_tail

__all__ = ["design_effect", "group_size", "two_group_power"]

_MOST = 1e7
_ALPHA = 0.05


def two_group_power(size: float, effect: float, alpha: float = _ALPHA) -> float:
    """Power of a two-sided t test of two groups of one size.

    Parameters
    ----------
    size : float
        Of each group, above 1.
    effect : float
        Difference of the means in standard deviations, above 0.
    alpha : float
        Of the test.

    Returns
    -------
    float

    Raises
    ------
    InputError
        A size of 1 or less.

    Notes
    -----
    A noncentral t is a shifted normal over sqrt(chi-squared / df): its tails are averaged over that.
    """
    if not size > 1:
        raise InputError(f"size: found {size:g}; expected more than 1 in each group")
    df = 2.0 * size - 2.0
    low, high = 0.0, 1e4
    for _ in range(60):  # the critical t
        middle = 0.5 * (low + high)
        low, high = (middle, high) if upper_tail(middle, df) > alpha / 2.0 else (low, middle)
    shift = effect * math.sqrt(size / 2.0)
    scales, weights = student_scales(df)
    tails = [upper_tail(high * scale - shift) + upper_tail(high * scale + shift) for scale in scales.tolist()]
    return float(weights @ np.array(tails))


def group_size(effect: float, power: float, alpha: float = _ALPHA) -> float:
    """Size of each of two groups, not rounded, from which on a two-sided t test has some power.

    Parameters
    ----------
    effect : float
        Difference of the means in standard deviations, above 0.
    power : float
        Above alpha, below 1.
    alpha : float
        Of the test.

    Returns
    -------
    float

    Raises
    ------
    InputError
        An effect that isn't above 0, a power out of range.
    """
    if not effect > 0:
        raise InputError(f"effect: found {effect:g}; expected a difference above 0")
    if not alpha < power < 1:
        raise InputError(f"power: found {power:g}; expected a number above {alpha:g} and below 1")
    low, high = 1.0 + 1e-6, 4.0
    while two_group_power(high, effect, alpha) < power and high < _MOST:
        low, high = high, 2.0 * high
    for _ in range(100):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if two_group_power(middle, effect, alpha) < power else (low, middle)
        if high - low < 1e-9 * high:
            break
    return high


def design_effect(readings: float, intraclass: float) -> float:
    """Factor by which several readings of a client tell less than as many clients read once.

    Parameters
    ----------
    readings : float
        Of each client.
    intraclass : float
        Correlation of readings of one client, 0 to 1.

    Returns
    -------
    float

    References
    ----------
    Kish, L. (1965). Survey Sampling. Wiley.
    """
    return 1.0 + (readings - 1.0) * intraclass
