"""Stops for hair condition: the chance of one in each five minutes of processing."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

__all__ = ["HAZARD_TERMS", "HEAT_RANK", "PERIOD", "ConditionHazard", "hazard_features"]

FloatArray = npt.NDArray[np.float64]
Words = npt.NDArray[np.object_]

PERIOD = 5.0  # minutes
HEAT_RANK: Mapping[str, float] = {"none": 0.0, "low": 1.0, "medium": 2.0, "high": 3.0}
HAZARD_TERMS = (
    "intercept",
    "minutes",
    "peroxide",
    "heat_rank",
    "hair[coloured]",
    "hair[lightened]",
    "later_session",
)


@dataclass(frozen=True, eq=False)
class ConditionHazard:
    """Discrete-time logistic hazard of a stop for condition, one step for every five minutes.

    Attributes
    ----------
    coefficients : ndarray (7,)
        Of `HAZARD_TERMS`, log odds for five minutes.
    drop_first, drop_later : float or None
        Mean loss of strand condition (points of 1 to 5) in a first and in a later session; None: not logged.
    stops, visits : int
        Condition stops and visits behind the fit.
    """

    coefficients: FloatArray
    drop_first: float | None
    drop_later: float | None
    stops: int
    visits: int

    def cumulative(
        self, minutes: float, peroxide: FloatArray, heat: Words, hair: Words, later: bool
    ) -> FloatArray:
        """Chance of a stop for condition by the end of each five minutes.

        Parameters
        ----------
        minutes : float
            Longest time of interest.
        peroxide : ndarray (n,)
            Developer strength, %.
        heat : ndarray (n,) of str
        hair : ndarray (n,) of str
        later : bool
            Whether these are later sessions.

        Returns
        -------
        ndarray (n, k)
            k the number of periods begun within `minutes`.
        """
        ends = PERIOD * np.arange(1.0, np.ceil(minutes / PERIOD - 1e-9) + 1)
        n = len(peroxide)
        features = hazard_features(np.zeros(n), peroxide, heat, hair, np.full(n, later))
        odds = (features @ self.coefficients)[:, None]
        odds = odds + (_time(ends) - _time(np.zeros(1))) * self.coefficients[HAZARD_TERMS.index("minutes")]
        odds = np.minimum(odds, 300.0)  # surer than sure
        return np.asarray(1.0 - np.cumprod(1.0 / (1.0 + np.exp(odds)), axis=1), dtype=np.float64)


def _time(minutes: FloatArray) -> FloatArray:
    """Minutes at the end of a period, centred at half an hour and counted in quarters of an hour."""
    return (minutes - 30.0) / 15.0


def hazard_features(
    minutes: FloatArray, peroxide: FloatArray, heat: Words, hair: Words, later: npt.NDArray[np.bool_]
) -> FloatArray:
    """Covariates of the hazard.

    Parameters
    ----------
    minutes : ndarray (n,)
        At the end of the period.
    peroxide : ndarray (n,)
        Developer strength, %.
    heat, hair : ndarray (n,) of str
    later : ndarray (n,) of bool
        Whether it's a later session.

    Returns
    -------
    ndarray (n, 7)
        In the order of `HAZARD_TERMS`.
    """
    return np.column_stack(
        [
            np.ones(len(minutes)),
            _time(minutes),
            np.log(peroxide / 6.0),
            np.array([HEAT_RANK[str(word)] for word in heat], dtype=np.float64),
            hair == "coloured",
            hair == "lightened",
            later,
        ]
    ).astype(np.float64)
