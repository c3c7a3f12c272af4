"""Whether stated chances come true: of the goal read within some minutes, of a course done in k sessions.

Not every visit is followed until its goal is read: some are rinsed for time or for the hair, some clients
don't come back. Those were followed for so long and no longer (Kaplan & Meier 1958).
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pandas as pd

from outcomes.calibration.checked import CheckedReadings
from outcomes.calibration.coverage import FEWEST
from outcomes.calibration.folds import HeldOut
from outcomes.calibration.shares import kaplan_meier
from outcomes.predictive.lift import LiftPredictive
from outcomes.predictive.plans import Plans
from outcomes.predictive.reach import reach_chances
from outcomes.predictive.simulate import simulate_courses

__all__ = ["EDGES", "MINUTES", "SESSIONS", "longest_time", "plans_of_visits", "reach_table", "sessions_table"]

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.intp]

MINUTES = (15.0, 25.0, 35.0, 45.0)
"""Asked of one new client after the other, in turn; no longer than was intended."""

SESSIONS = 3
EDGES = (0.0, 0.1, 0.3, 0.5, 0.7, 0.9, 1.0)

_COURSES = 256  # simulated for each plan
_USUAL = 5  # visits rinsed for time from which on their stylist's usual time is known


def reach_table(checked: CheckedReadings, held: HeldOut[LiftPredictive], seed: int) -> pd.DataFrame:
    """Chances of having read the goal within some minutes, first visits of clients who were left out.

    Parameters
    ----------
    checked : CheckedReadings
    held : HeldOut
    seed : int

    Returns
    -------
    DataFrame
        `from`, `to` (chances that were stated), `predicted` (their mean), `observed` (Kaplan-Meier: rinses
        for
        another reason than the goal end what is known), `low`, `high` (95 %), `n` (clients). Rows of fewer
        than 20 clients are left out.
    """
    visits, told = checked.visits, held.told
    at = told.first_visit[told.n_readings[told.first_visit] > 0]
    longest = longest_time(visits)[at]
    minutes = np.minimum(np.resize(MINUTES, len(at)), longest)
    goal = visits["goal_level"].to_numpy(dtype=np.float64)[at]
    fold = held.fold[np.searchsorted(told.first_visit, at)]
    chance = np.empty(len(at))
    for number, predictive in enumerate(held.predictives):
        for at_rinse in (False, True):
            rows = np.flatnonzero((fold == number) & ((minutes == longest) == at_rinse))
            chance[rows] = reach_chances(
                *(predictive, told, at[rows], goal[rows], minutes[rows], _COURSES, seed), at_rinse=at_rinse
            )
    time = told.rinse[at] / minutes  # in units of the minutes asked about
    reached = (visits["stop"] == "target") | (visits["achieved_level"] >= visits["goal_level"])
    done = reached.to_numpy(dtype=bool)[at]
    return _by_chance(chance, time, done, 1.0)


def sessions_table(checked: CheckedReadings, held: HeldOut[LiftPredictive], seed: int) -> pd.DataFrame:
    """Chances of a course done in 1, 2, 3 sessions, first courses of clients who were left out.

    The longest time intended is the visit's `planned_minutes`, or else what its stylist's visits that were
    rinsed for time lasted, in the middle.

    Parameters
    ----------
    checked : CheckedReadings
    held : HeldOut
    seed : int

    Returns
    -------
    DataFrame
        `sessions` and the columns of `reach_table`; `observed` if those who left would have done as the
        others, `left_failed` if none of them had.
    """
    visits, told = checked.visits, held.told
    at = told.first_visit[(visits["session"].to_numpy() == 1)[told.first_visit]]
    first = visits.iloc[at]
    minutes = longest_time(visits)[at]
    fold = held.fold[np.searchsorted(told.first_visit, at)]
    chances = np.empty((len(at), SESSIONS))
    for number, predictive in enumerate(held.predictives):
        rows = np.flatnonzero(fold == number)
        if len(rows):
            plans = plans_of_visits(first.iloc[rows], minutes[rows], predictive.stylists)
            found = simulate_courses(
                predictive, plans, _COURSES, seed, limit=SESSIONS, draws=1, per_draw=32
            ).sessions
            chances[rows] = np.cumsum(found[:, :SESSIONS], axis=1)
    took = visits.groupby("course")["session"].max().reindex(first["course"]).to_numpy(dtype=np.float64)
    done = (first["end"] == "reached").to_numpy(dtype=bool)
    parts = []
    for k in range(1, SESSIONS + 1):
        # a plan that can't fail, or can't be done, tells nothing
        told_apart = (chances[:, k - 1] > 0.001) & (chances[:, k - 1] < 0.999)
        table = _by_chance(chances[told_apart, k - 1], took[told_apart], done[told_apart], float(k))
        parts.append(table.assign(sessions=k))
    whole = pd.concat([part for part in parts if len(part)] or parts[:1], ignore_index=True)
    return whole[["sessions", *(name for name in whole.columns if name != "sessions")]]


def _by_chance(chance: FloatArray, time: FloatArray, done: npt.NDArray[np.bool_], at: float) -> pd.DataFrame:
    """Stated chances by size, and how often it was done by the time `at`."""
    part = np.clip(np.searchsorted(EDGES, chance, side="right") - 1, 0, len(EDGES) - 2)
    rows = []
    for number in range(len(EDGES) - 1):
        here = part == number
        if here.sum() < FEWEST:
            continue
        observed, low, high = (
            float(value[0]) for value in kaplan_meier(time[here], done[here], np.array([at]))
        )
        failed = float((done[here] & (time[here] <= at)).mean())
        mean = float(chance[here].mean())
        rows.append((*EDGES[number : number + 2], mean, observed, low, high, failed, int(here.sum())))
    columns = ["from", "to", "predicted", "observed", "low", "high", "left_failed", "n"]
    return pd.DataFrame(rows, columns=columns)


def longest_time(visits: pd.DataFrame) -> FloatArray:
    """Longest time intended in each visit.

    Parameters
    ----------
    visits : DataFrame (n rows)
        Canonical columns.

    Returns
    -------
    ndarray (n,)
        Minutes: as planned, or else as the stylist's visits that were rinsed for time lasted, in the middle.
    """
    minutes = visits["minutes"].to_numpy(dtype=np.float64)
    timed = visits.loc[(visits["stop"] == "time").to_numpy(dtype=bool), ["stylist", "minutes"]]
    by_stylist = timed.groupby("stylist")["minutes"].agg(["median", "size"])
    known = by_stylist.loc[by_stylist["size"] >= _USUAL, "median"]
    overall = float(timed["minutes"].median()) if len(timed) else float(np.quantile(minutes, 0.9))
    usual = visits["stylist"].map(known).fillna(overall).to_numpy(dtype=np.float64)
    planned = visits["planned_minutes"].to_numpy(dtype=np.float64)
    return np.where(np.isnan(planned), usual, planned)


def plans_of_visits(first: pd.DataFrame, minutes: FloatArray, stylists: tuple[str, ...]) -> Plans:
    """Visits as plans.

    Parameters
    ----------
    first : DataFrame (n rows)
        First visits of courses.
    minutes : ndarray (n,)
        Longest time intended.
    stylists : tuple of str
        Codes that the distribution knows; others stand for one of them.

    Returns
    -------
    Plans
    """
    return Plans(
        start=first["start_level"].to_numpy(dtype=np.float64),
        goal=first["goal_level"].to_numpy(dtype=np.float64),
        hair=tuple(first["hair"].astype(str)),
        peroxide=first["peroxide_pct"].to_numpy(dtype=np.float64),
        heat=tuple(first["heat"].astype(str)),
        minutes=minutes,
        stylist=tuple(str(code) if code in stylists else None for code in first["stylist"]),
    )
