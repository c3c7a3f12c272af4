"""What was expected of every reading of clients who were left out, as one tidy frame."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
import pandas as pd

from outcomes.calibration.folds import HeldOut
from outcomes.calibration.visits import in_order, told_visits
from outcomes.models.lift import LiftModel
from outcomes.predictive.follow import Followed
from outcomes.predictive.lift import LiftPredictive
from outcomes.readings.lift import LiftReadings, lift_readings, look_at

if TYPE_CHECKING:
    from outcomes.log.read import VisitLog

__all__ = ["PARTICLES", "CheckedReadings", "check_other_log", "check_readings"]

FloatArray = npt.NDArray[np.float64]

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


def check_readings(readings: LiftReadings, held: HeldOut, seed: int) -> CheckedReadings:
    """Follow all visits of all clients and label each reading with its groups.

    Parameters
    ----------
    readings : LiftReadings
        Those that `held` was made of.
    held : HeldOut
    seed : int

    Returns
    -------
    CheckedReadings
    """
    told = held.told
    followed = held.follow(PARTICLES, seed, samples=True)
    visits = readings.visits.iloc[in_order(readings)].reset_index(drop=True)
    client = np.repeat(np.arange(len(told.n_visits)), told.n_visits)
    visits["number"] = np.arange(len(visits)) - told.first_visit[client]
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
    labels = _labels(visits).iloc[at].reset_index(drop=True)
    return CheckedReadings(pd.concat([frame, labels], axis=1), visits, followed)


def check_other_log(
    model: LiftModel, predictive: LiftPredictive, log: VisitLog, seed: int
) -> tuple[CheckedReadings, HeldOut]:
    """What a finished model expected of a log that it wasn't fitted to; earlier visits tell of later ones.

    Parameters
    ----------
    model : LiftModel
        Whose design, and stylists' habits, the log is read with.
    predictive : LiftPredictive
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
    looked = look_at(log).doubted(model.clock_)
    habits = model.habits_
    readings = lift_readings(looked, reread=habits.reread, heaped=habits.heaped, copied_kind="look")
    told = told_visits(readings, model.design_, predictive.stylists, predictive.products)
    held = HeldOut(told, np.zeros(len(told.n_visits), dtype=np.intp), (predictive,))
    return check_readings(readings, held, seed), held


def _labels(visits: pd.DataFrame) -> pd.DataFrame:
    """Groups of each visit, a column for each kind of group."""
    start = visits["start_level"].to_numpy(dtype=np.float64)
    parts = np.select([start < 4.0, start < 7.0], ["start 1 to 3.5", "start 4 to 6.5"], "start 7 and above")
    known = visits["number"].to_numpy() > 0
    session = visits["session"].to_numpy() > 1
    quarter = visits["date"].dt.to_period("Q").astype(str)
    several = len(visits["stylist"].unique()) > 1  # else they are everybody
    return pd.DataFrame(
        {
            "group all": "all",
            "group known": np.where(known, "known clients, given earlier visits", "new clients"),
            "group session": pd.Series(session).map({True: "later sessions, given the earlier ones"}),
            "group start": parts,
            "group strength": [f"peroxide {value:g} %" for value in visits["peroxide_pct"]],
            "group hair": visits["hair"].astype(str) + " hair",
            "group stylist": "stylist " + visits["stylist"].astype(str) if several else None,
            "group quarter": "quarter " + quarter,
        }
    )
