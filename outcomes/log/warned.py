"""Warnings: what looks odd in rows that stay."""

from __future__ import annotations

import numpy as np
import pandas as pd

from outcomes.log.faults import filled, found_at
from outcomes.log.schema import (
    COURSE_GAP_WEEKS,
    COURSE_START_WITHIN,
    PERCENT_PER_VOLUME,
    WEAK_VOLUME,
    column,
)
from outcomes.log.visit_order import within_date

__all__ = ["HEAP_SHARE", "MIN_VISITS", "reading_warnings", "visit_warnings"]

MIN_VISITS = 5  # of a stylist, before a habit is called one
HEAP_SHARE = 0.9  # of a stylist's visits on one value of minutes
LEVEL_JUMP = 4.0  # between two looks
_TOLERANCE = 1e-9
_ZONES = column("visits", "zone").words


def visit_warnings(
    visits: pd.DataFrame, rows: np.ndarray, bare: np.ndarray, in_volume: np.ndarray | None = None
) -> list[pd.DataFrame]:
    """Warnings about used visits.

    Parameters
    ----------
    visits : DataFrame (n, ...)
        Used visits; the index is the position among all data rows.
    rows : ndarray of int (m,)
        Spreadsheet row of each data row.
    bare : ndarray of bool (n,)
        Developer strength written without a unit.
    in_volume : ndarray of bool (n,), optional
        Which of them the heading means as volume; by default none, which means %.

    Returns
    -------
    list of DataFrame
        Parts for `finish`; a warning about a stylist has position -1 and no row.
    """
    pos = visits.index.to_numpy()
    below = ((visits["stop"] == "target") & (visits["achieved_level"] < visits["goal_level"])).to_numpy(
        dtype=bool
    )
    found = filled("{:g}", visits["achieved_level"][below])
    expected = filled("{:g} (goal_level) or more, because stop is target", visits["goal_level"][below])
    told = [found_at(pos[below], rows, "achieved_level", found, expected, "target_below_goal")]
    told += [
        *_unit_unclear(
            visits, rows, bare, np.zeros(len(visits), dtype=bool) if in_volume is None else in_volume
        ),
        _start_far(visits, rows),
        _heaped(visits),
        _no_time_stops(visits),
    ]
    return told


def _unit_unclear(
    visits: pd.DataFrame, rows: np.ndarray, bare: np.ndarray, in_volume: np.ndarray
) -> list[pd.DataFrame]:
    """10 without a unit is 10 volume more often than 10 %; and 6 is 6 %, whatever the heading says."""
    percent = visits["peroxide_pct"].to_numpy(dtype=float)
    volume = percent / PERCENT_PER_VOLUME
    told = []
    for written, odd, expected in (
        (percent, bare & ~in_volume & (percent == WEAK_VOLUME), "a strength with its unit"),
        (
            volume,
            bare & in_volume & (volume < WEAK_VOLUME - _TOLERANCE),
            f"{WEAK_VOLUME:g} or more where the heading says volume, or a strength with its unit",
        ),
    ):
        found = [f"{number:g}" for number in written[odd]]
        advice = [f'write "{number} vol" or "{number} %"' for number in found]
        pos = visits.index.to_numpy()[odd]
        told.append(found_at(pos, rows, "peroxide_pct", found, expected, "unit_unclear", advice))
    return told


def _about(column: str, found: list[str], expected: str, code: str, advice: str = "") -> pd.DataFrame:
    """Warnings about a stylist, or about a whole table (then of no column): they belong to no row."""
    frame = pd.DataFrame({"found": pd.Series(found, dtype=object)})
    frame["row"] = pd.Series(pd.NA, index=frame.index, dtype="Int64")
    return frame.assign(pos=-1, column=column, expected=expected, code=code, advice=advice)


