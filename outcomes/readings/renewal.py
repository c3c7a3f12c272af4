"""When the last looks were taken, where only the usual time between looks is known.

Looks follow each other by gaps that scatter about the usual one: a renewal process from the application on.
Looks soon after the application come at nearly known times, later ones at any.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
from scipy.special import ndtr

__all__ = ["Gaps", "Ways", "gaps_about", "last_looks"]

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]
Ways = tuple[FloatArray, IntArray, FloatArray]

LONGEST = 180
"""Minutes: the longest processing time of a log."""

_NEVER = 1e-6  # chance below which a time isn't worth a row

_SELDOM = 0.02  # share below which whether there was one look or more isn't told apart

ALTERNATIVES = 3
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


def last_looks(gaps: Gaps, rinse: int, *, at_look: bool) -> Ways | None:
    """A few ways, with chances, in which the last two looks before the rinse may have been taken.

    Earlier looks say next to nothing beside these two. The times of both hang together, so each way names
    both, or the one that there was.

    Parameters
    ----------
    gaps : Gaps
    rinse : int
        Minutes, 1 to LONGEST.
    at_look : bool
        Whether the rinse was at a look, which is not one of those meant.

    Returns
    -------
    minutes, way, chance : ndarray (k,)
        One row a look, those of one way together; `chance` is that of the way, and adds up to 1 over ways.
        Minute 0 stands for no look before the rinse. None where these gaps can't lead to that rinse.
    """
    minute = np.arange(rinse)
    last = gaps.looked[:rinse] * (gaps.chance if at_look else gaps.longer)[rinse - minute]
    total = last.sum()
    if total <= 1e-12:
        return None
    last = last / total
    # chance of the last look at the minute of a row, and the one before it at that of a column
    between = minute[1:, None] - minute
    both = np.where(between > 0, gaps.chance[np.abs(between)], 0.0) * gaps.looked[:rinse]
    both *= (last[1:] / np.maximum(gaps.looked[1:rinse], 1e-300))[:, None]
    # thirds of the chance that there was a look; the times of each stand at their means
    done = np.cumsum(last[1:]) - 0.5 * last[1:]
    third = np.minimum((ALTERNATIVES * done / max(last[1:].sum(), _NEVER)).astype(np.intp), ALTERNATIVES - 1)
    ways = [(float(last[0]), [0.0])]
    for k in range(ALTERNATIVES):
        ways += _alone_and_after_another(both[third == k], minute[1:][third == k])
    ways = [way for way in ways if way[0] > _NEVER]
    total = sum(chance for chance, _ in ways)
    count = [len(times) for _, times in ways]
    return (
        np.concatenate([times for _, times in ways]),
        np.repeat(np.arange(len(ways)), count),
        np.repeat([chance / total for chance, _ in ways], count),
    )


def _alone_and_after_another(both: FloatArray, last: IntArray) -> list[tuple[float, list[float]]]:
    """Ways, with chances, of a last look at some of these minutes: as the only one, and with one before it.

    `both` (minutes of the last look, minutes of the one before; 0: there was none) holds the chances.
    """
    chance = both.sum(axis=1)
    total = chance.sum()
    if total <= _NEVER:
        return []
    alone, after = both[:, 0], both[:, 1:]
    if after.sum() < _SELDOM * total:
        return [(total, [chance @ last / total])]
    times = [
        after.sum(axis=0) @ np.arange(1, both.shape[1]) / after.sum(),
        after.sum(axis=1) @ last / after.sum(),
    ]
    if alone.sum() < _SELDOM * total:
        return [(total, times)]
    return [(alone.sum(), [alone @ last / alone.sum()]), (after.sum(), times)]
