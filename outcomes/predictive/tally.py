"""How amounts of one visit came out, as shares on an even grid, and what several visits add up to.

A page needs of each tally `step`, `shares` and `count`, as the model file has them; sums are plain
convolutions of `shares`, so they come out the same everywhere.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from outcomes.errors import InputError

__all__ = ["Tally", "capped", "raised", "several", "smallest", "until_done"]

FloatArray = npt.NDArray[np.float64]

_SUM = 1e-4  # what rounding in a file may take off shares that add up to 1
_TIE = 1e-9


@dataclass(frozen=True, eq=False)
class Tally:
    """Shares of the amounts 0, step, 2 step, ...; no shares: nothing is known.

    Attributes
    ----------
    step : float
        Of the grid, above 0.
    shares : ndarray (n,)
        Of the amount k step at place k; they add up to 1.
    count : int
        What was logged and stands behind them; 0: an entered figure.

    Raises
    ------
    InputError
        A step at or below 0, a share below 0, shares that don't add up to 1.
    """

    step: float
    shares: FloatArray
    count: int

    def __post_init__(self) -> None:
        if not self.step > 0:
            raise InputError(f"step: found {self.step:g}; expected a number above 0")
        if (self.shares < 0).any() or (len(self.shares) and abs(self.shares.sum() - 1.0) > _SUM):
            raise InputError("shares: found some below 0, or that don't add up to 1")

    @property
    def is_known(self) -> bool:
        """Whether there is anything."""
        return len(self.shares) > 0

    @classmethod
    def nothing(cls, step: float) -> Tally:
        """A tally of nothing.

        Parameters
        ----------
        step : float

        Returns
        -------
        Tally
        """
        return cls(step, np.zeros(0), 0)

    @classmethod
    def always(cls, amount: float) -> Tally:
        """One amount for sure.

        Parameters
        ----------
        amount : float
            Above 0.

        Returns
        -------
        Tally
        """
        return cls(amount, np.array([0.0, 1.0]), 0)


def several(first: Tally, later: Tally, most: int) -> list[FloatArray]:
    """Shares of what one, two, ... visits add up to, each visit by itself.

    Parameters
    ----------
    first, later : Tally
        Of a first visit and of every later one, on one grid.
    most : int
        Visits, 1 or more.

    Returns
    -------
    list of ndarray
        `most` of them, on the same grid.
    """
    sums = [first.shares]
    while len(sums) < most:
        sums.append(np.convolve(sums[-1], later.shares))
    return sums


def capped(tally: Tally, most: int) -> FloatArray:
    """Shares of amounts that end at a cap.

    Parameters
    ----------
    tally : Tally
        What would be without it; of nothing: the cap itself.
    most : int
        Place of the cap, 0 or more.

    Returns
    -------
    ndarray (most + 1,)
    """
    found = np.zeros(most + 1)
    below = tally.shares[:most]
    found[: len(below)] = below
    found[most] = 1.0 - below.sum()
    return found


def raised(sums: Sequence[FloatArray], more: float, last: FloatArray) -> list[FloatArray]:
    """The same sums where every visit takes more: all but the last a fixed amount.

    Parameters
    ----------
    sums : sequence of ndarray
        Of one, two, ... visits.
    more : float
        In steps of their grid, 0 or more; what it comes to in so many visits is put to the nearest step.
    last : ndarray
        Shares of what the last one takes more.

    Returns
    -------
    list of ndarray
    """
    places = [math.floor(before * more + 0.5) for before in range(len(sums))]
    return [
        np.convolve(np.concatenate([np.zeros(place), shares]), last)
        for place, shares in zip(places, sums, strict=True)
    ]


def until_done(sessions: Sequence[float], sums: Sequence[FloatArray]) -> FloatArray:
    """Chances of what a course adds up to.

    Parameters
    ----------
    sessions : sequence of float (limit + 1)
        Chances of 1, 2, ..., limit sessions, then of more.
    sums : sequence of ndarray (limit)
        Shares of what so many sessions add up to.

    Returns
    -------
    ndarray
        On the grid of the sums; what it lacks of 1 is the chance of more than `limit` sessions.
    """
    chances = np.zeros(max(len(shares) for shares in sums))
    for chance, shares in zip(sessions[:-1], sums, strict=True):
        chances[: len(shares)] += chance * shares
    return chances


def smallest(chances: FloatArray, share: float) -> int | None:
    """Place of the smallest amount within which this share lies.

    Parameters
    ----------
    chances : ndarray (n,)
        On a grid; their sum may be below 1.
    share : float

    Returns
    -------
    int or None
        None: beyond the grid.
    """
    enough = np.flatnonzero(np.cumsum(chances) >= share - _TIE)
    return int(enough[0]) if len(enough) else None
