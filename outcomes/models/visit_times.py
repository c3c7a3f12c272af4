"""Time in the chair besides processing, and weeks between sessions: plain shares of what was logged."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pandas as pd

from outcomes.predictive.tally import Tally
from outcomes.predictive.visit_times import CHAIR_STEP, WEEK_STEP, VisitTimes

__all__ = ["ENOUGH", "visit_times"]

FloatArray = npt.NDArray[np.float64]

ENOUGH = 20
"""Visits, or times between them, with fewer of which nothing is told."""


def visit_times(visits: pd.DataFrame) -> VisitTimes:
    """Tell what visits took.

    Parameters
    ----------
    visits : DataFrame (n rows)
        Canonical columns, one row a visit and zone, and `session` and `previous` as `assign_courses` made
        them.

    Returns
    -------
    VisitTimes
        Where first or later visits with chair minutes are fewer than 20, both together; where both together
        are, none.
    """
    chair = _chair(visits)
    first = chair["session"].to_numpy() == 1
    minutes = chair["besides"].to_numpy(dtype=np.float64)
    last, weeks = _tally(_last(visits), CHAIR_STEP), _tally(_weeks(visits), WEEK_STEP)
    if min(first.sum(), (~first).sum()) >= ENOUGH:
        return VisitTimes(
            _tally(minutes[first], CHAIR_STEP), _tally(minutes[~first], CHAIR_STEP), last, False, weeks
        )
    both = _tally(minutes, CHAIR_STEP)
    return VisitTimes(both, both, last, both.is_known, weeks)


def _chair(visits: pd.DataFrame) -> pd.DataFrame:
    """Minutes besides processing, a row a visit; with several zones, the earliest session of them."""
    if "chair_minutes" not in visits:
        return pd.DataFrame({"session": [], "besides": []})
    columns = {name: visits[name].astype(np.float64) for name in ("chair_minutes", "minutes")}
    by_visit = visits.assign(**columns).groupby(["client", "visit"], sort=False)
    # each zone's row repeats the whole time, or one of them has it; zones are processed side by side
    found = by_visit.agg({"session": "min", "chair_minutes": "max", "minutes": "max"})
    found["besides"] = found["chair_minutes"] - found["minutes"]
    return found[found["besides"] >= 0]  # nobody is processed longer than in the chair: a slip of the pen


def _last(visits: pd.DataFrame) -> FloatArray:
    """Longest processing of visits that read the goal in each of their zones."""
    is_done = visits["achieved_level"].astype(np.float64) >= visits["goal_level"].astype(np.float64)
    rows = visits.assign(is_done=is_done, minutes=visits["minutes"].astype(np.float64))
    by_visit = rows.groupby(["client", "visit"], sort=False)
    found = by_visit.agg({"is_done": "min", "minutes": "max"})
    return found["minutes"][found["is_done"] & found["minutes"].notna()].to_numpy(dtype=np.float64)


def _weeks(visits: pd.DataFrame) -> FloatArray:
    """Whole weeks between two visits, once for each pair of them whatever zones they share."""
    previous = visits["previous"].to_numpy(dtype=np.intp)
    later = np.flatnonzero(previous >= 0)
    before = previous[later]
    day = visits["date"].to_numpy().astype("datetime64[D]").astype(np.int64)
    pairs = pd.DataFrame(
        {
            "client": visits["client"].to_numpy(dtype=object)[later],
            "visit": visits["visit"].to_numpy(dtype=object)[later],
            "before": visits["visit"].to_numpy(dtype=object)[before],
            "days": day[later] - day[before],
        }
    ).drop_duplicates()
    days = pairs["days"].to_numpy(dtype=np.float64)
    if (pd.DatetimeIndex(visits["date"]).day == 1).all():  # dates were cut to months, and weeks with them
        return np.zeros(0)
    return np.asarray(np.floor(days / 7.0 + 0.5), dtype=np.float64)


def _tally(amounts: FloatArray, step: float) -> Tally:
    if len(amounts) < ENOUGH:
        return Tally.nothing(step)
    place = np.floor(amounts / step + 0.5).astype(np.intp)
    return Tally(step, np.bincount(place) / len(place), len(place))
