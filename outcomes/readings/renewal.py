"""When the last look was taken, where only the usual time between looks is known.

Looks follow each other by gaps that scatter about the usual one: a renewal process from the application on.
Looks soon after the application come at nearly known times, later ones at any.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
from scipy.special import ndtr

__all__ = ["Gaps", "gaps_about", "last_look"]

FloatArray = npt.NDArray[np.float64]

LONGEST = 180
"""Minutes: the longest processing time of a log."""

_NEVER = 1e-6  # chance below which a time isn't worth a row

ALTERNATIVES = 5
"""Times that stand for a distribution of times."""


class Gaps:
    """Chances of gaps of 1, 2, ... minutes between two looks, and of a look at each minute.

    Parameters
    ----------
    chance : ndarray (LONGEST + 1,)
        Of a gap of so many minutes; 0 at 0, adding up to 1 at most (longer gaps never matter).
    """

    def __init__(self, chance: FloatArray) -> None:
        self.chance = chance
        self.longer = 1.0 - np.concatenate([[0.0], np.cumsum(chance)[:-1]])  # gap of so many minutes or more
        looked = np.zeros(LONGEST + 1)
        looked[0] = 1.0  # the application starts the process
        for minute in range(1, LONGEST + 1):
            looked[minute] = looked[:minute] @ chance[minute:0:-1]
        self.looked = looked


def gaps_about(minutes: FloatArray, share: FloatArray, log_sd: float) -> Gaps:
    """Gaps that scatter about usual ones.

    Parameters
    ----------
    minutes, share : ndarray (k,)
        Usual gaps, and how often each is the usual one.
    log_sd : float
        Sd of the log of a gap about the usual one; 0: gaps never vary.

    Returns
    -------
    Gaps
    """
    if log_sd == 0:
        at = np.clip(np.rint(minutes), 1, LONGEST).astype(np.intp)
        return Gaps(np.bincount(at, share, LONGEST + 1).astype(np.float64))
    edges = np.arange(LONGEST + 1) + 0.5
    below = ndtr(np.log(edges / minutes[:, None]) / log_sd)
    chance = share @ np.diff(below, axis=1, prepend=0.0)
    chance[1] += chance[0]  # nobody looks twice within a minute
    chance[0] = 0.0
    return Gaps(chance)


def last_look(gaps: Gaps, rinse: int, *, at_look: bool) -> tuple[FloatArray, FloatArray]:
    """A few times, with chances, at which the last look before the rinse may have been.

    Parameters
    ----------
    gaps : Gaps
    rinse : int
        Minutes, 1 to LONGEST.
    at_look : bool
        Whether the rinse was at a look, which is not the one meant.

    Returns
    -------
    minutes, chance : ndarray (k,)
        Ascending; chances add up to 1. Minute 0 stands for no look before the rinse. Both are empty where
        these gaps can't lead to that rinse.
    """
    since = np.arange(rinse, 0, -1)
    chance = gaps.looked[:rinse] * (gaps.chance if at_look else gaps.longer)[since]
    total = chance.sum()
    if total <= 1e-12:
        return np.zeros(0), np.zeros(0)
    chance = chance / total
    minutes = np.arange(1.0, rinse)
    later = chance[1:]
    seen = later.sum()
    if seen < _NEVER:
        return np.zeros(1), np.ones(1)
    # fifths of the chance, each standing at its mean
    part = np.minimum(
        (ALTERNATIVES * (np.cumsum(later) - 0.5 * later) / seen).astype(np.intp), ALTERNATIVES - 1
    )
    weight = np.bincount(part, later, ALTERNATIVES)
    mean = np.bincount(part, later * minutes, ALTERNATIVES) / np.maximum(weight, 1e-300)
    mean, weight = np.concatenate([[0.0], mean]), np.concatenate([[1.0 - seen], weight])
    kept = weight > _NEVER
    return mean[kept], weight[kept] / weight[kept].sum()
