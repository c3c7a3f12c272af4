"""What one reading says: an interval on the levels gained since the start as written.

A reading of level y says that the levels gained lie within half a recording step of y - start, reading error
apart. The ends of the scale, rinses at the goal and results written by habit have rules of their own.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from outcomes.readings.bounds import HALF_STEP, TOP, reading_bounds

__all__ = [
    "COPIED_SHARE",
    "VisitFacts",
    "copied_starts",
    "copied_to",
    "implied_rows",
    "look_rows",
    "result_rows",
    "stopping_rows",
]

COPIED_SHARE = 0.8
"""Share of later starts equal to the last result from which on they count as copied.

Two readings with an error of about 0.2 level, in half steps, agree in about 6 of 10 pairs; copies, slips
apart, in 19 of 20: the likelihoods of the two habits cross at 0.82.
"""

FloatArray = npt.NDArray[np.float64]
BoolArray = npt.NDArray[np.bool_]
IntArray = npt.NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class VisitFacts:
    """What the rules ask of each visit, arrays (V,), and the looks written down.

    Attributes
    ----------
    start, goal, achieved : ndarray
        Levels as written.
    minutes : ndarray
        At the rinse.
    target : ndarray of bool
        Stopped at the goal.
    reread : ndarray of bool
        Those of them whose result was read anew after the rinse.
    heaped : ndarray of bool
        Those of them whose result says only "at or above the goal".
    previous : ndarray of int
        Row of the session before; -1 where there is none.
    linked : ndarray of bool
        There is one, and the start is near its result.
    looks : DataFrame
        From `place_looks`, without looks that say the result again.
    """

    start: FloatArray
    goal: FloatArray
    achieved: FloatArray
    minutes: FloatArray
    target: BoolArray
    reread: BoolArray
    heaped: BoolArray
    previous: IntArray
    linked: BoolArray
    looks: pd.DataFrame

    @classmethod
    def of(
        cls,
        visits: pd.DataFrame,
        looks: pd.DataFrame,
        reread: Mapping[str, bool],
        heaped: Mapping[str, bool],
    ) -> VisitFacts:
        """Gather the facts of some visits under their stylists' habits.

        Parameters
        ----------
        visits : DataFrame (V rows)
            With the columns of `assign_courses`.
        looks : DataFrame
            From `place_looks`.
        reread, heaped : mapping of stylist to bool
            As in `lift_readings`.

        Returns
        -------
        VisitFacts
        """
        goal, achieved = (
            visits[name].to_numpy(dtype=np.float64) for name in ("goal_level", "achieved_level")
        )
        target = (visits["stop"] == "target").to_numpy(dtype=bool)
        rereads = target & visits["stylist"].isin([name for name, yes in reread.items() if yes]).to_numpy()
        heaps = target & visits["stylist"].isin([name for name, yes in heaped.items() if yes]).to_numpy()
        heaps = heaps & (achieved == goal)
        # A stopping look with the result's own level is the result written twice, unless results are read
        # anew. One with another level shows that this result was read anew, whatever the stylist's habit.
        at = looks["visit"].to_numpy(dtype=int)
        twice = looks["ended"].to_numpy(dtype=bool) & ~rereads[at]
        twice = twice & (looks["level"].to_numpy(dtype=np.float64) == achieved[at])
        return cls(
            start=visits["start_level"].to_numpy(dtype=np.float64),
            goal=goal,
            achieved=achieved,
            minutes=visits["minutes"].to_numpy(dtype=np.float64),
            target=target,
            reread=rereads,
            heaped=heaps,
            previous=visits["previous"].to_numpy(dtype=np.int64),
            linked=visits["linked"].to_numpy(dtype=bool),
            looks=looks[~twice],
        )

    @property
    def has_stopping_look(self) -> BoolArray:
        """Whether the look that stopped a visit is written down as a reading beside the result, (V,)."""
        stopping = np.zeros(len(self.start), dtype=bool)
        stopping[self.looks.loc[self.looks["ended"], "visit"]] = True
        return stopping


def look_rows(facts: VisitFacts) -> pd.DataFrame:
    """Looks that are written down, each a reading of its visit.

    Parameters
    ----------
    facts : VisitFacts

    Returns
    -------
    DataFrame
        One row a reading: visit, minutes, kind, lower, upper (levels gained), origin, and alternative, way,
        weight as in `LiftReadings`.
    """
    at = facts.looks["visit"].to_numpy(dtype=np.int64)
    lower, upper = reading_bounds(facts.looks["level"].to_numpy(dtype=np.float64), facts.start[at])
    origin = np.where(facts.looks["ended"], "target_look", "look")
    return _rows(at, facts.looks["minutes"].to_numpy(dtype=np.float64), "look", lower, upper, origin)


def stopping_rows(facts: VisitFacts) -> pd.DataFrame:
    """The look at or above the goal that stopped a visit, where the result was read anew.

    Parameters
    ----------
    facts : VisitFacts

    Returns
    -------
    DataFrame
        As `look_rows`.
    """
    # A look written down is a reading already. A heaped result is nothing but that look in other words.
    at = np.flatnonzero(facts.reread & ~facts.has_stopping_look & ~facts.heaped)
    lower = facts.goal[at] - facts.start[at] - HALF_STEP
    return _rows(at, facts.minutes[at], "look", lower, np.full(len(at), np.inf), "target_look")


def implied_rows(facts: VisitFacts, implied: pd.DataFrame) -> pd.DataFrame:
    """Looks below the goal that nobody wrote down: alternatives where their times are open.

    Parameters
    ----------
    facts : VisitFacts
    implied : DataFrame
        From `implied_looks`.

    Returns
    -------
    DataFrame
        As `look_rows`.
    """
    at = implied["visit"].to_numpy(dtype=np.int64)
    upper = np.where(implied["empty"], np.inf, facts.goal[at] - facts.start[at] - HALF_STEP)
    rows = _rows(
        at, implied["minutes"].to_numpy(dtype=np.float64), "look", np.full(len(at), -np.inf), upper, "implied"
    )
    several = (implied.groupby("visit")["way"].transform("nunique") > 1).to_numpy(dtype=bool)
    code = np.full(len(at), -1)
    code[several] = pd.factorize(at[several])[0]
    weight = np.where(several, implied["weight"].to_numpy(dtype=np.float64), 1.0)
    way = implied["way"].to_numpy(dtype=np.int64)
    return rows.assign(alternative=code, way=np.where(several, way, -1), weight=weight)


def result_rows(facts: VisitFacts, copied_kind: str) -> pd.DataFrame:
    """The result of every visit.

    Parameters
    ----------
    facts : VisitFacts
    copied_kind : {"look", "result"}
        Kind of a result that is the look which stopped its visit.

    Returns
    -------
    DataFrame (V rows)
        As `look_rows`.
    """
    lower, upper = reading_bounds(facts.achieved, facts.start)
    exact = copied_to(facts) >= 0
    lower[exact] = upper[exact] = (facts.achieved - facts.start)[exact]
    lower[facts.heaped] = (facts.goal - facts.start)[facts.heaped] - HALF_STEP
    upper[facts.heaped] = np.inf
    # Where the stopping look is written down, a heaped result adds nothing to it: the row stays, always true.
    lower[facts.heaped & facts.has_stopping_look] = -np.inf
    is_the_look = facts.heaped | (facts.target & ~facts.reread & ~facts.has_stopping_look)
    kind = np.where(is_the_look, copied_kind, "result")
    return _rows(np.arange(len(lower)), facts.minutes, kind, lower, upper, "result")


def copied_starts(previous: IntArray, linked: BoolArray, start: FloatArray, achieved: FloatArray) -> IntArray:
    """The session whose result was copied as a visit's start.

    Where starts are read anew, many agree with the last result by chance, and taking those for copies would
    tie two independent errors, so equal levels count as copies only in a log where nearly all are equal.

    Parameters
    ----------
    previous, linked, start, achieved : ndarray (V,)
        As in `VisitFacts`.

    Returns
    -------
    ndarray of int (V,)
        Row of that session; -1 where there is none, or the start was read anew.
    """
    follower = np.flatnonzero((previous >= 0) & linked)
    before = previous[follower]
    copied = start[follower] == achieved[before]
    of = np.full(len(start), -1, dtype=np.int64)
    if copied.sum() >= COPIED_SHARE * len(copied):
        of[follower[copied]] = before[copied]
    return of


def copied_to(facts: VisitFacts) -> IntArray:
    """The session whose start was copied from a visit's result, and is exact.

    A result that's open at one side isn't a number that a start's error could be measured from. A session
    without a look of its own says of its start's error only that it lies in a window, whose edges a fit would
    miss that takes shared errors for nearly Gaussian: logs without looks then lose their reading error. Such
    a start counts as read anew.

    Parameters
    ----------
    facts : VisitFacts

    Returns
    -------
    ndarray of int (V,)
        Row of that session; -1 where there is none.
    """
    before = copied_starts(facts.previous, facts.linked, facts.start, facts.achieved)
    follower = np.flatnonzero(before >= 0)
    before = before[follower]
    closed = (facts.achieved < TOP) & (facts.achieved > facts.start) & ~facts.heaped
    looked = np.zeros(len(facts.start), dtype=bool)
    looked[facts.looks["visit"].to_numpy(dtype=np.int64)] = True
    copied = closed[before] & looked[follower]
    to = np.full(len(facts.start), -1, dtype=np.int64)
    to[before[copied]] = follower[copied]
    return to


def _rows(
    visit: IntArray,
    minutes: FloatArray,
    kind: str | npt.NDArray[np.str_],
    lower: FloatArray,
    upper: FloatArray,
    origin: str | npt.NDArray[np.str_],
) -> pd.DataFrame:
    columns = {
        "visit": visit,
        "minutes": minutes,
        "kind": kind,
        "lower": lower,
        "upper": upper,
        "origin": origin,
    }
    return pd.DataFrame(columns).assign(alternative=-1, way=-1, weight=1.0)
