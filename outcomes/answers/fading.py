"""What answers about fade share: bands of simulated clients, clients who were never read, the follow-up."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from outcomes.predictive.fade import FadePredictive
from outcomes.predictive.support import ENOUGH, FEW

__all__ = ["COVERAGE", "MISSING_RATES", "Band", "beyond", "judged", "missing_of", "mixed_band"]

FloatArray = npt.NDArray[np.float64]

COVERAGE = 0.8

MISSING_RATES = (0.75, 1.25)
"""Factors on the rates of clients who were never read: how far an answer would move if they fade so."""


@dataclass(frozen=True)
class Band:
    """Middle and ends of an 80 % band; None lies beyond any number, as washes do that never get there.

    Of what the log doesn't cover there is no middle either.

    Attributes
    ----------
    median, low, high : float or None
    """

    median: float | None
    low: float | None
    high: float | None

    @classmethod
    def of(cls, values: FloatArray, weight: FloatArray | None = None) -> Band:
        """The band of simulated clients.

        Parameters
        ----------
        values : ndarray (n,)
            May be infinite.
        weight : ndarray (n,), optional

        Returns
        -------
        Band
        """
        tail = 0.5 * (1.0 - COVERAGE)
        order = np.argsort(values)
        amount = np.ones(len(values)) if weight is None else weight
        upto = np.cumsum(amount[order])
        at = np.searchsorted(upto / upto[-1], [tail, 0.5, 1.0 - tail], side="left")
        low, median, high = (float(values[order[min(i, len(values) - 1)]]) for i in at)
        return cls(*(None if math.isinf(end) else end for end in (median, low, high)))

    def without_middle(self) -> Band:
        """The band alone, for what the log doesn't cover."""
        return replace(self, median=None)

    def to_dict(self, digits: int = 4) -> dict[str, float | None]:
        """As JSON values.

        Parameters
        ----------
        digits : int
            Kept after the point.

        Returns
        -------
        dict
        """
        ends = {"median": self.median, "low": self.low, "high": self.high}
        return {name: None if end is None else round(end, digits) for name, end in ends.items()}


def mixed_band(values: FloatArray, changed: FloatArray, share: float) -> Band:
    """The band if a share of clients were as `changed`.

    Parameters
    ----------
    values, changed : ndarray (n,)
    share : float
        0 to 1.

    Returns
    -------
    Band
    """
    weight = np.concatenate([np.full(len(values), 1.0 - share), np.full(len(changed), share)])
    return Band.of(np.concatenate([values, changed]), weight)


def missing_of(predictive: FadePredictive, column: str = "", word: str = "") -> float:
    """Share of clients who had a shade applied and were never read after washes.

    Parameters
    ----------
    predictive : FadePredictive
    column, word : str
        As in `FadePredictive.follow_up`; of everybody by default, and where the column can't tell (shampoo).

    Returns
    -------
    float
    """
    everybody = predictive.follow_up[""][""]
    if column == "shampoo":
        return everybody.missing
    return predictive.follow_up.get(column, {}).get(word, everybody).missing


def judged(visits: int) -> str:
    """Whether so many visits cover something: "inside" from 20, "edge" from 5, else "outside".

    Parameters
    ----------
    visits : int

    Returns
    -------
    str
    """
    return "inside" if visits >= ENOUGH else "edge" if visits >= FEW else "outside"


def beyond(predictive: FadePredictive, washes: float | None) -> str:
    """A sentence where washes lie past what the log followed, else nothing.

    Parameters
    ----------
    predictive : FadePredictive
    washes : float or None
        None: never.

    Returns
    -------
    str
    """
    numbers: Mapping[str, tuple[float, float, float, float]] = predictive.support.numbers
    longest = numbers["washes"][3]
    if washes is not None and washes <= longest:
        return ""
    return f"the log follows hair for {longest:g} washes at most; what comes after is carried on from there"
