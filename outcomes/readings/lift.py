"""A visit log as readings of levels gained, ready for the engine: rows, groups and start errors."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

import numpy as np
import numpy.typing as npt
import pandas as pd

from outcomes.readings.courses import assign_courses
from outcomes.readings.intervals import (
    VisitFacts,
    copied_to,
    implied_rows,
    look_rows,
    result_rows,
    stopping_rows,
)
from outcomes.readings.looks import doubt_looks, implied_looks, place_looks
from outcomes.readings.notes import reading_notes

if TYPE_CHECKING:
    from outcomes.log.read import VisitLog

__all__ = ["REFERENCE_MINUTES", "LiftReadings", "Looked", "lift_readings", "look_at"]

REFERENCE_MINUTES = 45.0

FloatArray = npt.NDArray[np.float64]
BoolArray = npt.NDArray[np.bool_]
IntArray = npt.NDArray[np.int64]
TextArray = npt.NDArray[np.object_]


@dataclass(frozen=True, eq=False)
class LiftReadings:
    """Readings of a log's visits, in order of visit and minutes, the result last.

    Attributes
    ----------
    visits : DataFrame (V rows)
        The log's columns, `course` as a number in place of the log's code, and `session`, `previous`,
        `linked`, `end`, `later_session`.
    visit : ndarray of int (n,)
        Row of `visits` that a reading belongs to.
    minutes, exposure : ndarray (n,)
        Minutes since application, and the same in units of 45 minutes.
    kind : ndarray of str (n,)
        "look" (wet hair, under product) or "result" (rinsed hair).
    lower, upper : ndarray (n,)
        Bounds of the levels gained since the start as written; infinite where open, equal where exact.
    alternative : ndarray of int (n,)
        Rows of one code are alternatives of which one holds; -1 for a reading by itself.
    way : ndarray of int (n,)
        Rows of one code and way hold together; -1 for a reading by itself.
    weight : ndarray (n,)
        Chance of a way, adding up to 1 over the ways of a code; 1 for a reading by itself.
    origin : ndarray of str (n,)
        "look" (written down), "result", "target_look" (the look that stopped a visit), "implied".
    start_codes : ndarray of int (n, 2), start_weights : ndarray (n, 2)
        Visits whose start errors enter a reading, in levels, and how. First the visit's own, weight 1; then,
        for a result copied as the next session's start, that session's, weight -1 (else -1 and 0).
    linked_result : ndarray of bool (n,)
        Those results. They are exact, and have no reading error besides: it is minus the next start's error.
    groups : mapping of str to ndarray of int (n,)
        Codes of "visit", "client", "stylist", "product"; -1 where a product isn't given.
    group_labels : mapping of str to tuple of str
        What the codes stand for.
    notes : tuple of str
        What these readings can't tell, and what was assumed.
    """

    visits: pd.DataFrame
    visit: IntArray
    minutes: FloatArray
    exposure: FloatArray
    kind: TextArray
    lower: FloatArray
    upper: FloatArray
    alternative: IntArray
    way: IntArray
    weight: FloatArray
    origin: TextArray
    start_codes: IntArray
    start_weights: FloatArray
    linked_result: BoolArray
    groups: Mapping[str, IntArray]
    group_labels: Mapping[str, tuple[str, ...]]
    notes: tuple[str, ...]

    def without_target_results(self) -> LiftReadings:
        """The readings that hold whatever a stylist's habit of writing results at the goal is."""
        stopped = (self.visits["stop"] == "target").to_numpy(dtype=bool)[self.visit]
        kept = ~((self.origin == "result") & stopped)
        arrays = (
            *("visit", "minutes", "exposure", "kind", "lower", "upper", "alternative", "way", "weight"),
            *("origin", "start_codes", "start_weights", "linked_result"),
        )
        groups = {name: codes[kept] for name, codes in self.groups.items()}
        return replace(self, **{name: getattr(self, name)[kept] for name in arrays}, groups=groups)

    def less(self, gain: FloatArray) -> LiftReadings:
        """The readings with some levels taken off those gained.

        Parameters
        ----------
        gain : ndarray (V,)
            Levels by which each visit's gain is read too high.

        Returns
        -------
        LiftReadings
        """
        if not gain.any():
            return self
        off = gain[self.visit]
        return replace(self, lower=self.lower - off, upper=self.upper - off)

    def frame(self) -> pd.DataFrame:
        """One row a reading, for reading by people."""
        names = ["visit", "minutes", "kind", "lower", "upper", "alternative", "way", "weight", "origin"]
        return pd.DataFrame({name: getattr(self, name) for name in [*names, "linked_result"]})


