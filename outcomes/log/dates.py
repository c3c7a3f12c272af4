"""Dates: ISO 8601, spreadsheet serials, months by name, and either order of day and month where it's settled.

A year of two digits is read where it's known to stand last: 13/07/26 alone may be a day of 2013 as well.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date

import numpy as np
import pandas as pd

from outcomes.log.month_names import MONTHS

__all__ = ["ORDERS", "DateRead", "read_dates", "serial_days", "two_readings"]

ORDERS = ("day-first", "month-first")

_TIME = r"(?:[T ]\d{1,2}:\d{2}(?::\d{2}(?:\.\d+)?)?)?"
_ISO = rf"(\d{{4}})-(\d{{2}})-(\d{{2}}){_TIME}"
_BASIC = r"(\d{4})(\d{2})(\d{2})"
_WEEK = r"(\d{4})-?W(\d{2})-?(\d)"
_ORDINAL = r"(\d{4})-(\d{3})"
# year first is always month, then day
_YEAR_FIRST = rf"(\d{{4}})([/.])(\d{{1,2}})\2(\d{{1,2}}){_TIME}"
_SLASHED = rf"(\d{{1,2}})([/.-])(\d{{1,2}})\2(\d{{4}}){_TIME}"
# not with hyphens: 13-07-26 is an ISO date cut short as well
_SHORT = rf"(\d{{1,2}})([/.])(\d{{1,2}})\2(\d{{2}}){_TIME}"
_CENTURY = 2000  # of years of two digits
_NAME = r"([^\W\d_]{3,})\.?"
_DAY_NAMED = rf"(\d{{1,2}})(?:st|nd|rd|th|er)?(?:[-/]|\.?\s*){_NAME}(?:[-/]|,?\s*)(\d{{4}}|\d{{2}}){_TIME}"
_NAMED_DAY = rf"{_NAME}\s*(\d{{1,2}})(?:st|nd|rd|th)?,?\s+(\d{{4}}){_TIME}"
_SERIAL = r"\d{5}(?:[.,]\d+)?"
# serial numbers beyond are no days of a log: 12.05 is half a date, 2024 a year, 45 belongs to another column
_SERIAL_DAYS = (np.datetime64("1990-01-01"), np.datetime64("2099-12-31"))

Days = np.ndarray  # datetime64[ns] (n,), NaT where there is none


@dataclass(frozen=True, eq=False)
class DateRead:
    """Dates of a column and what stood in the way.

    Attributes
    ----------
    days : ndarray of datetime64 (n,)
    codes : ndarray of str (n,)
        Reason code, or empty.
    unsettled : str
        A date that can be read in two ways when the column has no date that can be read in one way only;
        empty otherwise.
    day_first, month_first : str
        An example that settles each order; both are there when the column contradicts itself.
    declared : str
        The order that was stated from outside: one of `ORDERS`, or empty.
    forms : ndarray of str (n,)
        How each date was written: `iso`, `serial`, `named`, `slashed`, `short` (slashed, with a year of two
        digits), or empty where nothing was read.
    """

    days: Days
    codes: np.ndarray
    unsettled: str
    day_first: str
    month_first: str
    declared: str
    forms: np.ndarray

    @property
    def settled(self) -> str:
        """The order that the column itself settles: one of `ORDERS`, or empty where it says none or both."""
        if bool(self.day_first) == bool(self.month_first):
            return ""
        return ORDERS[0] if self.day_first else ORDERS[1]


def _calendar(year: pd.Series[float], month: pd.Series[float], day: pd.Series[float]) -> Days:
    """Days of the calendar; NaT where it has no such day."""
    parts = pd.DataFrame({"year": year, "month": month, "day": day})
    sound = parts.notna().all(axis=1) & parts["month"].between(1, 12) & parts["day"].between(1, 31)
    days = pd.Series(pd.NaT, index=parts.index, dtype="datetime64[ns]")
    sound &= parts["year"].between(1700, 2200)
    if sound.any():
        days[sound] = pd.to_datetime(parts[sound].astype(int), errors="coerce")
    return days.to_numpy()


def serial_days(serials: np.ndarray, system: int = 1900) -> Days:
    """Days of spreadsheet serial numbers, the time of day dropped.

    Parameters
    ----------
    serials : ndarray (n,)
        Numbers from 1 (1900 system) or 0 (1904 system); fractions are times of day.
    system : int
        1900 or 1904.

    Returns
    -------
    ndarray of datetime64 (n,)
        NaT for serial 60 of the 1900 system, a 29 February 1900 that never was, and for anything below 1 (0).

    Notes
    -----
    1900 system: 1899-12-31 + n up to 59, 1899-12-30 + n from 61 on; 1904 system: 1904-01-01 + n.
    """
    whole = np.floor(np.asarray(serials, dtype=float))
    if system == 1904:
        origin, sound, shift = "1904-01-01", whole >= 0, whole
    else:
        origin, sound = "1899-12-30", (whole >= 1) & (whole != 60)
        shift = np.where(whole < 60, whole + 1, whole)
    sound &= np.isfinite(whole) & (whole < 100_000)
    offsets = np.where(sound, shift, 0).astype("timedelta64[D]")
    days = (np.datetime64(origin) + offsets).astype("datetime64[ns]")
    days[~sound] = np.datetime64("NaT")
    return days


def _numbers(parts: pd.DataFrame, *which: int) -> list[pd.Series[float]]:
    return [pd.to_numeric(parts[i], errors="coerce") for i in which]


def read_dates(texts: pd.Series[str], system: int = 1900, order: str = "") -> DateRead:
    """Read the different texts of one date column.

    Parameters
    ----------
    texts : Series of str (n,)
        All texts of the column, once each: the order of day and month is settled over all of them.
    system : int
        Date system of bare serial numbers, which are days of 1990 to 2099.
    order : {"", "day-first", "month-first"}
        Of day and month, where it's known from elsewhere: a date that can only be read in the other order is
        then a fault.

    Returns
    -------
    DateRead
    """
    upper = texts.str.upper()
    days = np.full(len(texts), np.datetime64("NaT"), dtype="datetime64[ns]")
    known = np.zeros(len(texts), dtype=bool)
    forms = np.full(len(texts), "", dtype=object)

    def put(found: Days, where: np.ndarray, form: str = "iso") -> None:
        days[where] = found[where]
        known[where] = True
        forms[where] = form

    for pattern in (_ISO, _BASIC):
        parts = upper.str.extract(f"^{pattern}$")
        put(_calendar(*_numbers(parts, 0, 1, 2)), parts[0].notna().to_numpy())
    parts = upper.str.extract(f"^{_WEEK}$")
    put(_week_days(*_numbers(parts, 0, 1, 2)), parts[0].notna().to_numpy())
    parts = upper.str.extract(f"^{_ORDINAL}$")
    put(_ordinal_days(*_numbers(parts, 0, 1)), parts[0].notna().to_numpy())
    serial = upper.where(upper.str.fullmatch(_SERIAL)).str.replace(",", ".", regex=False)
    numbered = serial_days(
        pd.to_numeric(serial, errors="coerce").to_numpy(dtype=float, na_value=np.nan), system
    )
    put(numbered, (numbered >= _SERIAL_DAYS[0]) & (numbered <= _SERIAL_DAYS[1]), "serial")

    lower = texts.str.casefold()
    parts = upper.str.extract(f"^{_YEAR_FIRST}$")
    marks_first = set(parts[1].dropna())  # behind years that stand first
    put(_calendar(*_numbers(parts, 0, 2, 3)), parts[0].notna().to_numpy())
    for pattern, (of_year, month, day) in ((_DAY_NAMED, (2, 1, 0)), (_NAMED_DAY, (2, 0, 1))):
        parts = lower.str.extract(f"^{pattern}$")
        months = parts[month].map(MONTHS).astype(float)
        named = months.notna().to_numpy()
        put(_calendar(_years(parts[of_year]), months, *_numbers(parts, day)), named, "named")

    parts = upper.str.extract(f"^{_SLASHED}$")
    slashed = parts[0].notna().to_numpy()
    short, doubted, short_parts = _short_years(upper, bool(order), bool(slashed.any()), marks_first)
    parts[short] = short_parts[short]
    slashed = slashed | short
    first, second = _numbers(parts, 0, 2)
    year = _years(parts[3])
    day_first, month_first = _calendar(year, second, first), _calendar(year, first, second)
    only_day = slashed & ~np.isnat(day_first) & np.isnat(month_first)
    only_month = slashed & np.isnat(day_first) & ~np.isnat(month_first)
    alike = slashed & ~np.isnat(day_first) & (day_first == month_first)
    either = slashed & ~np.isnat(day_first) & ~np.isnat(month_first) & ~alike
    put(np.where(np.isnat(day_first), month_first, day_first), slashed, "slashed")
    forms[short] = "short"
    codes = np.where(known, np.where(np.isnat(days), "no_such_date", ""), "unreadable").astype(object)
    codes[(texts == "").to_numpy(dtype=bool)] = ""
    in_doubt = doubted
    if order:
        chosen, other = (day_first, only_month) if order == ORDERS[0] else (month_first, only_day)
        days[slashed] = chosen[slashed]
        codes[slashed & np.isnat(chosen)] = "no_such_date"
        codes[other] = "date_order"
    elif only_day.any() and only_month.any():
        codes[slashed] = "date_order"
        days[slashed] = np.datetime64("NaT")
    elif only_month.any():
        days[slashed] = month_first[slashed]
        codes[slashed & np.isnat(month_first)] = "no_such_date"
    elif not only_day.any():
        in_doubt = doubted | either
    unsettled = ""
    if in_doubt.any():
        # other dates say nothing about the order of these: one that can't be told apart is no reason to leave
        # a whole log unread, but neither is it read by guessing. 07/07/2024 is written as those in doubt are:
        # a column of nothing else is in doubt as a whole
        if (~in_doubt & ~alike & ~np.isnat(days)).any():
            codes[in_doubt] = "date_unsettled"
            days[in_doubt] = np.datetime64("NaT")
        else:
            unsettled = str(texts[in_doubt].iloc[0])

    def example(mask: np.ndarray) -> str:
        return str(texts[mask].iloc[0]) if mask.any() else ""

    return DateRead(days, codes, unsettled, example(only_day), example(only_month), order, forms)


def _years(written: pd.Series[str]) -> pd.Series[float]:
    year = pd.to_numeric(written, errors="coerce")
    return year.mask(written.str.len() == 2, year + _CENTURY)


def _short_years(
    upper: pd.Series[str], ordered: bool, year_last: bool, marks_first: set[str]
) -> tuple[np.ndarray, np.ndarray, pd.DataFrame]:
    """Dates whose year has two digits: which have it last, of which that isn't known, and their parts.

    It's known where the order was stated. Else it's last behind dots; between slashes where other dates of
    the column have it last, or where a date has no such day with its year first. Neither counts where a whole
    year stands first before the same mark.
    """
    parts = upper.str.extract(f"^{_SHORT}$")
    short = parts[0].notna().to_numpy()
    if ordered or not short.any():
        return short, np.zeros_like(short), parts
    first, second, third = _numbers(parts, 0, 2, 3)
    year = third + _CENTURY
    as_first = ~np.isnat(_calendar(first + _CENTURY, second, third))
    as_last = ~np.isnat(_calendar(year, second, first)) | ~np.isnat(_calendar(year, first, second))
    dotted = short & (parts[1] == ".").to_numpy(dtype=bool)
    slashes = short & ~dotted
    shown = (slashes & as_last & ~as_first).any() and not (slashes & as_first & ~as_last).any()
    last = np.zeros_like(short)
    if "." not in marks_first:
        last |= dotted
    if "/" not in marks_first and (year_last or last.any() or shown):
        last |= slashes
    return last, short & ~last & as_last, parts


def two_readings(text: str) -> str:
    """The days that a date of two small numbers and a year may be, in words.

    Parameters
    ----------
    text : str
        A date such as 03/04/2024 or 13/07/26.

    Returns
    -------
    str
        Each day in ISO form, with its order.
    """
    parts = re.match(_SLASHED, text) or re.match(_SHORT, text)
    assert parts is not None  # only such dates have several readings
    first, second, last = parts[1], parts[3], parts[4]
    readings = {"day first": (last, second, first), "month first": (last, first, second)}
    if len(last) == 2:
        readings["year first"] = (first, second, last)
    told = []
    for order, (year, month, day) in readings.items():
        try:
            whole = int(year) + (_CENTURY if len(year) < 4 else 0)
            told.append(f"{date(whole, int(month), int(day))} ({order})")
        except ValueError:
            continue
    return " or ".join(filter(None, [", ".join(told[:-1]), told[-1]]))


def _shifted(days: Days, by: pd.Series[float], sound: np.ndarray) -> Days:
    """Days moved by whole days where sound, NaT elsewhere."""
    offsets = np.where(sound, by, 0).astype("timedelta64[D]").astype("timedelta64[ns]")
    moved: Days = np.where(sound, days + offsets, np.datetime64("NaT", "ns"))
    return moved


def _first_monday(year: pd.Series[float]) -> Days:
    """Monday of the first ISO week, the one that holds 4 January."""
    ones = pd.Series(1.0, index=year.index)
    fourth = _calendar(year, ones, ones * 4)
    weekday = pd.Series(fourth, index=year.index).dt.day_of_week.astype(float)
    return _shifted(fourth, -weekday, ~np.isnat(fourth))


def _week_days(year: pd.Series[float], week: pd.Series[float], day: pd.Series[float]) -> Days:
    """ISO week dates; NaT where the year has no such week, or the week no such day."""
    monday = _first_monday(year)
    sound = (week.between(1, 53) & day.between(1, 7)).to_numpy(dtype=bool) & ~np.isnat(monday)
    days = _shifted(monday, (week - 1) * 7 + day - 1, sound)
    return np.where(days < _first_monday(year + 1), days, np.datetime64("NaT", "ns"))


def _ordinal_days(year: pd.Series[float], number: pd.Series[float]) -> Days:
    ones = pd.Series(1.0, index=year.index)
    first, next_first = _calendar(year, ones, ones), _calendar(year + 1, ones, ones)
    days = _shifted(first, number - 1, (number >= 1).to_numpy(dtype=bool) & ~np.isnat(first))
    return np.where(days < next_first, days, np.datetime64("NaT", "ns"))
