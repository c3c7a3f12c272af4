"""A control chart of residuals: an exponentially weighted mean, its limits, and how long it stays quiet.

Serves to see a change within a quarter, where one visit says little and fifty in a row say much.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from outcomes.errors import InputError

__all__ = ["LIMIT", "WEIGHT", "Chart", "chart", "run_length"]

FloatArray = npt.NDArray[np.float64]

WEIGHT, LIMIT = 0.2, 2.962
"""Of the newest value, and the limits in standard errors: a false signal once in some 500 visits."""

_NODES = 120


@dataclass(frozen=True, eq=False)
class Chart:
    """Residuals of one stylist in order of time.

    Attributes
    ----------
    mean : ndarray (n,)
        Exponentially weighted, from 0.
    limit : float
        Same units: beyond it, to either side, stands a signal.
    signals : ndarray of bool (n,)
    run_length : float
        Visits from one false signal to the next, on average, while nothing changes.
    """

    mean: FloatArray
    limit: float
    signals: npt.NDArray[np.bool_]
    run_length: float


def chart(residuals: npt.ArrayLike, weight: float = WEIGHT, limit: float = LIMIT) -> Chart:
    """Chart standardised residuals.

    Parameters
    ----------
    residuals : array_like (n,)
        Independent with mean 0 and sd 1 while nothing changes; in order of time.
    weight : float
        Of the newest, above 0, at most 1.
    limit : float
        In standard errors of the weighted mean in the long run, above 0.

    Returns
    -------
    Chart

    References
    ----------
    Roberts, S. W. (1959). Control chart tests based on geometric moving averages. Technometrics 1, 239-250.
    """
    from scipy.signal import lfilter

    _check(weight, limit)
    values = np.asarray(residuals, dtype=np.float64)
    mean = np.asarray(lfilter([weight], [1.0, weight - 1.0], values), dtype=np.float64)
    end = limit * np.sqrt(weight / (2.0 - weight))
    return Chart(mean, float(end), np.abs(mean) > end, run_length(weight, limit))


def run_length(weight: float, limit: float, shift: float = 0.0) -> float:
    """Average number of values up to the first signal.

    Parameters
    ----------
    weight, limit : float
        As for `chart`.
    shift : float
        Mean of the residuals, in their sds.

    Returns
    -------
    float

    Raises
    ------
    InputError
        A weight that isn't above 0 and at most 1, or a limit that isn't above 0.

    References
    ----------
    Crowder, S. V. (1987). A simple method for studying run-length distributions of exponentially weighted
    moving average charts. Technometrics 29, 401-407. doi:10.1080/00401706.1987.10488267: the length L(u) from
    a weighted mean u is 1 + the mean of L over where the next value leads, an integral equation, solved here
    on Gauss-Legendre nodes.
    """
    from scipy.special import ndtr

    _check(weight, limit)
    if weight == 1.0:  # no memory: every value stands alone
        return float(1.0 / (ndtr(-limit - shift) + ndtr(-limit + shift)))
    end = limit * np.sqrt(weight / (2.0 - weight))
    nodes, weights = np.polynomial.legendre.leggauss(_NODES)
    at, share = end * nodes, end * weights

    def leads(to: FloatArray, start: FloatArray) -> FloatArray:
        z = (to[None, :] - (1.0 - weight) * start[:, None]) / weight - shift
        return np.asarray(np.exp(-0.5 * z**2) / (np.sqrt(2.0 * np.pi) * weight), dtype=np.float64)

    lengths = np.linalg.solve(np.eye(_NODES) - leads(at, at) * share, np.ones(_NODES))
    return float(1.0 + (leads(at, np.zeros(1))[0] * share) @ lengths)


def _check(weight: float, limit: float) -> None:
    if not 0.0 < weight <= 1.0:
        raise InputError(f"weight {weight}; above 0 and at most 1 is expected")
    if not limit > 0.0:
        raise InputError(f"limit {limit}; above 0 is expected")
