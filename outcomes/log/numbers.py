"""Texts of number columns to numbers, as a salon writes them; each different text is read once."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pandas as pd

from outcomes.log.schema import PERCENT_PER_VOLUME, PEROXIDE_LIMIT, Column

__all__ = ["NUMBER", "TOLERANCE", "number_values", "plain_numbers", "without_notes"]

NUMBER = r"[+-]?(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:[eE][+-]?\d{1,3})?"
TOLERANCE = 1e-9
_HUGE = 1e9  # far out of every range; larger numbers are as wrong, and would only overflow

Texts = pd.Series  # of str (n,), the different texts of a column, in lower case
Numbers = np.ndarray  # float (n,), NaN where unreadable

# a number with the mark of its unit, and behind it words that hold no number and no other unit
_WITH_NOTE = (
    r"^((?:level|lvl|l)?\.?\s*\d[\d.,:/½]*(?:\s*(?:min(?:ute)?s?\b|['′%]|pct\b|v(?:ol(?:ume)?s?)?\b)\.?)?)"
    r"(?:\s*\([^()\d]*[^\W\d][^()\d]*\)|\s*[!*]+|\s*[,;]\s*[^\W\d][^\d]*|\s+(?:[–-]\s*)?(?!(?:or|to|not|no|s|secs?|seconds?|"
    r"h|hrs?|hours?|days?|weeks?|ml|g|oz|cm|mm|v|vol|volumes?|pct|percent|per|levels?)\b)[^\W\d][^\d]*)$"
)


def number_values(column: Column, texts: Texts, unit: str = "") -> tuple[Numbers, np.ndarray]:
    """Values of the different texts of a number column.

    Parameters
    ----------
    column : Column
        The rule of the schema; says how its cells are read.
    texts : Series of str (n,)
        In lower case.
    unit : str
        Unit of bare numbers, where the heading says so (`volume`).

    Returns
    -------
    ndarray of float (n,), ndarray of bool (n,)
        Values in the column's unit, NaN where unreadable; and which are developer strengths without a unit.
    """
    if column.reader == "developer":
        return _developer(texts, unit)
    return _READERS.get(column.reader, _measure(column.unit))(texts), np.zeros(len(texts), dtype=bool)


def without_notes(texts: Texts) -> Texts:
    """The number alone of texts such as "45 (phone rang)" or "7.5, a bit warm"; NaN for all others.

    What follows the number may hold no number itself and no other unit: then nobody can tell which is meant.

    Parameters
    ----------
    texts : Series of str (n,)
        In lower case.

    Returns
    -------
    Series of str (n,)
    """
    return texts.str.extract(_WITH_NOTE)[0]


def plain_numbers(texts: Texts) -> Numbers:
    """Plain numbers, with a decimal point or comma.

    Parameters
    ----------
    texts : Series of str (n,)

    Returns
    -------
    ndarray of float (n,)
        NaN where a text is anything else.
    """
    sound = texts.where(texts.str.fullmatch(NUMBER, na=False).astype(bool)).str.replace(",", ".", regex=False)
    values = pd.to_numeric(sound, errors="coerce").to_numpy(dtype=float, na_value=np.nan)
    return np.where(np.isfinite(values), np.clip(values, -_HUGE, _HUGE), np.nan)


def _measure(unit: str) -> Callable[[Texts], Numbers]:
    """A number that may carry its unit; a spreadsheet keeps 75 % as 0.75."""

    def read(texts: Texts) -> Numbers:
        values = plain_numbers(texts.str.removesuffix(unit).str.strip() if unit else texts)
        if unit == "%":
            share = (values > 0) & (values <= 1) & ~texts.str.endswith("%").to_numpy(dtype=bool)
            values = np.where(share, np.round(values * 100, 6), values)
        return values

    return read


def _level(texts: Texts) -> Numbers:
    """7, 7.5, 7½, 7 1/2, L7, level 7; 7/8 and 7-8 lie between two neighbouring levels."""
    bare = texts.str.replace(r"^(?:level|lvl|l)\.?\s*(?=\d)", "", regex=True)
    halves = bare.str.replace(r"^(\d+)\s*(?:½|\s1/2)$", r"\1.5", regex=True)
    pair = halves.str.extract(r"^(\d{1,2})\s*[/–-]\s*(\d{1,2})$")
    low, high = (
        pd.to_numeric(pair[i], errors="coerce").to_numpy(dtype=float, na_value=np.nan) for i in (0, 1)
    )
    return np.where(np.abs(low - high) == 1, (low + high) / 2, plain_numbers(halves))


def _developer(texts: Texts, unit: str) -> tuple[Numbers, np.ndarray]:
    """Percent of 20 vol, 20v, 20-vol, vol 20, 6 %, 6, 6 % (20 vol); also which texts carry no unit."""
    both = texts.str.extract(r"^([^()]*?)\s*\(\s*([^()]*?)\s*\)$")
    doubled = both[0].notna()
    percents, volumes = _percent(texts), _volume(texts)
    if doubled.any():
        first, second = both[0].fillna(""), both[1].fillna("")
        one = np.where(np.isnan(_percent(first)), _volume(first), _percent(first))
        other = np.where(np.isnan(_volume(second)), _percent(second), _volume(second))
        # said twice, in either unit; where the two differ nobody knows which was meant
        mixed = np.isnan(_percent(first)) != np.isnan(_percent(second))
        percents = np.where(doubled & mixed & (np.abs(one - other) < TOLERANCE), one, percents)
    bare = plain_numbers(texts)
    if unit == "volume":
        plain = bare * PERCENT_PER_VOLUME
    else:
        # a spreadsheet keeps 6 % as 0.06; no developer is as weak as that
        plain = np.where((bare >= 0.015) & (bare <= PEROXIDE_LIMIT / 100), bare * 100, bare)
    values = np.where(np.isnan(volumes), np.where(np.isnan(percents), plain, percents), volumes)
    return np.round(values, 6), ~np.isnan(bare)


def _volume(texts: Texts) -> Numbers:
    """Percent of a strength in volume."""
    parts = texts.str.extract(
        rf"^(?:(?P<a>{NUMBER})\s*-?\s*v(?:ol(?:ume)?s?)?\.?|v(?:ol(?:ume)?s?)?\.?\s*(?P<b>{NUMBER}))$"
    )
    before, after = plain_numbers(parts["a"]), plain_numbers(parts["b"])
    return np.where(np.isnan(before), after, before) * PERCENT_PER_VOLUME


def _percent(texts: Texts) -> Numbers:
    return plain_numbers(texts.str.extract(rf"^({NUMBER})\s*(?:%|pct|percent|per cent)$")[0])


def _minutes(texts: Texts) -> Numbers:
    """45, 45 min, 45', 0:45, 1:05, 1h05, 1 h 5 min."""
    number = plain_numbers(texts.str.replace(r"\s*(?:min(?:ute)?s?\.?|m|'|′)$", "", regex=True))
    clock = texts.str.extract(r"^(\d{1,2}):([0-5]\d)(?::([0-5]\d))?$")
    spoken = texts.str.extract(r"^(\d{1,2})\s*h(?:(?:ou)?rs?)?\s*(\d{1,2})?\s*(?:min(?:ute)?s?|m)?$")

    def part(frame: pd.DataFrame, i: int) -> Numbers:
        return pd.to_numeric(frame[i], errors="coerce").to_numpy(dtype=float, na_value=np.nan)

    timed = part(clock, 0) * 60 + part(clock, 1) + np.nan_to_num(part(clock, 2)) / 60
    said = part(spoken, 0) * 60 + np.nan_to_num(part(spoken, 1))
    return np.where(np.isnan(timed), np.where(np.isnan(said), number, said), timed)


def _ratio(texts: Texts) -> Numbers:
    """Parts developer to one part: 2, or 1:2 with the developer last (a spreadsheet makes it 1:02)."""
    parts = texts.str.extract(r"^(?P<a>\d+(?:[.,]\d+)?)\s*[:+]\s*(?P<b>\d+(?:[.,]\d+)?)$")
    first, second = plain_numbers(parts["a"]), plain_numbers(parts["b"])
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        share = second / first
    return np.where(np.isfinite(share), share, plain_numbers(texts))


_READERS: dict[str, Callable[[Texts], Numbers]] = {"level": _level, "minutes": _minutes, "ratio": _ratio}
