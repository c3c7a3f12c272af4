"""Text that a spreadsheet would run as a formula: harmless on its way out, itself again on its way in."""

from __future__ import annotations

import os

import pandas as pd

from outcomes.log.numbers import NUMBER

__all__ = ["as_meant", "harmless", "write_rows"]

# also as written full width in East Asian text
_RUNS = "[=+\\-@\uff1d\uff0b\uff0d\uff20]"
_FIRST = rf"[ \xa0]*{_RUNS}|[\t\r]"
# Where a spreadsheet of another country parts the cells of a comma-separated line
_PARTED = r"[;\t\r\n][ \xa0]*"


def harmless(texts: pd.Series[str]) -> pd.Series[str]:
    """Text that would run as a formula gets an apostrophe in front; `as_meant` takes it off again.

    Parameters
    ----------
    texts : Series of str (n,)
        Cells to be written; NaN stays.

    Returns
    -------
    Series of str (n,)

    References
    ----------
    OWASP, CSV Injection: fields that begin with =, +, -, @, tab or carriage return, also behind a separator.
    """
    cells = texts.astype(object)
    runs = cells.str.match(_FIRST, na=False) & ~cells.str.fullmatch(NUMBER, na=False)
    first = cells.mask(runs.astype(bool), "'" + cells)
    within = first.str.contains(rf"{_PARTED}{_RUNS}", na=False)
    if not within.any():
        return first
    return first.mask(
        within.astype(bool), first.str.replace(rf"({_PARTED})(?={_RUNS})", r"\1'", regex=True)
    ).astype(object)


def as_meant(texts: pd.Series[str]) -> pd.Series[str]:
    """Text without the apostrophes that `harmless` put into it.

    Parameters
    ----------
    texts : Series of str (n,)

    Returns
    -------
    Series of str (n,)
    """
    first = texts.str.replace(rf"^'(?={_FIRST})", "", regex=True)
    return first.str.replace(rf"({_PARTED})'(?={_RUNS})", r"\1", regex=True)


def write_rows(rows: pd.DataFrame, path: str | os.PathLike[str], float_format: str | None = None) -> None:
    """A table as CSV (UTF-8, line feeds, ISO dates), with every text in it harmless.

    Parameters
    ----------
    rows : DataFrame
    path : path
        One that is there is replaced.
    float_format : str, optional
        As `pandas.DataFrame.to_csv` takes it; without, every digit.
    """
    words = rows.select_dtypes(["object", "string", "category"])
    safe = rows.assign(**{str(name): _harmless_cells(words[name]) for name in words})
    safe.to_csv(path, index=False, lineterminator="\n", date_format="%Y-%m-%d", float_format=float_format)


def _harmless_cells(cells: pd.Series) -> pd.Series:
    is_text = cells.map(lambda cell: isinstance(cell, str)).astype(bool)
    return cells.astype(object).mask(is_text, harmless(cells.astype(object).where(is_text)))
