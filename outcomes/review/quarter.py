"""Which quarter is meant, which visits are of it, and what may be said of the team's members."""

from __future__ import annotations

import re
from collections.abc import Iterable

import pandas as pd

from outcomes.errors import InputError

__all__ = ["as_quarter", "quarter_visits"]

_FORM = re.compile(r"(\d{4})[ -]?[Qq]([1-4])")


def as_quarter(quarter: str | pd.Period) -> pd.Period:
    """A quarter of a year.

    Parameters
    ----------
    quarter : str or Period
        As "2026Q3".

    Returns
    -------
    Period

    Raises
    ------
    InputError
        Something else.
    """
    if isinstance(quarter, pd.Period) and quarter.freqstr.startswith("Q"):
        return pd.Period(year=quarter.year, quarter=quarter.quarter, freq="Q")
    found = _FORM.fullmatch(str(quarter).strip())
    if not found:
        raise InputError(f'--quarter: found "{quarter}"; expected a year and a quarter, as 2026Q3')
    return pd.Period(year=int(found[1]), quarter=int(found[2]), freq="Q")


def quarter_visits(visits: pd.DataFrame, quarter: pd.Period, salon: str) -> pd.Series:
    """Which visits are of a quarter, in a salon if one is named.

    Parameters
    ----------
    visits : DataFrame (n rows)
        Canonical columns.
    quarter : Period
    salon : str
        Code, or empty.

    Returns
    -------
    Series of bool (n)

    Raises
    ------
    InputError
        No such salon, or no visit of it in that quarter.
    """
    when = visits["date"].dt.to_period("Q")
    mine = pd.Series(True, index=visits.index)
    if salon:
        codes = visits["salon"].dropna().astype(str)
        if not len(codes):
            raise InputError(f"--salon {salon}: the log has no column of salons; leave it out")
        mine = visits["salon"].astype(str) == salon
        if not mine.any():
            raise InputError(f"--salon {salon}: the log has no such salon; it has {_some(codes.unique())}")
    here: pd.Series[bool] = mine & (when == quarter)
    if not here.any():
        of = f" of salon {salon}" if salon else ""
        first, last = when[mine].min(), when[mine].max()
        raise InputError(
            f"quarter {quarter}: the log has no visit{of} in it; its visits are of {first} to {last}"
        )
    return here


def _some(codes: Iterable[str], most: int = 8) -> str:
    known = sorted(codes)
    return ", ".join(known[:most]) + (f" and {len(known) - most} more" if len(known) > most else "")