@dataclass(frozen=True, eq=False)
class Looked:
    """What a log says whatever its stylists' habits: visits with their courses, looks written down or not.

    Attributes
    ----------
    visits : DataFrame
        As in `LiftReadings`.
    looks : DataFrame
        From `place_looks`.
    unwritten : DataFrame
        From `implied_looks`.
    """

    visits: pd.DataFrame
    looks: pd.DataFrame
    unwritten: pd.DataFrame

    def doubted(self, share: Mapping[str, float]) -> Looked:
        """The same, a share of visits not stopped at the goal being rinsed without a look.

        Parameters
        ----------
        share : mapping of stylist to float

        Returns
        -------
        Looked
        """
        return replace(self, unwritten=doubt_looks(self.unwritten, self.visits, share))


def look_at(log: VisitLog, *, implied: Literal["all", "target"] = "all") -> Looked:
    """Courses and looks of a log, worked out once for readings under several habits.

    Parameters
    ----------
    log : VisitLog
    implied : "all" or "target"
        Whether looks that nobody wrote down are implied for every visit, or only for those stopped at the
        goal; see `implied_looks`.

    Returns
    -------
    Looked
    """
    visits = log.visits.reset_index(drop=True)
    courses = assign_courses(visits)
    visits[courses.columns] = courses
    visits["later_session"] = courses["session"] > 1
    return Looked(visits, place_looks(log), implied_looks(log, stops=implied))


def lift_readings(
    log: VisitLog | Looked,
    *,
    reread: Mapping[str, bool] | None = None,
    heaped: Mapping[str, bool] | None = None,
    copied_kind: Literal["look", "result"] = "result",
    implied: Literal["all", "target"] = "all",
) -> LiftReadings:
    """Turn the visits and looks of a log into readings of levels gained.

    Parameters
    ----------
    log : VisitLog or Looked
        A log, or what `look_at` made of it.
    reread : mapping of stylist to bool, optional
        True: results of `target` visits are read anew after the rinse, so the look that stopped them is a
        reading of its own, at or above the goal. False, and for other stylists: the result is that look.
    heaped : mapping of stylist to bool, optional
        True: the result of a `target` visit that equals the goal says only "at or above the goal".
    copied_kind : "result" or "look"
        Kind of a result that is the look which stopped its visit: "look" gives it a look's error and offset.
    implied : "all" or "target"
        Whether looks that nobody wrote down are implied for every visit, or only for those stopped at the
        goal; see `implied_looks`. `look_at` has its own.

    Returns
    -------
    LiftReadings
    """
    looked = log if isinstance(log, Looked) else look_at(log, implied=implied)
    visits, looks, unwritten = looked.visits, looked.looks, looked.unwritten
    facts = VisitFacts.of(visits, looks, reread or {}, heaped or {})
    parts = [
        implied_rows(facts, unwritten),
        look_rows(facts),
        stopping_rows(facts),
        result_rows(facts, copied_kind),
    ]
    rows = pd.concat([part for part in parts if len(part)] or parts, ignore_index=True)
    # Alternatives stand together, and the result closes its visit.
    place = rows["origin"].map({"implied": 0, "look": 1, "target_look": 2, "result": 3})
    order = ["visit", "place", "way", "minutes"]
    rows = rows.assign(place=place).sort_values(order, kind="stable", ignore_index=True)

    visit = rows["visit"].to_numpy(dtype=np.int64)
    next_visit = np.where(rows["origin"] == "result", copied_to(facts)[visit], -1)
    groups, labels = _groups(visits, visit)
    arrays = {name: rows[name].to_numpy(dtype=np.float64) for name in ("minutes", "lower", "upper", "weight")}
    return LiftReadings(
        visits=visits,
        visit=visit,
        **arrays,
        exposure=arrays["minutes"] / REFERENCE_MINUTES,
        kind=rows["kind"].to_numpy(dtype=object),
        alternative=rows["alternative"].to_numpy(dtype=np.int64),
        way=rows["way"].to_numpy(dtype=np.int64),
        origin=rows["origin"].to_numpy(dtype=object),
        start_codes=np.column_stack([visit, next_visit]),
        start_weights=np.column_stack([np.ones(len(visit)), np.where(next_visit >= 0, -1.0, 0.0)]),
        linked_result=next_visit >= 0,
        groups=groups,
        group_labels=labels,
        notes=reading_notes(visits, rows, unwritten, len(looks)),
    )


def _groups(visits: pd.DataFrame, visit: IntArray) -> tuple[dict[str, IntArray], dict[str, tuple[str, ...]]]:
    """Codes of each group for every reading, and their labels."""
    codes: dict[str, IntArray] = {"visit": visit}
    names = visits["visit"].astype(str) + " " + visits["zone"].astype(str)
    labels = {"visit": tuple(names.tolist())}
    for group in ("client", "stylist", "product"):
        of_visit, found = pd.factorize(visits[group].astype(object), sort=True)
        codes[group] = of_visit.astype(np.int64)[visit]
        labels[group] = tuple(str(label) for label in found)
    return codes, labels
