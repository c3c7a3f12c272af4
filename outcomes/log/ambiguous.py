"""Numbers that can be read in two ways, of which nobody knows which was meant: they're never guessed.

A bare 10 among bare 20 and 30, which can only be volume, may be 10 % or 10 volume. 1.30 below minutes may be
an hour and a half or 1.3 minutes.
"""

from __future__ import annotations

import numpy as np
import pandas as pd

from outcomes.log.numbers import TOLERANCE, Texts, plain_numbers, without_notes
from outcomes.log.schema import PERCENT_PER_VOLUME, PEROXIDE_LIMIT, WEAK_VOLUME, Column

__all__ = ["CLOCK", "SHORT", "ambiguous", "readings_told"]

CLOCK = r"([0-3]?)[.,]([0-5]\d)"
"""Hours and minutes, or minutes with two decimals: longer than three hours nothing stays on hair."""
SHORT = 4
"""Minutes below which a number may be so written."""


def ambiguous(column: Column, texts: Texts, unit: str, bare: np.ndarray) -> np.ndarray:
    """Which of the different texts of a number column have two readings.

    Parameters
    ----------
    column : Column
        The rule of the schema.
    texts : Series of str (n,)
        In lower case.
    unit : str
        Unit of bare numbers, where the heading or a map says so.
    bare : ndarray of bool (n,)
        Developer strengths without a unit.

    Returns
    -------
    ndarray of bool (n,)
    """
    if column.reader == "minutes":
        clock = texts.str.fullmatch(CLOCK).to_numpy(dtype=bool)
        return clock & (plain_numbers(texts) != 0) if clock.any() else clock
    if column.reader != "developer" or unit or not bare.any():
        return np.zeros(len(texts), dtype=bool)
    written = plain_numbers(texts)
    written = np.where(np.isnan(written), plain_numbers(without_notes(texts)), written)
    most = PEROXIDE_LIMIT / PERCENT_PER_VOLUME
    as_volume = bare & (written > PEROXIDE_LIMIT + TOLERANCE) & (written <= most + TOLERANCE)
    # of the strengths that are sold 10 alone is a number of both: 6, 9 and 12 are %, from 13 on it's volume
    either = bare & (np.abs(written - WEAK_VOLUME) < TOLERANCE)
    return either & as_volume.any()


def readings_told(column: Column, found: pd.Series[str]) -> tuple[pd.Series[str], pd.Series[str]]:
    """What was expected instead of texts with two readings, and what to do.

    Parameters
    ----------
    column : Column
    found : Series of str (k,)
        As written.

    Returns
    -------
    Series of str (k,), Series of str (k,)
    """
    told = found.map({text: _told(column, text) for text in found.unique()})
    return told.str[0].astype(object), told.str[1].astype(object)


def _told(column: Column, text: str) -> tuple[str, str]:
    number = plain_numbers(pd.Series([text, without_notes(pd.Series([text], dtype=object))[0]], dtype=object))
    value = float(number[0] if not np.isnan(number[0]) else number[1])
    if column.reader == "developer":
        volume = f"{value:g} volume = {value * PERCENT_PER_VOLUME:.3g} %"
        return (
            f"a strength with its unit: among numbers that can only be volume {value:g} could be {value:g} % "
            f"or {volume}",
            f'write "{value:g} vol" or "{value:g} %", or say the unit in a map ("peroxide_pct in volume")',
        )
    hours, minutes = int(value), round(value % 1 * 100)
    return (
        f"a time of one reading: it could be {hours} h {minutes:02d} or {value:g} minutes",
        f"write {60 * hours + minutes} or {hours}:{minutes:02d}",
    )
