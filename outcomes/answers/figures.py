"""What a colourist enters for chair time, price and calendar, checked."""

from __future__ import annotations

import re
from dataclasses import dataclass

from outcomes.answers.inputs import read_number
from outcomes.errors import InputError

__all__ = ["Figures", "read_figures"]

SHORTEST, LONGEST = 10.0, 720.0  # minutes in the chair, as in the visit log
CHEAPEST, DEAREST = 0.01, 1e7
CHEAPEST_HOUR = 0.1  # ten minutes of it are more than 0.01
FEWEST_HOURS, MOST_HOURS = 0.25, 24.0
FEWEST_WEEKS, MOST_WEEKS = 1.0, 52.0


@dataclass(frozen=True)
class Figures:
    """Entered figures; None: not entered, so the log's are used where it has any.

    Attributes
    ----------
    minutes_per_visit : float or None
        In the chair.
    price : float or None
        Of a visit; where `hours` is entered, of so many hours in the chair. In any currency.
    hours : float or None
    weeks_between : float or None
        From one session to the next.
    """

    minutes_per_visit: float | None = None
    price: float | None = None
    hours: float | None = None
    weeks_between: float | None = None


def read_figures(
    minutes_per_visit: float | str | None = None,
    price: float | str | None = None,
    hours: float | str | None = None,
    weeks_between: float | str | None = None,
) -> Figures:
    """Read what was entered.

    Parameters
    ----------
    minutes_per_visit : float or str, optional
        10 to 720.
    price : float or str, optional
        0.01 to 10 million.
    hours : float or str, optional
        0.25 to 24; goes with a price.
    weeks_between : float or str, optional
        1 to 52.

    Returns
    -------
    Figures

    Raises
    ------
    InputError
        No number, one out of range, hours without a price, or a price that comes to less than 0.1 an hour.
    """
    if hours is not None and price is None:
        raise InputError("hours: found no price beside it; it says what a price is for; give --price too")
    found = Figures(
        _read("minutes_per_visit", minutes_per_visit, SHORTEST, LONGEST, "minutes"),
        _price(price),
        _read("hours", hours, FEWEST_HOURS, MOST_HOURS, "hours"),
        _read("weeks_between", weeks_between, FEWEST_WEEKS, MOST_WEEKS, "weeks"),
    )
    if found.price is not None and found.hours is not None and found.price / found.hours < CHEAPEST_HOUR:
        raise InputError(
            f"price: found {found.price:g} for {found.hours:g} hours; expected {CHEAPEST_HOUR:g} an hour or "
            "more; correct one of them"
        )
    return found


def _read(name: str, value: float | str | None, low: float, high: float, unit: str) -> float | None:
    return None if value is None else read_number(name, value, low, high, unit)


def _price(value: float | str | None) -> float | None:
    if value is None:
        return None
    if isinstance(value, str) and re.search(r"[1-9]\d*[.,]\d{3,}$", value.strip()):
        raise InputError(
            f"price: found {value.strip()!r}, which may be meant in two ways; expected at most two decimals; "
            "write thousands without a comma or point"
        )
    price = read_number("price", value)
    if not CHEAPEST <= price <= DEAREST:
        raise InputError(
            f"price: found {price:g}; expected {CHEAPEST:g} to {DEAREST:,.0f}, in any currency; correct it"
        )
    return price
