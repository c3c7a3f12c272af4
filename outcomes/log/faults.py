"""Row faults: why a row is set aside. All faults of a row are listed, and the row is counted once."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
import pandas as pd

from outcomes.log.cells import ERROR_CELL, CellRead
from outcomes.log.dates import two_readings
from outcomes.log.headings import HeadingMatch
from outcomes.log.rawtable import RawTable
from outcomes.log.schema import LEVEL_STEP, REASONS, Column, columns

__all__ = [
    "FAULT_COLUMNS",
    "LAB",
    "cell_faults",
    "doubtful_cells",
    "field_faults",
    "finish",
    "found_at",
    "reading_faults",
    "summary_faults",
    "visit_faults",
    "wash_value_faults",
]

FAULT_COLUMNS = ("file", "row", "column", "found", "expected", "code", "message")
_PARTS = ("pos", "row", "column", "found", "expected", "code", "advice")
_TOLERANCE = 1e-9
_SUMS = r"(?:grand |monthly |weekly )?(?:totals?|sums?|averages?|avg|means?|counts?)\b[^\d]*"
LAB = ("L", "a", "b")  # one reading of a colour, of use only as a whole
_PART_OF_COLOUR = "L, a and b count as not given; write what is lacking, or leave all three empty"


def found_at(
    pos: np.ndarray,
    rows: np.ndarray,
    column: str,
    found: Sequence[str] | np.ndarray | str,
    expected: Sequence[str] | np.ndarray | str,
    code: Sequence[str] | np.ndarray | str,
    advice: Sequence[str] | np.ndarray | str = "",
) -> pd.DataFrame:
    """Faults at some positions of a table (pos counts its data rows from 0), one row each.

    Parameters
    ----------
    pos : ndarray of int (k,)
        Positions at fault.
    rows : ndarray of int (m,)
        Spreadsheet row of each data row.
    column : str
        Canonical name; empty where a whole row is at fault.
    found, expected, code : str, or sequence of str (k,)
        What stands there, what may stand there, and a code of `REASONS`.
    advice : str, or sequence of str (k,)
        What to do; where empty, what the reason says.

    Returns
    -------
    DataFrame (k rows)
        pos, row, column, found, expected, code, advice: a part for `finish`.
    """
    frame = pd.DataFrame({"pos": pos, "row": rows[pos]}, columns=pd.Index(_PARTS))
    for name, value in zip(_PARTS[2:], (column, found, expected, code, advice), strict=True):
        frame[name] = value
    return frame


def field_faults(raw: RawTable) -> pd.DataFrame:
    """Rows that were cut short or have too many fields: which value belongs where isn't known.

    Parameters
    ----------
    raw : RawTable
        A table as text.

    Returns
    -------
    DataFrame
        Faults as `found_at` gives them.
    """
    width = len(raw.headings)
    pos = np.flatnonzero(raw.fields != width)
    found = [f"{count} field{'' if count == 1 else 's'}" for count in raw.fields[pos]]
    return found_at(pos, raw.rows, "", found, f"{width} fields", "fields")


def summary_faults(raw: RawTable, needed: Sequence[int]) -> pd.DataFrame:
    """Rows that sum up others, as the last row of a sheet may: total, average and the like.

    Parameters
    ----------
    raw : RawTable
        A table as text.
    needed : sequence of int
        Positions of the needed columns; a row of which most are empty, and that has such a word, is one.

    Returns
    -------
    DataFrame
        Faults as `found_at` gives them.
    """
    empty = np.zeros(len(raw.rows), dtype=np.int64)
    for position in needed:
        cells = raw.cells[position]
        empty += np.isin(cells.codes, np.flatnonzero(cells.categories == ""))
    pos = np.flatnonzero((raw.fields == len(raw.headings)) & (2 * empty > len(needed)))
    word = np.full(len(pos), "", dtype=object)
    for cells in raw.cells:
        texts = pd.Series(np.asarray(cells[pos], dtype=object), dtype=object)
        sums = texts.str.fullmatch(_SUMS, case=False).to_numpy(dtype=bool) & (word == "")
        word[sums] = texts[sums]
    pos, word = pos[word != ""], word[word != ""]
    return found_at(pos, raw.rows, "", word, "a visit or a reading of its own", "summary")


def cell_faults(
    column: Column,
    match: HeadingMatch,
    cells: pd.Categorical,
    read: CellRead,
    pos: np.ndarray,
    rows: np.ndarray,
) -> pd.DataFrame:
    """Faults of one column's cells; `pos` says which data rows the cells belong to.

    Parameters
    ----------
    column : Column
        The rule of the schema.
    match : HeadingMatch
        The heading that names the column; where it is another than the canonical one, faults tell it.
    cells : Categorical (n,)
        The column as text.
    read : CellRead
        The column as it was read.
    pos : ndarray of int (n,)
        Positions of the cells among all data rows.
    rows : ndarray of int (m,)
        Spreadsheet row of each data row.

    Returns
    -------
    DataFrame
        Faults as `found_at` gives them.
    """
    at = np.flatnonzero(read.codes != "")
    found = np.asarray(cells[at], dtype=object)
    codes = read.codes[at]
    advice = np.full(len(at), "", dtype=object)
    for code in np.unique(codes.astype(str)):
        which = codes == code
        advice[which] = _advice(column, code, pd.Series(found[which], dtype=object))
    expected: str | np.ndarray = column.expected
    if read.dates is not None and (codes == "date_order").any():
        first, other = read.dates.day_first, read.dates.month_first
        both = f"one order of day and month; {first} is day first and {other} month first"
        if read.dates.declared:
            both = f"a date in the declared order, {read.dates.declared.replace('-', ' ')}"
        expected = np.where(codes == "date_order", both, column.expected)
    if (codes == "date_unsettled").any():
        either = pd.Series(found, dtype=object)[codes == "date_unsettled"]
        told = either.map({text: two_readings(text) for text in either.unique()})
        expected = np.full(len(at), expected, dtype=object) if isinstance(expected, str) else expected
        expected[either.index] = "one of two days, " + told
    if match.reason != "canonical":
        shown = f', in the column headed "{match.heading}"'
        expected = np.array([text + shown for text in np.broadcast_to(expected, len(at))], dtype=object)
    return found_at(pos[at], rows, column.name, found, expected, codes, advice)


def doubtful_cells(
    table: str, faults: pd.DataFrame, frame: pd.DataFrame
) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Tell cells that cost their row from those that the row can do without.

    Parameters
    ----------
    table : str
    faults : DataFrame
        Of the cells of one table, those of `wash_value_faults` among them.
    frame : DataFrame (n, ...)
        Its values; the index is the position.

    Returns
    -------
    DataFrame, DataFrame
        Faults, and warnings about unreadable cells that count as not given. A zone stays a fault, since with
        the visit it says which row this is; so does a wash reading where its row has no other. A colour of
        which one part is lacking is an unreadable reading too.
    """
    free = {c.name for c in columns(table) if not c.needed} - {"zone"}
    light = (faults["code"] == "unreadable") & faults["column"].isin(free)
    if table != "washes":
        return faults[~light], faults[light].assign(code="unreadable_optional")
    of_colour = faults["column"].isin(LAB)
    read = frame[["level", "tone_left"]].notna().any(axis=1) | frame[list(LAB)].notna().all(axis=1)
    alone = faults["pos"].isin(frame.index[~read]) & (
        of_colour | faults["column"].isin(["level", "tone_left"])
    )
    light = (light | of_colour & (faults["code"] == "missing")) & ~alone
    advice = faults["advice"].mask(of_colour & (faults["advice"] == ""), _PART_OF_COLOUR)
    return faults[~light], faults[light].assign(code="unreadable_optional", advice=advice[light])


