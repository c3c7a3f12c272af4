"""Time in the chair, weeks and money, rounded as people say them."""

from __future__ import annotations

import math

__all__ = ["hours_said", "money_said", "price_for", "weeks_said", "whole_money"]

_QUARTERS, _HALVES = 15, 30  # minutes
_LONG = 240  # minutes from which on half hours do


def hours_said(minutes: float) -> str:
    """Hours and minutes: to the quarter hour, from four hours on to the half.

    Parameters
    ----------
    minutes : float

    Returns
    -------
    str
        Such as "2 h 45 min", "5 h", "15 min".
    """
    to = _QUARTERS if minutes < _LONG else _HALVES
    said = max(to * math.floor(minutes / to + 0.5), _QUARTERS)
    hours, left = divmod(said, 60)
    return " ".join([*([f"{hours} h"] if hours else []), *([f"{left} min"] if left else [])])


def weeks_said(weeks: float) -> str:
    """Whole weeks.

    Parameters
    ----------
    weeks : float

    Returns
    -------
    str
    """
    whole = math.floor(weeks + 0.5)
    return f"{whole} week{'' if whole == 1 else 's'}"


def money_said(amount: float) -> str:
    """An amount of money to about two figures: 1,234 is "1,250", 372.6 is "375", 42.3 is "42".

    Parameters
    ----------
    amount : float
        Above 0.

    Returns
    -------
    str
    """
    to = 10.0 ** (math.floor(math.log10(amount)) - 1)
    to = to if amount < 100 else to / 2.0
    return whole_money(round(to * math.floor(amount / to + 0.5), 10))


def price_for(price: float, hours: float | None) -> str:
    """A price as it was entered, and what it's for.

    Parameters
    ----------
    price : float
    hours : float or None
        In the chair; None: for a visit.

    Returns
    -------
    str
    """
    if hours is None:
        return f"{whole_money(price)} a visit"
    return f"{whole_money(price)} for {hours:g} hour{'' if hours == 1 else 's'} in the chair"


def whole_money(amount: float) -> str:
    """An amount of money as it is: in whole units where it is whole, else to the hundredth.

    Parameters
    ----------
    amount : float

    Returns
    -------
    str
    """
    return f"{amount:,.0f}" if amount == int(amount) else f"{amount:,.2f}"
