"""How a log's stylists work: when they look before the rinse, and how they write results."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

__all__ = ["LookGaps", "Practice", "look_times", "shares_of"]

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.intp]

_ODD = (1, 40503, 28657, 10007, 65497, 17711, 33331, 52583)
_TURN = 0.6180339887498949  # of the golden ratio: where multiples come round again they begin elsewhere


def _nobody() -> FloatArray:
    return np.zeros(0)


@dataclass(frozen=True, eq=False)
class LookGaps:
    """Usual minutes between two looks, and how often each occurs.

    Attributes
    ----------
    minutes : ndarray (G,)
        Empty: nobody looks before the rinse.
    share : ndarray (G,)
        Overall; sums to 1.
    by_stylist : ndarray (S, G)
        For each stylist; rows sum to 1.
    assumed : bool
        Whether the log has no intervals, so that usual ones were taken (common practice, no source).
    """

    minutes: FloatArray
    share: FloatArray
    by_stylist: FloatArray
    assumed: bool = False

    def usual(self, coverage: float = 0.8) -> tuple[float, float] | None:
        """Between which minutes most intervals lie; None where nobody looks.

        Parameters
        ----------
        coverage : float

        Returns
        -------
        (float, float) or None
        """
        if not len(self.minutes):
            return None
        upto = self.share.cumsum()
        low, high = np.searchsorted(upto, [(1 - coverage) / 2, (1 + coverage) / 2 - 1e-9])
        return float(self.minutes[low]), float(self.minutes[min(high, len(upto) - 1)])


@dataclass(frozen=True, eq=False)
class Practice:
    """What else of a stylist's way of working moves what is written down.

    Attributes
    ----------
    reread : ndarray (S,)
        Share of results of visits stopped at the goal that are read anew after the rinse; the others are the
        look that stopped the visit. Empty: nobody reads anew.
    unseen : ndarray (S,)
        Share of sessions left to their time without a look. Empty: none.
    """

    reread: FloatArray = field(default_factory=_nobody)
    unseen: FloatArray = field(default_factory=_nobody)


def shares_of(shares: FloatArray, visits: npt.NDArray[np.int64], stylist: IntArray) -> FloatArray:
    """Every course's share.

    Parameters
    ----------
    shares : ndarray (S,)
        Of the log's stylists; empty: 0 for all.
    visits : ndarray of int (S,)
        How many each has.
    stylist : ndarray of int (n,)
        Index into them; negative for one whom the log doesn't know, who works as they do by and large.

    Returns
    -------
    ndarray (n,)
    """
    if not len(shares):
        return np.zeros(len(stylist))
    overall = float(shares @ visits / visits.sum()) if visits.sum() else float(shares.mean())
    return np.append(shares, overall)[stylist]


def look_times(
    gaps: LookGaps, unseen: FloatArray, stylist: IntArray, uniform: FloatArray, rinse: FloatArray
) -> FloatArray:
    """Minutes of the looks in one session of each course.

    Each interval is drawn anew. Were one drawn for the whole session, the one in which hair reaches its goal
    would be no longer than others, and hair no lighter when that is seen; but long intervals hold more of
    what happens than short ones.

    Parameters
    ----------
    gaps : LookGaps
    unseen : ndarray (n,)
        Chance that nobody looks at all.
    stylist : ndarray of int (n,)
        Index into the log's stylists; negative for one whom it doesn't know.
    uniform : ndarray (n,)
        Turned into intervals by the stylist's shares.
    rinse : ndarray (n,)
        Looks come before it.

    Returns
    -------
    ndarray (looks, n)
        Infinite where there's no such look.
    """
    n = len(stylist)
    if not len(gaps.minutes):
        return np.zeros((0, n))
    # The last row serves stylists whom the log doesn't know.
    shares = np.vstack([gaps.by_stylist, gaps.share]).cumsum(axis=1)
    row = np.where(stylist < 0, len(shares) - 1, stylist)
    # Each row moved up by its number: one sorted array in which a course looks its own row up.
    inner = len(gaps.minutes) - 1
    ends = (shares[:, :-1] / shares[:, -1:] + np.arange(len(shares))[:, None]).ravel()
    drawn = np.clip((uniform - unseen) / np.maximum(1.0 - unseen, 1e-12), 0.0, 1.0)
    at, clock = np.flatnonzero(uniform >= unseen), np.zeros(n)
    taken: list[FloatArray] = []
    while True:
        # an odd multiple of evenly spread values is as evenly spread, and in another order
        here = (_ODD[len(taken) % len(_ODD)] * drawn[at] + _TURN * len(taken)) % 1.0
        found = np.searchsorted(ends, np.minimum(here, 1.0 - 1e-12) + row[at], side="right") - row[at] * inner
        clock[at] += gaps.minutes[np.clip(found, 0, inner)]
        at = at[clock[at] < rinse[at] - 1e-9]
        if not len(at):
            return np.array(taken).reshape(-1, n)
        taken.append(np.full(n, np.inf))
        taken[-1][at] = clock[at]