def _advice(column: Column, code: str, found: pd.Series[str]) -> pd.Series[str]:
    """What to do, with the value itself in it where that helps; empty for the reason's own advice."""
    nothing = pd.Series("", index=found.index, dtype=object)
    bare = found.str.removesuffix(column.unit).str.strip() if code == "off_grid" else found
    number = pd.to_numeric(bare.str.replace(",", ".", regex=False), errors="coerce")
    if code == "off_grid" and column.step is not None:
        counted = nothing
        if column.unit == "%":
            share = number.between(0, 1, inclusive="right") & ~found.str.endswith("%")
            number = number.mask(share, number * 100)
            counted = nothing.mask(share, found + " counts as " + number.map("{:g} %; ".format))
        below = (np.floor(number / column.step) * column.step).map("{:g}".format)
        above = (np.ceil(number / column.step) * column.step).map("{:g}".format)
        either: pd.Series[str] = (counted + "write " + below + " or " + above).where(number.notna(), nothing)
        return either
    if code == "peroxide_limit":
        text = "if " + found + ' is volume, write "' + found + ' vol"; above 12 % nothing is used on hair'
        return text.where(number.notna(), "nothing above 12 % (40 volume) is used on hair")
    if code == "unreadable":
        failed = found.str.fullmatch(ERROR_CELL)
        told = nothing.mask(failed, "a formula failed there; write the value itself")
        if column.kind == "text":
            told = told.mask(~failed, "take the stray quote out, or look for its other half in a row above")
        if column.reader == "level":
            dated = found.str.fullmatch(r"\d{4}-\d\d-\d\d")
            told = told.mask(dated, "a spreadsheet made a date of it; write 7.5 for 7/8, as text")
        return told
    return nothing


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


