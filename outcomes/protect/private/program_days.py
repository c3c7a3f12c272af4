"""Days as programs and names of files write them: date(2024, 3, 14), 2024_03_14, seconds since 1970."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import date

from outcomes.protect.private.day_read import DayRead, dates_of, is_digit
from outcomes.protect.private.epochs import day_of_epoch

__all__ = ["days_by_programs", "days_joined"]

# 2024_03_14, as in names of files; the year last only there
_JOINED = re.compile(r"(?P<year>[12]\d{3})_(?P<month>\d\d)_(?P<day>\d\d)(?!\d)")
_JOINED_LAST = re.compile(r"(?P<one>\d\d?)_(?P<two>\d\d?)_(?P<end>(?:19|20)\d\d)(?!\d)")
_MORE = re.compile(r"_\d")
# date(2024, 3, 14), as programs show days; those of pages count months from 0
_CALLED = re.compile(
    r"(?<![^\W_])(?P<new>new\s+)?(?:date|datetime|timestamp)\(\s*(?:year=)?(?P<year>[12]\d{3}),\s*(?:month=)?"
    r"(?P<month>\d\d?),\s*(?:day=)?(?P<day>\d\d?)(?![\d.])(?P<clock>(?:,\s*(?:[a-z]+=)?\d+)*)",
    re.IGNORECASE,
)
_DATE = re.compile(r"date|timestamp", re.IGNORECASE)
_KEYED = re.compile(
    r"(?<![^\W_])date[\"']?\s{0,2}[:=]\s{0,2}[\"']?(?P<number>\d{9,19})(?![\w.])", re.IGNORECASE
)


def days_joined(text: str, *, is_name: bool) -> Iterator[DayRead]:
    """Days whose parts underscores join, but for the first of a month with its year first.

    Parameters
    ----------
    text : str
    is_name : bool
        Whether it's the name of a file; in a text one more number beside them makes it something else.

    Yields
    ------
    DayRead
    """
    for found in _JOINED.finditer(text):
        start, end = found.span()
        beside = (text[start - 1 : start] == "_" and is_digit(text, start - 2)) or _MORE.match(text, end)
        if is_digit(text, start - 1) or (beside and not is_name):
            continue
        days = dates_of((found["year"], found["month"], found["day"])) if found["day"] != "01" else ()
        if days:
            yield DayRead(start, end, days)
    for found in _JOINED_LAST.finditer(text) if is_name else ():
        if not is_digit(text, found.start() - 1) and (days := _year_last(found)):
            yield DayRead(found.start(), found.end(), days)


def _year_last(found: re.Match[str]) -> tuple[date, ...]:
    return dates_of((found["end"], found["two"], found["one"]), (found["end"], found["one"], found["two"]))


def days_by_programs(text: str) -> Iterator[DayRead]:
    """Days as programs show them, and seconds since 1970 behind the word date.

    Parameters
    ----------
    text : str

    Yields
    ------
    DayRead
    """
    if _DATE.search(text) is None:
        return
    for found in _CALLED.finditer(text):
        year, month, day = found["year"], int(found["month"]) + bool(found["new"]), int(found["day"])
        # the first day of a month may stay, with no time but midnight
        if day != 1 or re.search(r"[1-9]", found["clock"]):
            days = dates_of((year, month, day))
            if days:
                yield DayRead(found.start(), found.end(), days)
    for found in _KEYED.finditer(text):
        number = day_of_epoch(found["number"])
        if number is not None:
            yield DayRead(*found.span("number"), (number,))
