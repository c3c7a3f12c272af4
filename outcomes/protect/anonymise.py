"""A log that may be handed on: pseudonyms for codes, coarse dates, and nothing that few clients share."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pandas as pd

from outcomes.errors import InputError
from outcomes.log.read import VisitLog
from outcomes.log.schema import TABLES, column, columns
from outcomes.protect.anonymised import Anonymised, report
from outcomes.protect.generalise import QUASI_IDENTIFIERS, Generalised, generalise
from outcomes.protect.pseudonyms import LETTERS, pseudonyms, visit_numbers

__all__ = ["FEWEST_CLIENTS", "anonymise"]

FEWEST_CLIENTS = 2
"""A client that shares a combination with nobody is found by it."""

_ROOTS = "roots"
_MEASURED = ("start_L", "achieved_L")
_KEYS = ["visit", "zone"]
_CODES = tuple(c.name for c in columns("visits") if c.kind == "text")

IntArray = npt.NDArray[np.int64]
FloatArray = npt.NDArray[np.float64]


def anonymise(
    log: VisitLog, courses: pd.DataFrame, key: bytes, min_clients: int = 5, period: str = "month"
) -> tuple[VisitLog, Anonymised]:
    """Make a log that may be handed on.

    Only canonical columns leave; text leaves as pseudonyms alone. Rows stand in the order of their new dates
    and codes. All levels of a row (start, goal, result, looks, later readings of the same hair) move
    together, so that levels gained stay as they were; what lies beyond level 10 then is written as 10, which
    stands for "10 or lighter". Root shades, and readings of them, don't move.

    Parameters
    ----------
    log : VisitLog
        With at least one visit.
    courses : DataFrame (visits)
        `course` (a number for each course) and `end`, as `outcomes.readings.courses.assign_courses` gives
        them: without exact dates nobody could put visits into courses again.
    key : bytes
        Same key, same pseudonyms.
    min_clients : int
        Different clients that must share every combination of `QUASI_IDENTIFIERS`.
    period : {"month", "quarter", "year"}
        What dates become the first day of.

    Returns
    -------
    VisitLog, Anonymised
        The log, and what was done to it.

    Raises
    ------
    InputError
        Fewer than 2 clients asked for; no visits; too few clients; two codes with one pseudonym.
    """
    if min_clients < FEWEST_CLIENTS:
        raise InputError(
            f"--min-clients {min_clients}: expected {FEWEST_CLIENTS} or more; 5 is usual, and more is safer"
        )
    if not len(log.visits):
        raise InputError("the log has no visit that can be used; `outcomes check` says why")
    visits = log.visits.reset_index(drop=True)
    course = courses["course"].to_numpy(dtype=np.int64)
    done = generalise(visits, _looked(log, visits), course, min_clients, period)
    made = _made_visits(visits, courses.reset_index(drop=True), done, key, period)
    # by new dates and codes alone, whatever order the rows came in
    order = np.lexsort(tuple(made[name].to_numpy(dtype=str) for name in ("zone", "visit", "date")))
    order = order[done.kept[order]]
    place = np.full(len(visits), -1, dtype=np.int64)
    place[order] = np.arange(len(order))
    tables = {
        "visits": made.iloc[order].reset_index(drop=True),
        "checks": _followed(log.checks, visits, made, done, place, "minutes"),
        "washes": _followed(log.washes, visits, made, done, place, "washes"),
    }
    for t in TABLES:  # text stays object, whichever string type this pandas would choose
        words = {c.name: object for c in columns(t) if c.kind in ("text", "word")}
        tables[t] = tables[t].astype(words)
    given = {(t, c.name) for t in TABLES for c in columns(t) if tables[t][c.name].notna().any()}
    counts = {name: {"in": len(t), "used": len(t), "set_aside": 0} for name, t in tables.items()}
    # by name, so that nothing leaves unseen
    released = VisitLog(
        visits=tables["visits"],
        checks=tables["checks"],
        washes=tables["washes"],
        given=frozenset(given),
        faults=log.faults.iloc[:0],
        warnings=log.warnings.iloc[:0],
        counts=counts,
        source="anonymised log",
        notes=(),
    )
    return released, report(log, released, done, min_clients, period)


def _looked(log: VisitLog, visits: pd.DataFrame) -> npt.NDArray[np.bool_]:
    """Whether it's known which looks were taken: some are written down, or there were none."""
    written = pd.MultiIndex.from_frame(visits[_KEYS]).isin(pd.MultiIndex.from_frame(log.checks[_KEYS]))
    return written | (visits["looks"] == 0).to_numpy(dtype=bool)


