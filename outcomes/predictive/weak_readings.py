"""Readings that say a rate by no line: hair that hardly moved, or was read at the end of the scale.

What they say is taken as a normal about the deviation that is likeliest with them (Laplace), so that
deviations can be aimed at it. Where hair lifted more plainly, a line through the readings says as much.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from outcomes.predictive.distribution import rate
from outcomes.predictive.normal import normal_cdf

__all__ = ["WeakReading", "aim_at_weak"]

FloatArray = npt.NDArray[np.float64]

_STEPS = 8
_LONGEST = 1.0  # of a step, in log R
_NEAR = 1e-4  # of the likeliest: weights put right what an aim is off
_PEAK = 1.0 / np.sqrt(2.0 * np.pi)
_FAR = 6.0  # sds beyond which Mills' ratio is taken from its series
_LEAST = 1e-9


@dataclass(frozen=True, eq=False)
class WeakReading:
    """Levels gained lie to one side of a bound, or about a value; for n courses.

    Attributes
    ----------
    side : {1.0, -1.0, 0.0}
        1: below the bound; -1: above it; 0: about the value.
    bound : ndarray (n,)
        Levels gained, the offset of a look taken off.
    sd : ndarray (n,)
        Error of the reading, levels; with that of its rounding where it's about a value.
    share : ndarray (n,)
        Progress g at its minute.
    """

    side: float
    bound: FloatArray
    sd: FloatArray
    share: FloatArray

    def short(self, rates: FloatArray) -> FloatArray:
        """Levels by which a start's error would have to make up for a rate; 0 where a bound is kept.

        Parameters
        ----------
        rates : ndarray (n,)

        Returns
        -------
        ndarray (n,)
        """
        away = self.bound - rates * self.share
        return away if self.side == 0.0 else self.side * np.minimum(self.side * away, 0.0)

    def beginning(
        self,
        own: FloatArray,
        centre: FloatArray,
        factor: FloatArray,
        variance: FloatArray,
        error: FloatArray | float,
        sd: FloatArray,
    ) -> FloatArray:
        """A deviation near the likeliest: one that keeps within the bound, or that of a line, drawn to none.

        Parameters
        ----------
        own, centre, factor, variance, error : as in `aim_at_weak`
        sd : ndarray (n,)
            Of all that errs.

        Returns
        -------
        ndarray (n,)
        """
        wanted = np.maximum(self.bound - error, 0.5 * sd)
        there = (np.log(wanted / self.share) - centre) / factor + centre - own
        if self.side == 0.0:
            return there * variance / (variance + (sd / wanted) ** 2)
        return np.where(self.side * there < 0.0, there, 0.0)

    def at(self, gained: FloatArray, sd: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Log chance, and its slope and bend by the levels gained.

        Parameters
        ----------
        gained : ndarray (n,)
            The start's error included.
        sd : ndarray (n,)
            Of all that errs.

        Returns
        -------
        log_chance, slope, bend : ndarray (n,)
            `bend` is minus the second derivative.
        """
        z = (self.bound - gained) / sd
        if self.side == 0.0:
            return -0.5 * z**2 - np.log(sd), z / sd, 1.0 / sd**2
        log_phi, mills = _log_cdf(self.side * z)
        return log_phi, -self.side * mills / sd, mills * (mills + self.side * z) / sd**2


def aim_at_weak(
    readings: Sequence[WeakReading],
    own: FloatArray,
    centre: FloatArray,
    factor: FloatArray,
    variance: FloatArray,
    error: FloatArray | float,
    doubt: FloatArray,
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """The deviation of log R that weak readings say, how precisely, and how likely they are with it.

    Parameters
    ----------
    readings : sequence of WeakReading
        Of one visit, at least one.
    own, centre : ndarray (n,)
        log R without deviations, and its centre.
    factor : ndarray (n,)
        Of recalibration, on deviations from the centre.
    variance : ndarray (n,)
        Of the sum of the client's and the visit's deviations.
    error : ndarray (n,) or float
        Of the start, levels.
    doubt : ndarray (n,)
        Variance of that error where it isn't known.

    Returns
    -------
    aim, precision, log_fit : ndarray (n,)
        As a line through a visit's readings gives them.

    Notes
    -----
    With w the deviation, levels gained are error + exp(centre + f (own + w - centre)) g. Newton's steps on
    the log chance minus w^2 / (2 variance), the gain's own bend left out where it would make the whole bend
    negative, and every step cut to 1.
    """
    variance = np.maximum(variance, _LEAST)
    sds = [np.sqrt(one.sd**2 + doubt) for one in readings]
    log_chance, slope, bend = (np.zeros(len(own)) for _ in range(3))
    # of several the last one tells where to begin: the result, which has had most time
    w = readings[-1].beginning(own, centre, factor, variance, error, sds[-1])
    for step in range(_STEPS + 1):
        rates = rate(centre + factor * (own + w - centre))
        log_chance, slope, bend = (np.zeros(len(own)) for _ in range(3))
        for one, sd in zip(readings, sds, strict=True):
            log_one, by_gain, bent = one.at(error + rates * one.share, sd)
            by_w = rates * one.share * factor
            log_chance += log_one
            slope += by_gain * by_w
            bend += bent * by_w**2 + np.maximum(-by_gain * by_w * factor, 0.0)
        bend = np.maximum(bend, _LEAST)
        if step < _STEPS:
            away = (slope - w / variance) / (bend + 1.0 / variance)
            w = w + np.where(np.abs(away) < _NEAR, 0.0, np.clip(away, -_LONGEST, _LONGEST))
    # a normal with this slope and bend there
    aim = w + slope / bend
    return aim, bend, log_chance + 0.5 * slope**2 / bend - 0.5 * np.log(bend)


def _log_cdf(z: FloatArray) -> tuple[FloatArray, FloatArray]:
    """log Phi(z), and the normal density over Phi(z)."""
    near = np.maximum(z, -_FAR)
    chance = np.maximum(normal_cdf(near), _LEAST)
    far = np.minimum(z, -_FAR)
    mills_far = -far - 1.0 / far  # density / Phi(z), from the series of Mills' ratio
    mills = np.where(z < -_FAR, mills_far, _PEAK * np.exp(-0.5 * near**2) / chance)
    log_far = -0.5 * far**2 + np.log(_PEAK) - np.log(mills_far)
    return np.where(z < -_FAR, log_far, np.log(chance)), mills
