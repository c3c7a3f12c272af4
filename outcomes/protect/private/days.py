"""Days of the calendar in text, however they are written; the first day of a month is what may stay."""

from __future__ import annotations

import re
from collections.abc import Container, Iterator
from datetime import date, timedelta

from outcomes.log.month_names import MONTHS
from outcomes.protect.private.day_read import FIRST_YEAR, LAST_YEAR, DayRead, dates_of, is_digit
from outcomes.protect.private.epochs import day_of_epoch
from outcomes.protect.private.program_days import days_by_programs, days_joined

__all__ = ["MONTH_WORDS", "DayRead", "day_of_heading", "days_in"]

MONTH_WORDS = frozenset(MONTHS)

_TIME = (
    r"(?:[T ](?P<clock>\d{1,2}:\d{2}(?::\d{2}(?:[.,]\d+)?)?)(?:\s?(?:Z|UTC|GMT|[+-]\d{2}:?\d{2})(?!\w))?)?"
)
_YEAR = r"(?:19\d\d|20\d\d|2100)"
# each begins with a digit, which makes looking for it fast; what may not stand before it is tested after
# 2024-03-14, 2024/3/14, 2024.03.14
_YEAR_FIRST = re.compile(rf"[12]\d{{3}}(?P<mark>[-/.])(?P<month>\d\d?)(?P=mark)(?P<day>\d\d?)(?!\d){_TIME}")
# 14/03/2024, 3-14-2024, 14.03.24
_YEAR_LAST = re.compile(
    rf"(?P<one>\d\d?)(?P<mark>[-/.])(?P<two>\d\d?)(?P=mark)(?P<end>{_YEAR}|\d\d)(?!\d)(?![-/.]\d)"
)
_WEEK = re.compile(r"([12]\d{3})-?W(\d\d)-?([1-7])(?!\d)")  # 2024-W11-4
_COMPACT = re.compile(r"(?P<year>[12]\d{3})(?P<month>[01]\d)(?P<day>[0-3]\d)(?P<clock>T\d{4})?(?!\d)(?!\.\d)")
_ORDINAL = re.compile(rf"({_YEAR})-(\d{{3}})")
_SERIAL = re.compile(r"(\d{5})(?:[.,]\d+)?")
_SERIAL_ORIGIN, _SERIAL_FIRST, _SERIAL_LAST = date(1899, 12, 30), date(1990, 1, 1), date(2099, 12, 31)
_NEAR = 24  # characters before the name of a month within which its day, or year, stands
_LETTERS = re.compile(r"[^\W\d_]+")
_DAY = r"(\d{1,2})(?:st|nd|rd|th|er|º)?"
_APART = r"[\s.,/'-]{0,3}"
_DAY_BEFORE = re.compile(rf"(?<![^\W_]){_DAY}{_APART}(?:(?:of|de)\s+)?$", re.IGNORECASE)
_YEAR_BEFORE = re.compile(rf"(?<!\d)({_YEAR}){_APART}$")
_DAY_BEHIND = re.compile(rf"{_APART}{_DAY}(?!\d)", re.IGNORECASE)
_YEAR_BEHIND = re.compile(rf"{_APART}(?:de\s+)?({_YEAR}|\d\d)(?!\d)")


def days_in(
    text: str, *, worded: bool = True, years: Container[int] = (), known: Container[date] = (),
    any_compact: bool = False,
) -> Iterator[DayRead]:  # fmt: skip
    """Every day of the calendar that a text names, but for the first of a month in ISO form.

    Parameters
    ----------
    text : str
    worded : bool
        Whether months are looked for by name, too.
    years : container of int
        Years that two digits may stand for; without any, two digits are no year.
    known : container of date
        Days that count when they are written without marks (20240314), as other numbers are.
    any_compact : bool
        Whether every eight digits that are a day count.

    Yields
    ------
    DayRead
        In no order. Dates before 1900 or after 2100 are no dates.
    """
    for found in _YEAR_FIRST.finditer(text):
        if not is_digit(text, found.start() - 1) and (days := _year_first(found)):
            yield DayRead(found.start(), found.end(), days)
    for found in _YEAR_LAST.finditer(text):
        if _stands_free(text, found.start()) and (days := _year_last(found, years)):
            yield DayRead(found.start(), found.end(), days)
    for found in _WEEK.finditer(text) if "W" in text else ():
        if not is_digit(text, found.start() - 1) and (days := _of_week(found)):
            yield DayRead(found.start(), found.end(), days)
    for found in _COMPACT.finditer(text):
        before = found.start() - 1
        if is_digit(text, before) or text[max(before, 0)] == ".":
            continue
        days = _compact(found)
        if days and (any_compact or found["clock"] or days[0] in known):
            yield DayRead(found.start(), found.end(), days)
    if "_" in text:
        yield from days_joined(text, is_name=any_compact)
    yield from days_by_programs(text)
    if worded:
        yield from _worded(text, years)