def _made_visits(
    visits: pd.DataFrame, courses: pd.DataFrame, done: Generalised, key: bytes, period: str
) -> pd.DataFrame:
    """Visits in their old order, those to be left out among them."""
    made = visits.assign(**{name: done.shown[name] for name in QUASI_IDENTIFIERS})
    made["achieved_level"] = _on_scale(visits["achieved_level"].to_numpy(dtype=np.float64) + done.moved)
    for name in _MEASURED:  # a measured level would say where a moved one was
        made[name] = made[name].where(done.moved == 0.0)
    made["course"] = _course_texts(visits, courses, done)
    # what dates would have said of open courses, the last row of each says from now on
    in_time = courses[done.kept].sort_values(["course", "session"])
    last = in_time.index[~in_time["course"].duplicated(keep="last")]
    made["course_end"] = courses["end"].astype(object).where(courses.index.isin(last))
    for name in _CODES:
        made[name] = pseudonyms(made[name], key, name)
    numbers = visit_numbers(visits, key, period)
    made["visit"] = LETTERS["visit"] + numbers + "-" + made["visit"].str.slice(1)
    return made


def _course_texts(visits: pd.DataFrame, courses: pd.DataFrame, done: Generalised) -> pd.Series:
    """What stands for each course before it gets a pseudonym.

    The log's own code, or else the visit that it began with. Zones that lose their names may not run together
    under one code, so theirs goes into it.
    """
    number = courses["course"].to_numpy()
    first = np.lexsort((courses["session"].to_numpy(), number))
    began = pd.Series(visits["visit"].to_numpy()[first]).groupby(number[first]).first().reindex(number)
    zone = visits["zone"].astype(object)
    own = visits["course"].astype(object)
    apart = own.where(done.shown["zone"] == zone, own + "\0" + zone)
    texts = apart.where(own.notna(), "\0" + pd.Series(began.to_numpy(), dtype=object) + "\0" + zone)
    return texts.astype(object)


def _followed(
    readings: pd.DataFrame,
    visits: pd.DataFrame,
    made: pd.DataFrame,
    done: Generalised,
    place: IntArray,
    by: str,
) -> pd.DataFrame:
    """Looks or wash readings of the rows that are kept, in their order."""
    keys = pd.MultiIndex.from_frame(visits[_KEYS])
    row = keys.get_indexer(pd.MultiIndex.from_frame(readings[_KEYS]))
    at_roots = (readings["zone"] == _ROOTS).to_numpy(dtype=bool) & (by == "washes")
    # a root shade is read at the roots whatever was lightened: then any row of its visit will do
    kept = visits.loc[done.kept, "visit"]
    any_row = pd.Series(kept.index, index=kept.to_numpy()).groupby(level=0).first()
    whose = any_row.reindex(readings["visit"]).fillna(-1).to_numpy(dtype=np.int64)
    row = np.where(row >= 0, row, whose)
    stays = (row >= 0) & done.kept[row]
    zone = made["zone"].to_numpy(dtype=object)[row]
    shift = np.where(at_roots, 0.0, done.moved[row])
    found = readings.assign(
        visit=made["visit"].to_numpy(dtype=object)[row],
        zone=np.where(at_roots, _ROOTS, zone),
        level=_on_scale(readings["level"].to_numpy(dtype=np.float64) + shift),
    )
    order = np.lexsort((readings[by].to_numpy(dtype=np.float64), place[row]))
    return found.iloc[order[stays[order]]].reset_index(drop=True)


def _on_scale(level: FloatArray) -> FloatArray:
    scale = column("visits", "achieved_level")
    assert scale.low is not None
    assert scale.high is not None
    return np.clip(level, scale.low, scale.high)
