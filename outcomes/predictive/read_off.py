"""What a visit's readings say by themselves: a line of levels gained over progress, by least squares."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

__all__ = ["Line", "LineOf"]

FloatArray = npt.NDArray[np.float64]

_LEAST_RATE = 0.25  # levels in a reference time, of hair that seems not to have lifted


@dataclass(frozen=True, eq=False)
class Line:
    """The rate that readings say, for n courses.

    Attributes
    ----------
    log_rate : ndarray (n,)
        log R.
    precision : ndarray (n,)
        Of it: 1 over its variance.
    log_fit : ndarray (n,)
        Log of the readings' density with the rate integrated, flat in log R, but for constants.
    """

    log_rate: FloatArray
    precision: FloatArray
    log_fit: FloatArray


class LineOf:
    """Gains d + R g at progress g, with errors of known precision; d is the error of the start.

    Parameters
    ----------
    gains : sequence of ndarray (n,)
        Levels gained, each reading's middle.
    sure : sequence of ndarray (n,)
        1 over the variance of each.
    shares : sequence of ndarray (n,)
        g of each.
    """

    def __init__(
        self, gains: Sequence[FloatArray], sure: Sequence[FloatArray], shares: Sequence[FloatArray]
    ) -> None:
        y, s, g = (np.array(of) for of in (gains, sure, shares))
        self._s, self._sg, self._sgg = s.sum(axis=0), (s * g).sum(axis=0), (s * g * g).sum(axis=0)
        self._sy, self._sgy, self._syy = (s * y).sum(axis=0), (s * g * y).sum(axis=0), (s * y * y).sum(axis=0)
        self._log_s = np.log(s).sum(axis=0)

    def line(self, doubt: FloatArray, known: FloatArray | float = 0.0) -> Line:
        """The rate, the start's error being known or not.

        Parameters
        ----------
        doubt : ndarray (n,)
            Variance of the start's error; 0 where it's known.
        known : ndarray (n,) or float
            Its mean.

        Returns
        -------
        Line
        """
        # the start's error taken out of sums of squares and products
        common = doubt / (1.0 + doubt * self._s)
        sy = self._sy - known * self._s
        sgy = self._sgy - known * self._sg
        syy = self._syy - 2.0 * known * self._sy + known**2 * self._s
        precision = self._sgg - common * self._sg**2
        product = sgy - common * self._sg * sy
        rates = np.maximum(product / precision, _LEAST_RATE)
        left = syy - common * sy**2 - 2.0 * rates * product + rates**2 * precision
        in_logs = precision * rates**2
        log_fit = 0.5 * (self._log_s - left - np.log1p(doubt * self._s) - np.log(in_logs))
        return Line(np.log(rates), in_logs, log_fit)

    def start(self, doubt: FloatArray) -> tuple[FloatArray, FloatArray]:
        """The start's error as the line tells it, whatever the rate.

        Parameters
        ----------
        doubt : ndarray (n,)
            Its variance before.

        Returns
        -------
        mean, precision : ndarray (n,)
            One reading tells nothing of it: 0, and 1 over the variance.
        """
        told = np.maximum(self._s - self._sg**2 / self._sgg, 0.0)
        precision = 1.0 / doubt + told
        return (self._sy - self._sg * self._sgy / self._sgg) / precision, precision
