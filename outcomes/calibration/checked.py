"""What was expected of every reading of clients who were left out, as one tidy frame."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeVar

import numpy as np
import numpy.typing as npt
import pandas as pd

from outcomes.calibration.folds import HeldOut
from outcomes.calibration.groups import fade_groups, lift_groups
from outcomes.models.rate import RateModel
from outcomes.predictive.distribution import Predictive
from outcomes.predictive.follow import Followed

if TYPE_CHECKING:
    from outcomes.log.read import VisitLog

__all__ = ["PARTICLES", "CheckedReadings", "check_other_log", "check_readings"]

FloatArray = npt.NDArray[np.float64]
P = TypeVar("P", bound=Predictive)

PARTICLES = 1024


@dataclass(frozen=True, eq=False)
class CheckedReadings:
    """Readings, and the visits they belong to.

    Attributes
    ----------
    frame : DataFrame (n rows)
        As `outcomes.calibration.coverage.coverage_table` takes it.
    visits : DataFrame (V rows)
        The log's visits in the order of `HeldOut.told`, with `number` (of the visit within its client, from
        0).
    followed : Followed
    """

    frame: pd.DataFrame
    visits: pd.DataFrame
    followed: Followed


def check_readings(visits: pd.DataFrame, held: HeldOut[P], seed: int) -> CheckedReadings:
    """Follow all visits of all clients and label each reading with its groups.

    Parameters
    ----------
    visits : DataFrame (V)
        In the order of `held.told`: `RateModel.told_rows_`.
    held : HeldOut
    seed : int

    Returns
    -------
    CheckedReadings
    """
    told = held.told
    followed = held.follow(PARTICLES, seed, samples=True)
    client = np.repeat(np.arange(len(told.n_visits)), told.n_visits)
    visits = visits.assign(number=np.arange(len(visits)) - told.first_visit[client])
    at = np.repeat(np.arange(len(visits)), told.n_readings)
    frame = pd.DataFrame(
        {
            "client": client[at],
            "visit": at,
            "reading": np.where(np.arange(len(at)) == told.first_reading[at], "first", "later"),
            "low": followed.low,
            "high": followed.high,
        }
    )
    if "shampoo" in visits:
        labels = fade_groups(visits, at, told.minutes)
    else:
        labels = lift_groups(visits).iloc[at].reset_index(drop=True)
    return CheckedReadings(pd.concat([frame, labels], axis=1), visits, followed)


def check_other_log(
    model: RateModel[P], predictive: P, log: VisitLog, seed: int
) -> tuple[CheckedReadings, HeldOut[P]]:
    """What a finished model expected of a log that it wasn't fitted to; earlier visits tell of later ones.

    Parameters
    ----------
    model : RateModel
        As which the log is read.
    predictive : Predictive
        The model's.
    log : VisitLog
    seed : int

    Returns
    -------
    CheckedReadings, HeldOut

    Raises
    ------
    InputError
        A category that the model's log never had.
    """
    told, visits = model.told_of(log)
    held = HeldOut(told, np.zeros(len(told.n_visits), dtype=np.intp), (predictive,))
    return check_readings(visits, held, seed), held
