"""The predictive distribution of fade: progress over washes, by one measure.

Numpy and the standard library only, so that it can be asked at the chair without loading pandas.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import numpy.typing as npt

from outcomes.errors import InputError
from outcomes.predictive.distribution import Predictive, Share

__all__ = ["SCALES", "FadePredictive", "FollowUp", "Scale"]

FloatArray = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Scale:
    """How a measure of fade is written down.

    Attributes
    ----------
    step : float
        Of recording, in units of progress; that of a share, which isn't even, near half the tone.
    bottom, top : float
        Ends of the scale; infinite where there are none.
    """

    step: float
    bottom: float
    top: float


_INF = float("inf")

SCALES: Mapping[str, Scale] = {
    "level": Scale(0.5, 1.0, 10.0),
    "tone_left": Scale(0.5, -_INF, _INF),
    "delta_e": Scale(0.1, 0.0, _INF),
}
"""By measure."""


@dataclass(frozen=True)
class FollowUp:
    """Who was read again.

    Attributes
    ----------
    applied, read : int
        Clients who had it applied, and those of them with a reading after washes.
    visits : int
        Visits with a reading.
    """

    applied: int
    read: int
    visits: int

    @property
    def missing(self) -> float:
        """Share of clients without a reading."""
        return 1.0 - self.read / self.applied if self.applied else 0.0


@dataclass(frozen=True, eq=False, kw_only=True)
class FadePredictive(Predictive):
    """Progress of fade over washes; besides what every `Predictive` has:

    Attributes
    ----------
    measure : {"level", "tone_left", "delta_e"}
        Levels drifted to lighter, -log(share of tone left), or CIEDE2000.
    covariates : mapping of place ("roots" or "toned") to mapping of column to tuple of (value, share)
        Shares, among the visits read there, of every covariate; None stands for a value not given.
    follow_up : mapping of column to mapping of word to FollowUp
        By root_tone, root_level, toner_tone and shampoo; under "" everybody. Which shampoo clients use who
        weren't read isn't known, so there `applied` is what was read.
    estimates : ndarray (p,)
        Coefficients of the design's columns.
    covariance : ndarray (p, p)
        Of the estimates: for contrasts between shades, whose bands hold together.
    reference : float
        Washes of one reference.

    Raises
    ------
    InputError
        As `Predictive`; an unknown measure.
    """

    measure: str
    covariates: Mapping[str, Mapping[str, tuple[Share, ...]]]
    follow_up: Mapping[str, Mapping[str, FollowUp]]
    estimates: FloatArray
    covariance: FloatArray
    reference: float = 10.0
    step: float = field(init=False)
    bottom: float = field(init=False)
    top: float = field(init=False)

    def __post_init__(self) -> None:
        if self.measure not in SCALES:
            raise InputError(f"measure: found {self.measure!r}; expected one of {', '.join(SCALES)}")
        for name, value in vars(SCALES[self.measure]).items():
            object.__setattr__(self, name, value)
        super().__post_init__()

    def _expected(self) -> dict[str, tuple[npt.NDArray[Any], tuple[int, ...]]]:
        p = len(self.design.names)
        return {
            **super()._expected(),
            "estimates": (self.estimates, (p,)),
            "covariance": (self.covariance, (p, p)),
        }