def wash_value_faults(
    frame: pd.DataFrame, rows: np.ndarray, faulty: Mapping[str, np.ndarray]
) -> pd.DataFrame:
    """Wash readings without any of the three readings, or with part of L, a, b only.

    Parameters
    ----------
    frame : DataFrame (n, ...)
        Washes; the index is the position.
    rows : ndarray of int
        Spreadsheet row of each data row of that table.
    faulty : mapping of str to ndarray of bool (n,)
        By column, which cells hold something that has a fault of its own: they aren't missing.

    Returns
    -------
    DataFrame
        Faults as `found_at` gives them.
    """
    has = {
        name: frame[name].notna().to_numpy(dtype=bool) | faulty[name] for name in ("level", "tone_left", *LAB)
    }
    some_lab = has["L"] | has["a"] | has["b"]
    pos = frame.index.to_numpy()
    none = ~(has["level"] | has["tone_left"] | some_lab)
    faults = [found_at(pos[none], rows, "level", "", "one of level, tone_left, or L, a and b", "missing")]
    for name in LAB:
        lacking = some_lab & ~has[name]
        faults.append(found_at(pos[lacking], rows, name, "", "L, a and b together", "missing"))
    return pd.concat(faults, ignore_index=True)


def _keys(frame: pd.DataFrame) -> pd.MultiIndex:
    return pd.MultiIndex.from_frame(frame[["visit", "zone"]])


def finish(file: str, parts: Sequence[pd.DataFrame], files: np.ndarray | None = None) -> pd.DataFrame:
    """Faults or warnings of one table, in the order of its rows, each with its sentence.

    Parameters
    ----------
    file : str
        Name shown to people where no row is meant.
    parts : sequence of DataFrame
        As `found_at` gives them.
    files : ndarray of str (m,), optional
        File or sheet of each data row; by default `file`.

    Returns
    -------
    DataFrame
        The columns of `FAULT_COLUMNS`: `row` Int64 (NA where no row is meant), the others str.
    """
    frame = pd.concat([part for part in parts if len(part)] or [_nothing()], ignore_index=True)
    # one sheet after the other, what is about no row last
    pos = frame["pos"].to_numpy(dtype=np.int64)
    frame = frame.iloc[np.lexsort((np.where(pos < 0, np.iinfo(np.int64).max, pos),))]
    frame = frame.reset_index(drop=True)
    reasons = {code: reason.advice for code, reason in REASONS.items()}
    advice = frame["advice"].where(frame["advice"] != "", frame["code"].map(reasons))
    row = frame["row"].astype("Int64")
    frame["file"] = file
    if files is not None and len(files):
        pos = frame["pos"].to_numpy(dtype=np.int64)
        frame["file"] = np.where(pos < 0, file, files[np.maximum(pos, 0)])
    place = (" row " + row.astype("string")).fillna("").astype(object)
    found = frame["found"].where(frame["found"] != "", "is empty")
    subject = (frame["column"] + " " + found).str.strip()
    frame["row"] = row
    frame["message"] = (
        frame["file"] + place + ": " + subject + "; expected " + frame["expected"] + "; " + advice
    )
    return frame[list(FAULT_COLUMNS)].astype({name: object for name in FAULT_COLUMNS if name != "row"})


def _nothing() -> pd.DataFrame:
    return pd.DataFrame({name: pd.Series(dtype=object) for name in _PARTS})
