"""Cells to values, whole columns at a time: each different text of a column is read once."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import pandas as pd

from outcomes.errors import InputError
from outcomes.log.dates import DateRead, read_dates, two_readings
from outcomes.log.schema import PERCENT_PER_VOLUME, PEROXIDE_LIMIT, Column

__all__ = ["ERROR_CELL", "CellRead", "blank_values", "read_cells"]

NUMBER = r"[+-]?(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:[eE][+-]?\d{1,3})?"
_PLAIN = r"-?\d+(?:\.\d+)?"  # a number that needs no repair
_MISSING = ("", "-", "–", "—", "?", "n/a", "na", "#n/a", "nan", "null", "<na>", "nat")
_NO_CODE = ("", "n/a", "N/A", "#N/A", "nan", "NaN", "<NA>")  # a code may well be "NA" or "-"
ERROR_CELL = r"#(?:DIV/0|[A-Z]+)[!?]|#GETTING_DATA"  # how a spreadsheet shows that a formula failed
_TOLERANCE = 1e-9
_HUGE = 1e9  # far out of every range; larger numbers are as wrong, and would only overflow

Texts = pd.Series  # of str (n,), the different texts of a column
Numbers = np.ndarray  # float (n,), NaN where unreadable


@dataclass(frozen=True, eq=False)
class CellRead:
    """One column read.

    Attributes
    ----------
    data : ndarray (n,)
        float, datetime64 or object (str or NaN).
    codes : ndarray of str (n,)
        Reason code of a fault, or empty.
    repairs : tuple of str
        What was read from other spellings, with a count and an example.
    bare : ndarray of bool (n,)
        Developer strengths written without a unit.
    dates : DateRead or None
        How the order of day and month was settled, for a date column.
    """

    data: np.ndarray
    codes: np.ndarray
    repairs: tuple[str, ...]
    bare: np.ndarray
    dates: DateRead | None = None


def read_cells(
    column: Column,
    cells: pd.Categorical,
    *,
    unit: str = "",
    date_system: int = 1900,
    rows: np.ndarray | None = None,
) -> CellRead:
    """Read a column of text and check each value against the column's range and grid.

    Parameters
    ----------
    column : Column
        The rule of the schema.
    cells : Categorical (n,)
        Stripped text.
    unit : str
        Unit of bare numbers, where the heading says so (`volume`).
    date_system : int
        1900 or 1904.
    rows : ndarray of int (n,), optional
        Row numbers, for a refusal to name one.

    Returns
    -------
    CellRead

    Raises
    ------
    InputError
        A date column without a date that can be read in one way only; shows both readings of one.
    """
    present = np.bincount(cells.codes, minlength=len(cells.categories)) > 0
    used, codes = np.flatnonzero(present), (np.cumsum(present) - 1)[cells.codes]
    texts = pd.Series(np.asarray(cells.categories, dtype=object)[used], dtype=object)
    if len(texts) == 0:
        empty = np.zeros(0, dtype=object)
        return CellRead(blank_values(column, 0), empty, (), np.zeros(0, dtype=bool))
    lower = texts if column.kind == "text" else texts.str.casefold()
    missing = lower.isin(_NO_CODE if column.kind == "text" else _MISSING).to_numpy(dtype=bool)
    dates = None
    bare = np.zeros(len(texts), dtype=bool)
    if column.kind == "date":
        dates = read_dates(texts.mask(missing, ""), date_system)
        if dates.unsettled:
            at = int(np.argmax(np.asarray(cells, dtype=object) == dates.unsettled))
            row = "" if rows is None else f" (row {rows[at]})"
            both = two_readings(dates.unsettled)
            raise InputError(
                f"column {column.name}: {dates.unsettled}{row} may be {both}, and no date in the file "
                "settles which; write the dates as YYYY-MM-DD"
            )
        values, faults = dates.days, dates.codes
        plain = texts.str.fullmatch(r"\d{4}-\d\d-\d\d").to_numpy(dtype=bool)
    elif column.kind == "text":
        wrong = _no_code(column, texts)
        values = texts.mask(missing | wrong, np.nan).to_numpy(dtype=object)
        faults = np.where(wrong, "unreadable", "").astype(object)
        plain = np.ones(len(texts), dtype=bool)
    elif column.kind == "word":
        values, faults = _words(column, lower)
        plain = texts.isin(column.words).to_numpy(dtype=bool)
    else:
        if column.reader == "developer":
            values, bare = _developer(lower, unit)
        else:
            values = _READERS.get(column.reader, _measure(column.unit))(lower)
        faults = _number_faults(column, values)
        # a plain number that is read as another one, as 20 below a heading of volume, is a repair too
        plain = texts.str.fullmatch(_PLAIN).to_numpy(dtype=bool) & (
            np.abs(_number(lower) - values) < _TOLERANCE
        )
    faults = np.where(missing, "missing" if column.needed else "", faults).astype(object)
    if column.kind in ("number", "word"):
        values = np.where(missing | (faults != ""), np.nan, values)
    repairs = _repairs(column, texts, values, ~plain & ~missing & (faults == ""), codes)
    return CellRead(values[codes], faults[codes], repairs, bare[codes] & ~missing[codes], dates)


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
    wrong = texts.str.fullmatch(ERROR_CELL)
    if column.needed:
        # such a quote opened in another row; with it, one client or stylist would count as two
        odd = texts.str.count('"') % 2 == 1
        wrong = wrong | odd & (texts.str.startswith('"') | texts.str.endswith('"'))
    return wrong.to_numpy(dtype=bool)


def _number(texts: Texts) -> Numbers:
    """Plain numbers, with a decimal point or comma."""
    sound = texts.where(texts.str.fullmatch(NUMBER, na=False).astype(bool)).str.replace(",", ".", regex=False)
    values = pd.to_numeric(sound, errors="coerce").to_numpy(dtype=float, na_value=np.nan)
    return np.where(np.isfinite(values), np.clip(values, -_HUGE, _HUGE), np.nan)


def _measure(unit: str) -> Callable[[Texts], Numbers]:
    """A number that may carry its unit; a spreadsheet keeps 75 % as 0.75."""

    def read(texts: Texts) -> Numbers:
        values = _number(texts.str.removesuffix(unit).str.strip() if unit else texts)
        if unit == "%":
            share = (values > 0) & (values <= 1) & ~texts.str.endswith("%").to_numpy(dtype=bool)
            values = np.where(share, np.round(values * 100, 6), values)
        return values

    return read


def _level(texts: Texts) -> Numbers:
    """7, 7.5, 7½, 7 1/2, L7, level 7; 7/8 and 7-8 lie between two neighbouring levels."""
    bare = texts.str.replace(r"^(?:level|lvl|l)\.?\s*(?=\d)", "", regex=True)
    halves = bare.str.replace(r"^(\d+)\s*(?:½|\s1/2)$", r"\1.5", regex=True)
    pair = halves.str.extract(r"^(\d{1,2})\s*[/–-]\s*(\d{1,2})$")
    low, high = (
        pd.to_numeric(pair[i], errors="coerce").to_numpy(dtype=float, na_value=np.nan) for i in (0, 1)
    )
    return np.where(np.abs(low - high) == 1, (low + high) / 2, _number(halves))


def _developer(texts: Texts, unit: str) -> tuple[Numbers, np.ndarray]:
    """Percent of 20 vol, 20v, 20-vol, vol 20, 6 %, 6, 6 % (20 vol); also which texts carry no unit."""
    both = texts.str.extract(r"^([^()]*?)\s*\(\s*([^()]*?)\s*\)$")
    doubled = both[0].notna()
    percents, volumes = _percent(texts), _volume(texts)
    if doubled.any():
        first, second = both[0].fillna(""), both[1].fillna("")
        one = np.where(np.isnan(_percent(first)), _volume(first), _percent(first))
        other = np.where(np.isnan(_volume(second)), _percent(second), _volume(second))
        # said twice, in either unit; where the two differ nobody knows which was meant
        mixed = np.isnan(_percent(first)) != np.isnan(_percent(second))
        percents = np.where(doubled & mixed & (np.abs(one - other) < _TOLERANCE), one, percents)
    bare = _number(texts)
    if unit == "volume":
        plain = bare * PERCENT_PER_VOLUME
    else:
        # a spreadsheet keeps 6 % as 0.06; no developer is as weak as that
        plain = np.where((bare >= 0.015) & (bare <= PEROXIDE_LIMIT / 100), bare * 100, bare)
    values = np.where(np.isnan(volumes), np.where(np.isnan(percents), plain, percents), volumes)
    return np.round(values, 6), ~np.isnan(bare)


def _volume(texts: Texts) -> Numbers:
    """Percent of a strength in volume."""
    parts = texts.str.extract(
        rf"^(?:(?P<a>{NUMBER})\s*-?\s*v(?:ol(?:ume)?s?)?\.?|v(?:ol(?:ume)?s?)?\.?\s*(?P<b>{NUMBER}))$"
    )
    before, after = _number(parts["a"]), _number(parts["b"])
    return np.where(np.isnan(before), after, before) * PERCENT_PER_VOLUME


def _percent(texts: Texts) -> Numbers:
    return _number(texts.str.extract(rf"^({NUMBER})\s*(?:%|pct|percent|per cent)$")[0])


def _minutes(texts: Texts) -> Numbers:
    """45, 45 min, 45', 0:45, 1:05, 1h05, 1 h 5 min."""
    number = _number(texts.str.replace(r"\s*(?:min(?:ute)?s?\.?|m|'|′)$", "", regex=True))
    clock = texts.str.extract(r"^(\d{1,2}):([0-5]\d)(?::([0-5]\d))?$")
    spoken = texts.str.extract(r"^(\d{1,2})\s*h(?:(?:ou)?rs?)?\s*(\d{1,2})?\s*(?:min(?:ute)?s?|m)?$")

    def part(frame: pd.DataFrame, i: int) -> Numbers:
        return pd.to_numeric(frame[i], errors="coerce").to_numpy(dtype=float, na_value=np.nan)

    timed = part(clock, 0) * 60 + part(clock, 1) + np.nan_to_num(part(clock, 2)) / 60
    said = part(spoken, 0) * 60 + np.nan_to_num(part(spoken, 1))
    return np.where(np.isnan(timed), np.where(np.isnan(said), number, said), timed)


