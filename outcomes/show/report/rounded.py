"""Numbers of a report as people say them; what is lacking is an empty text."""

from __future__ import annotations

import re
from math import isfinite
from typing import Any

from outcomes.answers.wording import percent

__all__ = [
    "band",
    "faster",
    "hundredths",
    "is_lacking",
    "mean",
    "named_quarter",
    "quarter_words",
    "share",
    "share_band",
    "whole",
]

_MINUS = "\N{MINUS SIGN}"
_QUARTER = re.compile(r"(\d{4})Q([1-4])")
_NAMES = ("first", "second", "third", "fourth")


def is_lacking(value: Any) -> bool:
    """Whether there is no number to say.

    Parameters
    ----------
    value : float or None

    Returns
    -------
    bool
    """
    return value is None or not isfinite(value)


def whole(value: Any) -> str:
    """A count: 1,204.

    Parameters
    ----------
    value : float or None

    Returns
    -------
    str
    """
    return _said(value, ",.0f")


def mean(value: Any) -> str:
    """A mean of sessions, levels or cases, to one decimal.

    Parameters
    ----------
    value : float or None

    Returns
    -------
    str
    """
    return _said(value, ".1f")


def hundredths(value: Any) -> str:
    """A ratio, points of condition or a median of sessions, to two decimals.

    Parameters
    ----------
    value : float or None

    Returns
    -------
    str
    """
    return _said(value, ".2f")


def share(value: Any) -> str:
    """A share as a whole percentage.

    Parameters
    ----------
    value : float or None
        Usually 0 to 1; a difference of shares may be below.

    Returns
    -------
    str
    """
    if is_lacking(value):
        return ""
    return percent(value) if value >= 0.0 else _MINUS + percent(-value)


def share_band(low: Any, high: Any) -> str:
    """Two shares, with one sign of percent: "51 to 72 %".

    Parameters
    ----------
    low, high : float or None

    Returns
    -------
    str
    """
    return "" if is_lacking(low) or is_lacking(high) else f"{100 * low:.0f} to {100 * high:.0f} %"


def band(low: Any, high: Any, digits: int = 2) -> str:
    """The ends of a band: "0.97 to 1.19".

    Parameters
    ----------
    low, high : float or None
    digits : int
        Decimals.

    Returns
    -------
    str
    """
    ends = [_said(end, f".{digits}f") for end in (low, high)]
    return " to ".join(ends) if all(ends) else ""


def faster(value: float) -> tuple[str, str]:
    """A ratio of rates as how much faster: 1.08 is "8 %", "faster".

    Parameters
    ----------
    value : float
        Above 0.

    Returns
    -------
    tuple of str
        Number and word.
    """
    away = abs(value - 1.0)
    return percent(away), "slower" if value < 1.0 else "faster"


def named_quarter(quarter: str) -> str:
    """A quarter in full: "2026Q3" is "third quarter of 2026"; anything else stays.

    Parameters
    ----------
    quarter : str

    Returns
    -------
    str
    """
    found = _QUARTER.fullmatch(quarter)
    return f"{_NAMES[int(found[2]) - 1]} quarter of {found[1]}" if found else quarter


def quarter_words(quarter: Any) -> str:
    """A quarter for a table: "2026 Q3".

    Parameters
    ----------
    quarter : str or Period

    Returns
    -------
    str
    """
    found = _QUARTER.fullmatch(str(quarter))
    return f"{found[1]} Q{found[2]}" if found else str(quarter)


def _said(value: Any, form: str) -> str:
    if is_lacking(value):
        return ""
    text = format(abs(value), form)
    is_below = value < 0 and any(digit in text for digit in "123456789")
    return _MINUS + text if is_below else text