def _stands_free(text: str, start: int) -> bool:
    """Whether neither a word nor another number runs into a date: v1.2.2024, 5.14.3.2024."""
    before = text[start - 1] if start else " "
    return not (before.isalnum() or (before in "-/." and is_digit(text, start - 2)))


def _year_first(found: re.Match[str]) -> tuple[date, ...]:
    mark, month, day = found["mark"], found["month"], found["day"]
    if mark == "." and len(month + day) < 4:  # a version of a program, 2024.3.1
        return ()
    # what anonymising leaves: the first day of a month, with no time but midnight
    if mark == "-" and len(month) == 2 and day == "01" and not (found["clock"] or "").strip("0:.,"):
        return ()
    return dates_of((found[0][:4], month, day))


def _year_last(found: re.Match[str], years: Container[int]) -> tuple[date, ...]:
    one, two, end = found["one"], found["two"], found["end"]
    year = int(end) if len(end) == 4 else _whole_year(end, years)
    if year is None or (len(end) == 2 and found["mark"] != "/" and len(one + two) < 4):
        return ()
    return dates_of((year, two, one), (year, one, two))


def _of_week(found: re.Match[str]) -> tuple[date, ...]:
    try:
        day = date.fromisocalendar(int(found[1]), int(found[2]), int(found[3]))
    except ValueError:
        return ()
    return (day,) if FIRST_YEAR <= day.year <= LAST_YEAR else ()


def _compact(found: re.Match[str]) -> tuple[date, ...]:
    days = dates_of((found["year"], found["month"], found["day"]))
    is_month = bool(days) and days[0].day == 1 and found["clock"] in (None, "T0000")
    return () if is_month else days


def _whole_year(two_digits: str, years: Container[int]) -> int | None:
    return next((year for c in (1900, 2000) if (year := c + int(two_digits)) in years), None)


def _worded(text: str, years: Container[int]) -> Iterator[DayRead]:
    """Days beside the name of a month: 14 March 2024, March 14, 2024, 2024 March 14."""
    names = {word for word in set(_LETTERS.findall(text)) if word.casefold() in MONTHS}
    if not names:
        return
    for name in re.finditer(rf"(?<![^\W_])(?:{'|'.join(sorted(names))})(?![^\W_])", text):
        earlier = max(0, name.start() - _NEAR)
        before = text[earlier : name.start()]
        year = None
        if day := _DAY_BEFORE.search(before):
            start, end = earlier + day.start(), name.end()
        elif day := _DAY_BEHIND.match(text, name.end()):
            year = _YEAR_BEFORE.search(before)
            start, end = earlier + year.start() if year else name.start(), day.end()
        else:
            continue
        month_and_day = MONTHS[name[0].casefold()], int(day[1])
        if year is None and (year := _YEAR_BEHIND.match(text, end)):
            whole = int(year[1]) if len(year[1]) == 4 else _whole_year(year[1], years)
            end = year.end() if whole else end
        else:
            whole = int(year[1]) if year else None
        if whole is not None:
            days = dates_of((whole, *month_and_day))
            if days:
                yield DayRead(start, end, days)
        # without a year only where it's written as a name: "up to 10 may" is no date
        elif name[0][0].isupper() and dates_of((2000, *month_and_day)):
            yield DayRead(start, end, (), month_and_day)


def day_of_heading(text: str) -> date | None:
    """The day of a number that stands under a heading for dates, and would be no date elsewhere.

    Parameters
    ----------
    text : str
        A whole cell: 20240314, 2024-074, a spreadsheet's serial number such as 45365, or what has passed
        since 1970.

    Returns
    -------
    date or None
        None too for the first day of a month.
    """
    text = text.strip()
    if serial := _SERIAL.fullmatch(text):
        day = _SERIAL_ORIGIN + timedelta(days=int(serial[1]))
        return day if _SERIAL_FIRST <= day <= _SERIAL_LAST and day.day != 1 else None
    if ordinal := _ORDINAL.fullmatch(text):
        day = date(int(ordinal[1]), 1, 1) + timedelta(days=int(ordinal[2]) - 1)
        return day if day.year == int(ordinal[1]) and day.day != 1 else None
    if compact := _COMPACT.fullmatch(text):
        return next(iter(_compact(compact)), None)
    return day_of_epoch(text)