def _heaped(visits: pd.DataFrame) -> pd.DataFrame:
    counts = visits.groupby(["stylist", "minutes"]).size().rename("n").reset_index()
    total = counts.groupby("stylist")["n"].transform("sum")
    heaped = counts[(total >= MIN_VISITS) & (counts["n"] >= HEAP_SHARE * total)]
    found = [
        f"is {minutes:g} in {n} of {of} visits of stylist {stylist}"
        for minutes, n, of, stylist in zip(
            heaped["minutes"], heaped["n"], total[heaped.index], heaped["stylist"], strict=True
        )
    ]
    return _about("minutes", found, "minutes that differ between visits", "heaped_minutes")


def _no_time_stops(visits: pd.DataFrame) -> pd.DataFrame:
    timed = (visits["stop"] == "time").groupby(visits["stylist"]).agg(["size", "sum"])
    never = timed[(timed["size"] >= MIN_VISITS) & (timed["sum"] == 0)]
    found = [f"is time in 0 of {n} visits of stylist {stylist}" for stylist, n in never["size"].items()]
    return _about("stop", found, "some visits that ended for time", "no_time_stops")


def _start_far(visits: pd.DataFrame, rows: np.ndarray) -> pd.DataFrame:
    """Next session of a course, or of the same client and zone on lightened hair within 16 weeks."""
    hair = pd.factorize(visits["client"])[0] * len(_ZONES) + pd.Categorical(visits["zone"], _ZONES).codes
    course = pd.factorize(visits["course"])[0]  # -1 where none is written
    day = visits["date"].to_numpy()
    start = visits["start_level"].to_numpy(dtype=float)
    achieved = visits["achieved_level"].to_numpy(dtype=float)
    order = np.lexsort((within_date(visits), day, course, hair))
    before, here = order[:-1], order[1:]
    follows = (hair[here] == hair[before]) & (course[here] == course[before])
    far = follows & (np.abs(start[here] - achieved[before]) > COURSE_START_WITHIN + _TOLERANCE)
    before, here = before[far], here[far]
    near = day[here] - day[before] <= np.timedelta64(int(7 * COURSE_GAP_WEEKS), "D")
    regrown = visits["zone"].iloc[here].isin(["roots", "all"]).to_numpy(dtype=bool)
    lightened = (visits["hair"].iloc[here] == "lightened").to_numpy(dtype=bool)
    told = (course[here] >= 0) | (near & lightened & ~regrown)
    before, here = before[told], here[told]
    found = filled("{:g}", start[here])
    near_last = f"within {COURSE_START_WITHIN:g} of the last achieved_level, {{:g}}"
    expected = filled(near_last, achieved[before])
    pos = visits.index.to_numpy()[here]
    return found_at(pos, rows, "start_level", found, expected, "start_far_from_last")


def reading_warnings(checks: pd.DataFrame, rows: np.ndarray | None) -> list[pd.DataFrame]:
    """Warnings about used looks.

    Parameters
    ----------
    checks : DataFrame (n, ...)
        Used looks; the index is the position among all data rows.
    rows : ndarray of int (m,) or None
        Spreadsheet row of each data row; None where the log has no checks.

    Returns
    -------
    list of DataFrame
        Parts for `finish`.
    """
    row_each = "a row for each look during processing"
    if rows is None:
        return [_about("", ["no checks"], f"checks.csv or a sheet checks, with {row_each}", "no_checks")]
    if checks.empty and len(rows):
        advice = "mend the faults of these rows; looks make the answers much surer"
        return [_about("", [f"0 of {len(rows)} rows used"], row_each, "no_checks", advice)]
    if checks.empty:
        return [_about("", ["no rows"], row_each, "no_checks")]
    ordered = checks.sort_values(["visit", "zone", "minutes"], kind="stable")
    before = ordered.groupby(["visit", "zone"])["level"].shift()
    jump = ((ordered["level"] - before).abs() >= LEVEL_JUMP - _TOLERANCE).to_numpy(dtype=bool)
    at = ordered.index.to_numpy()[jump]
    found = filled("{:g}", ordered["level"][at])
    expected = filled(f"less than {LEVEL_JUMP:g} from the look before, {{:g}}", before[at])
    return [found_at(at, rows, "level", found, expected, "level_jump")]
