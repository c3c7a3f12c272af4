"""A day that was read in a text, and which days of the calendar there are."""

from __future__ import annotations

from datetime import date
from typing import NamedTuple

__all__ = ["FIRST_YEAR", "LAST_YEAR", "DayRead", "dates_of", "is_digit"]

FIRST_YEAR, LAST_YEAR = 1900, 2100


class DayRead(NamedTuple):
    """A day in a text: where it stands, and which days it may mean (none where no year is given)."""

    start: int
    end: int
    days: tuple[date, ...]
    month_and_day: tuple[int, int] | None = None


def dates_of(*parts: tuple[str | int, str | int, str | int]) -> tuple[date, ...]:
    """The days that exist among some.

    Parameters
    ----------
    *parts : (year, month, day)

    Returns
    -------
    tuple of date
        Each once; none before 1900 or after 2100.
    """
    found = []
    for year, month, day in parts:
        try:
            one = date(int(year), int(month), int(day))
        except ValueError:
            continue
        if FIRST_YEAR <= one.year <= LAST_YEAR and one not in found:
            found.append(one)
    return tuple(found)


def is_digit(text: str, at: int) -> bool:
    """Whether a digit stands at a place of a text, which may lie before its beginning.

    Parameters
    ----------
    text : str
    at : int

    Returns
    -------
    bool
    """
    return at >= 0 and text[at].isdigit()
