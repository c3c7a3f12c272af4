"""Cells to values, whole columns at a time: each different text of a column is read once."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import pandas as pd

from outcomes.errors import InputError
from outcomes.log.ambiguous import ambiguous
from outcomes.log.dates import DateRead, read_dates, two_readings
from outcomes.log.numbers import TOLERANCE, Texts, number_values, without_notes
from outcomes.log.repairs import number_rules, shown_values
from outcomes.log.schema import PEROXIDE_LIMIT, Column

__all__ = [
    "ERROR_CELL",
    "MISSING",
    "NO_CODE",
    "NO_VALUE",
    "OPEN_AND_SAVE",
    "CellRead",
    "blank_values",
    "read_cells",
]

MISSING = ("", "-", "–", "—", "?", "n/a", "na", "#n/a", "nan", "null", "<na>")
_NO_DATE = (*MISSING, "nat")  # elsewhere NAT may be a word of the salon's own, as short for natural
NO_CODE = ("", "n/a", "N/A", "#N/A", "nan", "NaN", "<NA>")  # a code may well be "NA" or "-"
ERROR_CELL = r"#(?:DIV/0|[A-Z]+)[!?]|#GETTING_DATA"  # how a spreadsheet shows that a formula failed
NO_VALUE = "(formula without a value)"  # stands where a workbook has one; in lower case
OPEN_AND_SAVE = "open and save the workbook in the spreadsheet program, or write the values themselves"
_DATE_RULES = {"serial": "serial_date", "slashed": "slashed_date", "short": "short_year",
               "named": "month_name",
               "iso": "date_form", "": "date_form"}  # fmt: skip


@dataclass(frozen=True, eq=False)
class CellRead:
    """One column read.

    Attributes
    ----------
    data : ndarray (n,)
        float, datetime64 or object (str or NaN).
    codes : Categorical of str (n,)
        Reason code of a fault, or empty.
    faulty : ndarray of bool (n,)
        Which cells have one.
    written : bool
        Whether any cell holds a value, or something that should be one.
    rules : Categorical of str (n,)
        Key of `repairs.RULES` where a value was read from another spelling, or empty.
    shown : Categorical of str (n,)
        Values as the canonical files have them, where there is a rule.
    bare : ndarray of bool (n,)
        Developer strengths written without a unit.
    dates : DateRead or None
        How the order of day and month was settled, for a date column.
    """

    data: np.ndarray
    codes: pd.Categorical
    faulty: np.ndarray
    written: bool
    rules: pd.Categorical
    shown: pd.Categorical
    bare: np.ndarray
    dates: DateRead | None = None


def read_cells(
    column: Column,
    cells: pd.Categorical,
    *,
    unit: str = "",
    date_system: int = 1900,
    rows: np.ndarray | None = None,
    order: str = "",
    words: Mapping[str, str] | None = None,
) -> CellRead:
    """Read a column of text and check each value against the column's range and grid.

    Parameters
    ----------
    column : Column
        The rule of the schema.
    cells : Categorical (n,)
        Stripped text.
    unit : str
        Unit of bare numbers, where the heading says so (`volume`) or a map does (`percent`).
    date_system : int
        1900 or 1904.
    rows : ndarray of int (n,), optional
        Row numbers, for a refusal to name one.
    order : {"", "day-first", "month-first"}
        Of day and month, where it's known from elsewhere.
    words : mapping of str to str, optional
        By spelling in lower case, the log's own word: what a map file explains.

    Returns
    -------
    CellRead

    Raises
    ------
    InputError
        A date column without a date that can be read in one way only; shows both readings of one.
    """
    present = np.bincount(cells.codes, minlength=len(cells.categories)) > 0
    used, codes = np.flatnonzero(present), cells.codes.astype(np.intp)
    if len(used) < len(present):
        codes = (np.cumsum(present) - 1)[codes]
    texts = pd.Series(np.asarray(cells.categories, dtype=object)[used], dtype=object)
    if len(texts) == 0:
        none = _by_code(np.zeros(0, dtype=object), np.zeros(0, dtype=np.int64))
        no = np.zeros(0, dtype=bool)
        return CellRead(blank_values(column, 0), none, no, False, none, none, no)
    lower = texts if column.kind == "text" else texts.str.casefold()
    empty = {"text": NO_CODE, "date": _NO_DATE}.get(column.kind, MISSING)
    # a needed cell is missing then; one that isn't needed isn't empty either, and can't be read
    missing = lower.isin([*empty, NO_VALUE] if column.needed else empty).to_numpy(dtype=bool)
    dates = None
    bare = np.zeros(len(texts), dtype=bool)
    if column.kind == "date":
        dates = read_dates(texts.mask(missing, ""), date_system, order)
        if dates.unsettled:
            raise InputError(_unsettled(column, cells, dates.unsettled, rows))
        values, faults = dates.days, dates.codes
        plain = texts.str.fullmatch(r"\d{4}-\d\d-\d\d").to_numpy(dtype=bool)
        rules = np.where(plain, "", pd.Series(dates.forms).map(_DATE_RULES)).astype(object)
    elif column.kind == "text":
        wrong = _no_code(column, texts)
        values = texts.mask(missing | wrong, np.nan).to_numpy(dtype=object)
        faults = np.where(wrong, "unreadable", "").astype(object)
        rules = np.full(len(texts), "", dtype=object)
    elif column.kind == "word":
        values, faults, rules = _words(column, texts, lower, words or {})
    else:
        values, bare = number_values(column, lower, unit)
        noted = np.isnan(values)
        if noted.any():
            again, unit_less = number_values(column, without_notes(lower), unit)
            noted = noted & ~np.isnan(again) & ~missing
            values, bare = np.where(noted, again, values), np.where(noted, unit_less, bare)
        faults = _number_faults(column, values)
        faults[ambiguous(column, lower, unit, bare)] = "ambiguous"
        rules = number_rules(column, lower, values, noted)
    faults = np.where(missing, "missing" if column.needed else "", faults).astype(object)
    if column.kind in ("number", "word"):
        values = np.where(missing | (faults != ""), np.nan, values)
    rules[missing | (faults != "")] = ""
    shown = np.full(len(texts), "", dtype=object)
    told = rules != ""
    shown[told] = shown_values(column, values[told])
    wrong = faults != ""
    return CellRead(
        values[codes],
        _by_code(faults, codes),
        wrong[codes] if wrong.any() else np.zeros(len(codes), dtype=bool),
        bool(wrong.any() or pd.notna(values).any()),
        _by_code(rules, codes),
        _by_code(shown, codes),
        (bare & ~missing)[codes] if bare.any() else np.zeros(len(codes), dtype=bool),
        dates,
    )


def _by_code(texts: np.ndarray, codes: np.ndarray) -> pd.Categorical:
    """Texts (k,) of the different cells, for each cell (n,), as small as they come."""
    own, found = pd.factorize(texts)
    if len(found) == 1:
        own, codes = own[:1], np.zeros(len(codes), dtype=np.int8)
    if len(found) < 128:  # rules are few: a byte each is taken and checked sooner
        own = own.astype(np.int8)
    return pd.Categorical.from_codes(own[codes], categories=pd.Index(found, dtype=object))


def _unsettled(column: Column, cells: pd.Categorical, date: str, rows: np.ndarray | None) -> str:
    at = int(np.argmax(np.asarray(cells, dtype=object) == date))
    row = "" if rows is None else f" (row {rows[at]})"
    return (
        f"column {column.name}: {date}{row} may be {two_readings(date)}, and no date in the file settles "
        "which; write the dates as YYYY-MM-DD, or say --dates day-first or --dates month-first"
    )


def blank_values(column: Column, n: int) -> np.ndarray:
    """All-missing values (n,) of a column's kind.

    Parameters
    ----------
    column : Column
        The rule of the schema.
    n : int
        Rows.

    Returns
    -------
    ndarray (n,)
        NaT for dates, NaN otherwise: float for numbers, object for text and words.
    """
    if column.kind == "date":
        return np.full(n, np.datetime64("NaT"), dtype="datetime64[ns]")
    return np.full(n, np.nan, dtype=float if column.kind == "number" else object)


def _no_code(column: Column, texts: Texts) -> np.ndarray:
    """Texts that are no code: a spreadsheet's error, or half of a pair of quotes around a needed code."""
    together = "".join(texts)  # a million codes are looked through at once, and most need no closer look
    wrong = texts.str.fullmatch(ERROR_CELL) if "#" in together else pd.Series(False, index=texts.index)
    if NO_VALUE in together:
        wrong = wrong | (texts == NO_VALUE)
    if column.needed and '"' in together:
        # such a quote opened in another row; with it, one client or stylist would count as two
        odd = texts.str.count('"') % 2 == 1
        wrong = wrong | odd & (texts.str.startswith('"') | texts.str.endswith('"'))
    return wrong.to_numpy(dtype=bool)


def _words(
    column: Column, texts: Texts, lower: Texts, own: Mapping[str, str]
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    known = {**{word: word for word in column.words}, **column.spellings}
    values = lower.str.replace(r"[\s_-]+", "_", regex=True).map(known)
    stated = lower.map(dict(own))
    values = stated.where(stated.notna(), values)
    plain = texts.isin(column.words)
    rules = np.where(plain, "", np.where(stated.notna(), "declared", "spelling")).astype(object)
    faults = np.where(values.isna(), "unreadable", "").astype(object)
    return values.to_numpy(dtype=object), faults, rules


def _number_faults(column: Column, values: np.ndarray) -> np.ndarray:
    faults = np.where(np.isnan(values), "unreadable", "").astype(object)
    if column.step is not None:
        steps = values / column.step
        faults[np.abs(steps - np.round(steps)) > TOLERANCE] = "off_grid"
    low = -np.inf if column.low is None else column.low
    high = np.inf if column.high is None else column.high
    faults[(values < low - TOLERANCE) | (values > high + TOLERANCE)] = "out_of_range"
    if column.reader == "developer":
        faults[values > PEROXIDE_LIMIT + TOLERANCE] = "peroxide_limit"
    return faults
