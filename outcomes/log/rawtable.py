"""Rows of text to a raw table: finds the headings, leaves out what holds no data, keeps the row numbers.

Columns are categorical: a salon writes few distinct values, and each is then read once.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import islice, zip_longest

import numpy as np
import pandas as pd
from pandas.api.types import union_categoricals

from outcomes.errors import InputError
from outcomes.log.headings import find_header

__all__ = ["MAX_FIELDS", "RawTable", "raw_table"]

MAX_FIELDS = 500  # more in a row means that the file isn't a table
HEADER_ROWS = 20  # rows in which the headings must stand
_CHUNK = 50_000  # rows held as separate strings at a time


@dataclass(frozen=True, eq=False)
class RawTable:
    """One table as text.

    Attributes
    ----------
    table : str
        `visits`, `checks` or `washes`.
    file : str
        Name shown in faults: a file name, or `book.xlsx, sheet visits`.
    headings : tuple of str
        As written.
    cells : tuple of Categorical, each (n,)
        Stripped text by column; empty text where nothing stands.
    rows : ndarray of int (n,)
        Row numbers as a spreadsheet shows them.
    fields : ndarray of int (n,)
        Fields found in each row; the number of headings unless the row is cut short or too long.
    date_system : int
        1900 or 1904: what day bare serial numbers count from.
    notes : tuple of str
        Titles, blank rows and repeated headings left out.
    """

    table: str
    file: str
    headings: tuple[str, ...]
    cells: tuple[pd.Categorical, ...]
    rows: np.ndarray
    fields: np.ndarray
    date_system: int
    notes: tuple[str, ...]

    def without(self, rows: np.ndarray) -> RawTable:
        """The table without the rows that a mask (n,) marks."""
        kept = ~rows
        cells = tuple(column[kept] for column in self.cells)
        return replace(self, cells=cells, rows=self.rows[kept], fields=self.fields[kept])


def raw_table(
    table: str, file: str, records: Iterable[Sequence[str]], date_system: int = 1900, first_row: int = 1
) -> RawTable:
    """Rows of text to a table: finds the headings, leaves out blank rows and repeated headings.

    Parameters
    ----------
    records : iterable of rows
        Every row, blank ones too, so that row numbers stay those of the spreadsheet.
    first_row : int
        Row number of the first record.

    Raises
    ------
    InputError
        No row of headings among the first 20 rows, or a row of more than 500 fields.
    """
    stream = iter(records)
    early = list(islice(stream, HEADER_ROWS))
    at = find_header(table, early, file)
    headings = tuple(" ".join(cell.split()) for cell in early[at])
    notes = [f"{file}: {at} row(s) above the headings left out"] if any(map(any, early[:at])) else []
    chunks: list[list[pd.Categorical]] = []
    fields: list[np.ndarray] = []
    rest: list[Sequence[str]] = early[at + 1 :]
    width = len(headings)
    while rest:
        counts = np.fromiter(map(len, rest), dtype=np.int64, count=len(rest))
        if counts.max() > MAX_FIELDS:
            raise InputError(f"{file}: a row of {counts.max()} fields; look for quotes that don't close")
        by_column = list(zip_longest(*rest, fillvalue=""))[: max(width, int(counts.max()))]
        by_column += [("",) * len(rest)] * (width - len(by_column))
        chunks.append([_texts(cells) for cells in by_column])
        fields.append(counts)
        rest = list(islice(stream, _CHUNK))
    counts = np.concatenate(fields) if fields else np.zeros(0, dtype=np.int64)
    columns = _joined(chunks, width)
    rows = np.arange(len(counts), dtype=np.int64) + first_row + at + 1
    blank = np.ones(len(counts), dtype=bool)
    for cells in columns:
        blank &= _equals(cells, "")
    repeated = ~blank
    for cells, heading in zip(columns[:width], early[at], strict=True):
        repeated &= _equals(cells, heading.strip())
    if repeated.any():
        notes.append(f"{file}: headings repeated in {repeated.sum()} row(s), left out")
    kept = ~(blank | repeated)
    return RawTable(
        table=table,
        file=file,
        headings=headings,
        cells=tuple(cells[kept] for cells in columns[:width]),
        rows=rows[kept],
        fields=np.where(counts[kept] == 0, width, counts[kept]),
        date_system=date_system,
        notes=tuple(notes),
    )


def _texts(cells: Sequence[str]) -> pd.Categorical:
    """Stripped text as categories; the apostrophe that keeps a cell from running as a formula comes off."""
    codes, found = pd.factorize(np.array(cells, dtype=object))
    text = pd.Series(found, dtype=object).str.strip()
    text = text.str.replace(r"^'(?=[=+\-@])", "", regex=True).str.normalize("NFC")
    again, unique = pd.factorize(text.to_numpy(dtype=object))
    return pd.Categorical.from_codes(again[codes], categories=pd.Index(unique, dtype=object))


def _joined(chunks: list[list[pd.Categorical]], width: int) -> list[pd.Categorical]:
    if not chunks:
        return [pd.Categorical([], categories=pd.Index([], dtype=object))] * width
    if len(chunks) == 1:
        return chunks[0]
    widest = max(len(chunk) for chunk in chunks)
    full = [chunk + [_texts([""] * len(chunk[0]))] * (widest - len(chunk)) for chunk in chunks]
    return [union_categoricals([chunk[i] for chunk in full]) for i in range(widest)]


def _equals(cells: pd.Categorical, text: str) -> np.ndarray:
    where = np.flatnonzero(cells.categories == text)
    return np.isin(cells.codes, where)