def _ratio(texts: Texts) -> Numbers:
    """Parts developer to one part: 2, or 1:2 with the developer last (a spreadsheet makes it 1:02)."""
    parts = texts.str.extract(r"^(?P<a>\d+(?:[.,]\d+)?)\s*[:+]\s*(?P<b>\d+(?:[.,]\d+)?)$")
    first, second = _number(parts["a"]), _number(parts["b"])
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        share = second / first
    return np.where(np.isfinite(share), share, _number(texts))


_READERS: dict[str, Callable[[Texts], Numbers]] = {"level": _level, "minutes": _minutes, "ratio": _ratio}


def _words(column: Column, lower: Texts) -> tuple[np.ndarray, np.ndarray]:
    known = {**{word: word for word in column.words}, **column.spellings}
    values = lower.str.replace(r"[\s_-]+", "_", regex=True).map(known)
    return values.to_numpy(dtype=object), np.where(values.isna(), "unreadable", "").astype(object)


def _number_faults(column: Column, values: Numbers) -> np.ndarray:
    faults = np.where(np.isnan(values), "unreadable", "").astype(object)
    if column.step is not None:
        steps = values / column.step
        faults[np.abs(steps - np.round(steps)) > _TOLERANCE] = "off_grid"
    low = -np.inf if column.low is None else column.low
    high = np.inf if column.high is None else column.high
    faults[(values < low - _TOLERANCE) | (values > high + _TOLERANCE)] = "out_of_range"
    if column.reader == "developer":
        faults[values > PEROXIDE_LIMIT + _TOLERANCE] = "peroxide_limit"
    return faults


def _repairs(
    column: Column, texts: Texts, values: np.ndarray, which: np.ndarray, codes: np.ndarray
) -> tuple[str, ...]:
    if not which.any():
        return ()
    at = int(np.flatnonzero(which)[0])
    value = values[at]
    shown = np.datetime_as_string(value, unit="D") if column.kind == "date" else value
    shown = f"{shown:g}" if isinstance(shown, float) else shown
    count = int(which[codes].sum())
    return (f"{column.name}: {count} cell(s) read from other spellings, for example {texts[at]} as {shown}",)
