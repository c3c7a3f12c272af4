"""What is wrong with single cells, or with how a row is cut; all faults of a row are listed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
import pandas as pd

from outcomes.log.ambiguous import readings_told
from outcomes.log.cells import ERROR_CELL, NO_VALUE, OPEN_AND_SAVE, CellRead
from outcomes.log.dates import two_readings
from outcomes.log.faults import found_at
from outcomes.log.headings import HeadingMatch
from outcomes.log.rawtable import RawTable
from outcomes.log.schema import Column, columns

__all__ = [
    "LAB",
    "cell_faults",
    "doubtful_cells",
    "field_faults",
    "no_code_faults",
    "order_notes",
    "summary_faults",
    "wash_value_faults",
]

LAB = ("L", "a", "b")  # one reading of a colour, of use only as a whole
_NOT_GIVEN = "it counts as not given; "
_PART_OF_COLOUR = "L, a and b count as not given; write what is lacking, or leave all three empty"
_SUMS = r"(?:grand |monthly |weekly )?(?:totals?|sums?|averages?|avg|means?|counts?)\b[^\d]*"


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
    at = np.flatnonzero(read.faulty)
    found = np.asarray(cells[at], dtype=object)
    codes = np.asarray(read.codes[at], dtype=object)
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
    if (codes == "ambiguous").any():
        either = pd.Series(found, dtype=object)[codes == "ambiguous"]
        expected = np.full(len(at), expected, dtype=object) if isinstance(expected, str) else expected
        expected[either.index], advice[either.index] = readings_told(column, either)
    if match.reason != "canonical":
        shown = f', in the column headed "{match.heading}"'
        expected = np.array([text + shown for text in np.broadcast_to(expected, len(at))], dtype=object)
    return found_at(pos[at], rows, column.name, found, expected, codes, advice)


def no_code_faults(table: str, faults: pd.DataFrame) -> pd.DataFrame:
    """Faults of one table, where visit codes were made from client and date: what is lacking is one of these.

    Parameters
    ----------
    table : {"visits", "checks", "washes"}
    faults : DataFrame (k rows)
        Of all its cells, as `cell_faults` gives them.

    Returns
    -------
    DataFrame
        Of a visit whose date has a fault, that one alone; its looks and wash readings go with it.
    """
    lacks = (faults["column"] == "visit") & (faults["code"] == "missing")
    undated = faults.loc[faults["column"] == "date", "pos"]
    told = faults.assign(
        found=faults["found"].mask(lacks, "has no code"),
        expected=faults["expected"].mask(lacks, "a client and a date to make one from"),
    )
    if table == "visits":
        told["advice"] = told["advice"].mask(lacks, "fill in the client")
        return told[~(lacks & told["pos"].isin(undated))]
    return told.assign(code=told["code"].mask(lacks, "visit_set_aside"))


def order_notes(file: str, read: CellRead) -> list[str]:
    """A line about rows that one word from the user would bring back: the order of their dates.

    Parameters
    ----------
    file : str
    read : CellRead
        One column.

    Returns
    -------
    list of str
        Empty where no date is in doubt.
    """
    n = int((read.codes == "date_unsettled").sum())
    dates = "1 date may be of two days" if n == 1 else f"{n:,} dates may each be of two days"
    say = "say --dates day-first or --dates month-first to have such dates read"
    return [f"{file}: {dates}, and nothing in the file settles which; {say}"] if n else []


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
    light = faults["code"].isin(["unreadable", "ambiguous"]) & faults["column"].isin(free)
    either = light & (faults["code"] == "ambiguous")
    faults = faults.assign(advice=faults["advice"].mask(either, _NOT_GIVEN + faults["advice"]))
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
        return told.mask(found == NO_VALUE, OPEN_AND_SAVE)
    if code == "missing":
        return nothing.mask(found == NO_VALUE, OPEN_AND_SAVE)
    return nothing


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
