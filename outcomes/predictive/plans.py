"""Plans: what is asked of the distribution, many at once."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from outcomes.readings.design import Design

__all__ = ["HAIR", "HEAT", "NEW", "Plans", "stand_in"]

HAIR = ("natural", "coloured", "lightened")
HEAT = ("none", "low", "medium", "high")
NEW = "new"
"""Stands for a stylist whom the log doesn't know."""

FloatArray = npt.NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Plans:
    """One way of working each of B goals; the same in every session of its course.

    Attributes
    ----------
    start, goal : ndarray (B,)
        Levels, half steps.
    hair, heat : tuple of str (B)
    peroxide : ndarray (B,)
        Developer strength, %.
    minutes : ndarray (B,)
        Longest processing time intended.
    stylist : tuple of (str or None) (B)
        A code, `NEW`, or None for one of the log's stylists in proportion to their visits.
    """

    start: FloatArray
    goal: FloatArray
    hair: tuple[str, ...]
    peroxide: FloatArray
    heat: tuple[str, ...]
    minutes: FloatArray
    stylist: tuple[str | None, ...]

    def __len__(self) -> int:
        return len(self.start)

    def part(self, first: int, last: int) -> Plans:
        """The plans from `first` up to, not including, `last`.

        Parameters
        ----------
        first, last : int

        Returns
        -------
        Plans
        """
        cut = slice(first, last)
        return Plans(
            self.start[cut],
            self.goal[cut],
            self.hair[cut],
            self.peroxide[cut],
            self.heat[cut],
            self.minutes[cut],
            self.stylist[cut],
        )


def stand_in(design: Design, column: str, word: str) -> str:
    """The category that a word is worked out as: itself, or where the log never had it the nearest it had.

    Heat is ordered, so its nearest lower, then nearest higher one; hair falls back on the reference.

    Parameters
    ----------
    design : Design
    column : str
        "heat" or "hair".
    word : str
        One of `HEAT` or `HAIR`.

    Returns
    -------
    str
    """
    known = design.categories(column)
    if word in known or not known:
        return word
    if column == "heat":
        rank = HEAT.index(word)
        return min((heat for heat in HEAT if heat in known), key=lambda heat: abs(HEAT.index(heat) - rank))
    return known[0]
