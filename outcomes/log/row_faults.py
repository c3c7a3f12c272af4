"""What is wrong between cells of a row, and between rows: repeated codes, readings without their visit."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd

from outcomes.log.faults import found_at
from outcomes.log.schema import LEVEL_STEP

__all__ = ["reading_faults", "visit_faults"]

_TOLERANCE = 1e-9


def visit_faults(frame: pd.DataFrame, rows: np.ndarray) -> pd.DataFrame:
    """Faults between the columns and the rows of `visits`; the frame's index is the position.

    Parameters
    ----------
    frame : DataFrame (n, ...)
        Values of `visits`; the index is the position.
    rows : ndarray of int (m,)
        Spreadsheet row of each data row.

    Returns
    -------
    DataFrame
        Faults as `found_at` gives them.
    """
    start, goal, achieved = (frame[name] for name in ("start_level", "goal_level", "achieved_level"))
    faults = []

    def add(
        mask: pd.Series[bool], column: str, form: str, expected: str, code: str, *told: pd.Series[Any]
    ) -> None:
        """Faults where the mask is set: the value in its form, and `expected` filled with what is told."""
        at = mask.to_numpy(dtype=bool)
        found = [form.format(value) for value in frame[column][at]]
        filled = [expected.format(*values) for values in zip(*(series[at] for series in told), strict=True)]
        faults.append(found_at(frame.index.to_numpy()[at], rows, column, found, filled, code))

    add(goal <= start + _TOLERANCE, "goal_level", "{:g}", "a goal above start_level {:g}",
        "goal_not_above_start", start)  # fmt: skip
    add(achieved < start - LEVEL_STEP - _TOLERANCE, "achieved_level", "{:g}",
        "at least {:g}, one step below start_level {:g}", "achieved_below_start",
        start - LEVEL_STEP, start)  # fmt: skip
    # only rows that share their visit's code can repeat or contradict each other
    frame = frame[frame["visit"].notna() & frame["visit"].duplicated(keep=False)]
    visit, zone = frame["visit"], frame["zone"]
    row = pd.Series(rows[frame.index], index=frame.index)
    earlier = row.groupby([visit, zone], sort=False).transform("first")
    repeated = zone.notna() & frame.duplicated(["visit", "zone"])
    add(repeated, "visit", "{}", "each visit and zone once (zone {} of it stands in row {:.0f})", "repeated",
        zone, earlier)  # fmt: skip
    for name, form in (("client", "{}"), ("date", "{:%Y-%m-%d}")):
        first = frame[name].groupby(visit, sort=False).transform("first")
        differs = frame[name].notna() & first.notna() & (frame[name] != first)
        add(differs, name, form, f"{form}, which the first row of visit {{}} has", "codes_collide", first,
            visit)  # fmt: skip
    return pd.concat(faults, ignore_index=True)


def reading_faults(
    frame: pd.DataFrame, rows: np.ndarray, visits: pd.DataFrame, used: np.ndarray, *, at_roots: bool
) -> pd.DataFrame:
    """Looks or wash readings without their visit, or of a visit that is two; and looks after the rinse.

    Parameters
    ----------
    frame : DataFrame (n, ...)
        Checks or washes; the index is the position.
    rows : ndarray of int
        Spreadsheet row of each data row of that table.
    visits : DataFrame (m, ...)
        All visits, set aside or not.
    used : ndarray of bool (m,)
        Which visits are used.
    at_roots : bool
        A reading at the roots belongs to its visit whatever zone was lightened: it reads the root shade.

    Returns
    -------
    DataFrame
        Faults as `found_at` gives them.
    """
    own = _keys(frame)
    sound = visits[used]
    match = _keys(sound).get_indexer(own)
    there = match >= 0
    known = own.isin(_keys(visits))
    owners = _rivals(visits, ["visit", "zone"], own)
    if at_roots:
        roots = (frame["zone"] == "roots").to_numpy(dtype=bool)
        there = there | roots & frame["visit"].isin(sound["visit"]).to_numpy(dtype=bool)
        known = known | roots & frame["visit"].isin(visits["visit"]).to_numpy(dtype=bool)
        owners[roots] = _rivals(visits, ["visit"], pd.Index(frame["visit"]))[roots]
    named = (frame["visit"].notna() & frame["zone"].notna()).to_numpy(dtype=bool)
    pos = frame.index.to_numpy()
    shared = named & (owners != "")
    gone = named & ~there & ~shared
    faults = []
    for code, mask, expected in (
        ("codes_collide", shared, "a visit of one client and one day at zone {}, not of {}"),
        ("no_visit", gone & ~known, "a visit that has zone {} in visits"),
        ("visit_set_aside", gone & known, "a visit of which zone {} is used"),
    ):
        found = frame["visit"][mask].to_numpy(dtype=object)
        told = [expected.format(*words) for words in zip(frame["zone"][mask], owners[mask], strict=True)]
        faults.append(found_at(pos[mask], rows, "visit", found, told, code))
    if "minutes" in frame:
        rinse = np.full(len(frame), np.nan)
        rinsed = (match >= 0) & ~shared
        rinse[rinsed] = sound["minutes"].to_numpy(dtype=float)[match[rinsed]]
        late = frame["minutes"].to_numpy(dtype=float) > rinse + _TOLERANCE
        read_at = [f"{minutes:g}" for minutes in frame["minutes"][late]]
        told = [f"at most {minutes:g}, when it was rinsed" for minutes in rinse[late]]
        faults.append(found_at(pos[late], rows, "minutes", read_at, told, "after_rinse"))
    return pd.concat(faults, ignore_index=True)


def _rivals(visits: pd.DataFrame, keys: list[str], of: pd.Index[Any]) -> np.ndarray:
    """Which clients or days share the key of each reading (n,), in words; empty where there is only one."""
    shown = visits.loc[visits.duplicated(keys, keep=False), [*keys, "client", "date"]].dropna(subset=keys)
    shown["date"] = shown["date"].dt.strftime("%Y-%m-%d")
    told = np.full(len(of), "", dtype=object)
    for name in ("date", "client"):  # where both differ, clients are told
        each = shown.dropna(subset=[name]).drop_duplicates([*keys, name])
        groups = each[each.duplicated(keys, keep=False)].groupby(keys if len(keys) > 1 else keys[0])[name]
        words = groups.first() + " and " + groups.last()  # two of them are enough to be told
        at = words.index.get_indexer(of)
        told[at >= 0] = words.to_numpy(dtype=object)[at[at >= 0]]
    return told


def _keys(frame: pd.DataFrame) -> pd.MultiIndex:
    return pd.MultiIndex.from_frame(frame[["visit", "zone"]])
