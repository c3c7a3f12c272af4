"""What a question gives, read and checked; a complaint names what to write instead."""

from __future__ import annotations

import math
from collections.abc import Sequence

from outcomes.errors import InputError

__all__ = ["MOST_WASHES", "read_level", "read_number", "read_washes", "read_whole", "read_word"]

_DARKEST, _LIGHTEST, _STEP = 1.0, 10.0, 0.5

MOST_WASHES = 200
"""A log takes no more either."""


def read_number(
    name: str, value: float | str, low: float | None = None, high: float | None = None, unit: str = ""
) -> float:
    """A number, within a range where one is given.

    Parameters
    ----------
    name : str
        Of the option, for complaints.
    value : float or str
        With a decimal point or comma.
    low, high : float, optional
        Ends of the range, both included.
    unit : str
        Said after the range.

    Returns
    -------
    float

    Raises
    ------
    InputError
        No finite number, or one out of range.
    """
    try:
        if isinstance(value, bool):
            raise TypeError
        number = float(value.replace(",", ".") if isinstance(value, str) else value)
    except (TypeError, ValueError):
        number = math.nan
    if not math.isfinite(number):
        raise InputError(f"{name}: found {value!r}; expected a number; write it in figures, such as 6 or 7.5")
    if (low is not None and number < low) or (high is not None and number > high):
        ends = f"{low:g} to {high:g}" if low is not None and high is not None else f"{low or high:g}"
        raise InputError(f"{name}: found {number:g}; expected {ends}{unit and ' ' + unit}; correct it")
    return number


def read_level(name: str, value: float | str) -> float:
    """A level of the trade's scale.

    Parameters
    ----------
    name : str
        Of the option, for complaints.
    value : float or str

    Returns
    -------
    float

    Raises
    ------
    InputError
        Not from 1 to 10, or off the half steps.
    """
    level = read_number(name, value)
    if not _DARKEST <= level <= _LIGHTEST:
        raise InputError(
            f"{name}: found level {level:g}; expected 1 (black) to {_LIGHTEST:g} (lightest blonde)"
        )
    if abs(level / _STEP - round(level / _STEP)) > 1e-9:
        below = math.floor(level / _STEP) * _STEP
        raise InputError(
            f"{name}: found level {level:g}; levels go in half steps; write {below:g} or {below + _STEP:g}"
        )
    return level


def read_word(name: str, value: str, allowed: Sequence[str]) -> str:
    """One of some words.

    Parameters
    ----------
    name : str
        Of the option, for complaints.
    value : str
        In any case.
    allowed : sequence of str

    Returns
    -------
    str

    Raises
    ------
    InputError
        Another word.
    """
    word = str(value).strip().lower()
    if word not in allowed:
        raise InputError(f"{name}: found {str(value)!r}; expected one of {', '.join(allowed)}; choose one")
    return word


def read_whole(name: str, value: float | str, low: int, high: int) -> int:
    """A whole number within a range.

    Parameters
    ----------
    name : str
        Of the option, for complaints.
    value : float or str
    low, high : int
        Ends of the range, both included.

    Returns
    -------
    int

    Raises
    ------
    InputError
        No whole number, or one out of range.
    """
    number = read_number(name, value, low, high)
    if number != int(number):
        raise InputError(f"{name}: found {number:g}; expected a whole number, {low} to {high}; correct it")
    return int(number)


def read_washes(name: str, value: float | str) -> float:
    """A number of washes.

    Parameters
    ----------
    name : str
        Of the option, for complaints.
    value : float or str

    Returns
    -------
    float

    Raises
    ------
    InputError
        Not from 1 to 200.
    """
    return read_number(name, value, 1, MOST_WASHES, "washes")
