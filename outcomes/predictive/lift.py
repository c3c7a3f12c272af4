"""The predictive distribution of lift: levels gained over minutes, and how sessions are worked.

Numpy and the standard library only, so that it can be asked at the chair without loading pandas.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy.typing as npt

from outcomes.errors import InputError
from outcomes.predictive.condition_chain import ConditionLosses
from outcomes.predictive.distribution import Predictive, Share
from outcomes.predictive.hazard import ConditionHazard
from outcomes.predictive.practice import LookGaps, Practice
from outcomes.predictive.visit_times import VisitTimes

__all__ = ["LiftPredictive"]


@dataclass(frozen=True, eq=False, kw_only=True)
class LiftPredictive(Predictive):
    """Levels gained over minutes of processing; besides what every `Predictive` has:

    Attributes
    ----------
    look_gaps : LookGaps
    covariates : mapping of hair to mapping of column to tuple of (value, share)
        Shares, among the visits with that hair, of the optional covariates that a question doesn't give; None
        stands for a value not given.
    later_hair : mapping of hair to mapping of hair to share
        Hair in later sessions, by the hair before the first.
    hazard : ConditionHazard
    practice : Practice
    visit_times : VisitTimes
    condition_losses : ConditionLosses

    Raises
    ------
    InputError
        As `Predictive`; a share that isn't between 0 and 1.
    """

    look_gaps: LookGaps
    covariates: Mapping[str, Mapping[str, tuple[Share, ...]]]
    later_hair: Mapping[str, Mapping[str, float]]
    hazard: ConditionHazard
    practice: Practice = field(default_factory=Practice)
    visit_times: VisitTimes = field(default_factory=VisitTimes)
    condition_losses: ConditionLosses = field(default_factory=ConditionLosses)
    reference: float = 45.0
    step: float = 0.5
    bottom: float = 1.0
    top: float = 10.0

    def __post_init__(self) -> None:
        super().__post_init__()
        for name in ("reread", "unseen"):
            shares = getattr(self.practice, name)
            if not ((shares >= 0) & (shares <= 1)).all():
                raise InputError(f"practice.{name}: found a share that isn't between 0 and 1")
        if (self.look_gaps.minutes <= 0).any():
            raise InputError("look_gaps.minutes: found a value at or below 0")

    def _expected(self) -> dict[str, tuple[npt.NDArray[Any], tuple[int, ...]]]:
        s, g = len(self.stylists), len(self.look_gaps.minutes)
        practice = {
            f"practice.{name}": (shares, (s,) if len(shares) else (0,))
            for name, shares in (("reread", self.practice.reread), ("unseen", self.practice.unseen))
        }
        return {
            **super()._expected(),
            "look_gaps.share": (self.look_gaps.share, (g,)),
            "look_gaps.by_stylist": (self.look_gaps.by_stylist, (s, g)),
            "hazard.coefficients": (self.hazard.coefficients, (7,)),
            **practice,
        }
