"""Rows of text to a raw table: finds the headings, leaves out what holds no data, keeps the row numbers.

Columns are categorical: a salon writes few distinct values, and each is then read once.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import islice, zip_longest
from typing import NamedTuple

import numpy as np
import pandas as pd

from outcomes.errors import InputError
from outcomes.log.harmless import as_meant
from outcomes.log.header import find_header
from outcomes.log.meaning import Meaning

__all__ = [
    "CHUNK",
    "HEADER_ROWS",
    "MAX_FIELDS",
    "Coded",
    "Grid",
    "RawTable",
    "coded",
    "grid_of_rows",
    "joined",
    "raw_table",
    "texts",
]

MAX_FIELDS = 500  # more in a row means that the file isn't a table
HEADER_ROWS = 20  # rows in which the headings must stand
_TO_TIDY = re.compile(r"[\s\x1c-\x1f']")
CHUNK = 50_000  # rows held as separate strings at a time


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
    sheet : str
        Name of the sheet; empty for a file of one table.
    filled : frozenset of (int, int)
        Row number and position of cells that say nothing themselves but are part of a merged one.
    hidden : bool
        Whether the sheet is one that its workbook doesn't show.
    """

    table: str
    file: str
    headings: tuple[str, ...]
    cells: tuple[pd.Categorical, ...]
    rows: np.ndarray
    fields: np.ndarray
    date_system: int
    notes: tuple[str, ...]
    sheet: str = ""
    filled: frozenset[tuple[int, int]] = frozenset()
    hidden: bool = False

    def without(self, rows: np.ndarray) -> RawTable:
        """The table without the rows that a mask (n,) marks.

        Parameters
        ----------
        rows : ndarray of bool (n,)
            Marks the rows to leave out.

        Returns
        -------
        RawTable
        """
        kept = ~rows
        cells = tuple(column[kept] for column in self.cells)
        return replace(self, cells=cells, rows=self.rows[kept], fields=self.fields[kept])


@dataclass(frozen=True, eq=False)
class Grid:
    """All rows of a file, blank ones too: stripped text by column, and the fields found in each row (n,)."""

    columns: tuple[pd.Categorical, ...]
    fields: np.ndarray

    def row(self, i: int) -> list[str]:
        """One row as text, as wide as it was written.

        Parameters
        ----------
        i : int
            Position among all rows, from 0.

        Returns
        -------
        list of str
        """
        return [str(cells[i]) for cells in self.columns[: self.fields[i]]]


def grid_of_rows(records: Iterable[Sequence[str]], file: str) -> Grid:
    """Rows of text to a grid, some tens of thousands at a time.

    Parameters
    ----------
    records : iterable of sequence of str
        Cells of each row; rows may differ in length.
    file : str
        Name shown in the refusal.

    Returns
    -------
    Grid
        As wide as the longest row, with empty text where a row has no cell.

    Raises
    ------
    InputError
        A row of more than 500 fields.
    """
    stream = iter(records)
    chunks: list[list[Coded]] = []
    fields: list[np.ndarray] = []
    while part := list(islice(stream, CHUNK)):
        counts = np.fromiter(map(len, part), dtype=np.int64, count=len(part))
        if counts.max() > MAX_FIELDS:
            raise InputError(f"{file}: a row of {counts.max()} fields; look for quotes that don't close")
        chunks.append([coded(np.array(cells, dtype=object)) for cells in zip_longest(*part, fillvalue="")])
        fields.append(counts)
    return Grid(joined(chunks), np.concatenate(fields) if fields else np.zeros(0, dtype=np.int64))


class Coded(NamedTuple):
    """A column of a chunk: its different texts (k,) as they come, and which of them each cell is (n,).

    What a Categorical says as well, which looks at its categories anew whenever one is made: of a large file
    by chunks, a tenth of the time of reading.
    """

    codes: np.ndarray
    different: np.ndarray


def texts(cells: np.ndarray) -> pd.Categorical:
    """Stripped text as categories; the apostrophe that keeps a cell from running as a formula comes off.

    Parameters
    ----------
    cells : ndarray of str (n,)
        One column as it was written.

    Returns
    -------
    Categorical (n,)
        Categories are the different texts, in the order in which they come.
    """
    return _categorical(*coded(cells))


def coded(cells: np.ndarray) -> Coded:
    """As `texts`, for a chunk that `joined` will put below another.

    Parameters
    ----------
    cells : ndarray of str (n,)
        One column as it was written.

    Returns
    -------
    Coded
    """
    codes, found = pd.factorize(cells)
    together = "".join(found)
    if together.isascii() and not _TO_TIDY.search(together):  # most columns: nothing to take off
        return Coded(codes.astype(np.int32), found)
    text = pd.Series(found, dtype=object).str.strip().str.normalize("NFC")
    quoted = text.str.contains("'", regex=False)
    if quoted.any():
        text = text.mask(quoted, as_meant(text))
    if (text == found).all():
        return Coded(codes.astype(np.int32), found)
    again, unique = pd.factorize(text.to_numpy(dtype=object))
    return Coded(again.astype(np.int32)[codes], unique)


def _categorical(codes: np.ndarray, different: np.ndarray) -> pd.Categorical:
    return pd.Categorical.from_codes(codes, categories=pd.Index(different, dtype=object))


def joined(chunks: list[list[Coded]]) -> tuple[pd.Categorical, ...]:
    """Columns of the chunks of a file, one below the other.

    Parameters
    ----------
    chunks : list of list of Coded
        Of each chunk its columns; a chunk may have fewer than others.

    Returns
    -------
    tuple of Categorical
        Categories in the order in which they come.
    """
    widest = max((len(chunk) for chunk in chunks), default=0)
    full = []
    for chunk in chunks:
        empty = coded(np.full(len(chunk[0].codes) if chunk else 0, "", dtype=object))
        full.append(chunk + [empty] * (widest - len(chunk)))
    return tuple(_one_below_another([chunk[i] for chunk in full]) for i in range(widest))


def _one_below_another(parts: list[Coded]) -> pd.Categorical:
    if len(parts) == 1:
        return _categorical(*parts[0])
    number, different = pd.factorize(np.concatenate([part.different for part in parts]))
    ends = np.cumsum([len(part.different) for part in parts])
    codes = [
        number[end - len(part.different) : end][part.codes] for part, end in zip(parts, ends, strict=True)
    ]
    return _categorical(np.concatenate(codes), different)


def raw_table(
    table: str,
    file: str,
    grid: Grid,
    date_system: int = 1900,
    declared: Mapping[str, Meaning | None] | None = None,
    *,
    lenient: bool = False,
) -> RawTable:
    """Find the headings of a grid; leave out titles above them, blank rows and repeated headings.

    Parameters
    ----------
    table : str
        `visits`, `checks` or `washes`.
    file : str
        Name shown in notes and faults.
    grid : Grid
        All rows of the file.
    date_system : int
        1900 or 1904: what day bare serial numbers count from.
    declared : mapping, optional
        Headings that a map file explains.
    lenient : bool
        As for `find_header`.

    Returns
    -------
    RawTable

    Raises
    ------
    InputError
        No row of headings among the first 20 rows.
    """
    early = [grid.row(i) for i in range(min(HEADER_ROWS, len(grid.fields)))]
    first, at, heads = find_header(table, early, file, declared, lenient=lenient)
    headings = tuple(" ".join(cell.split()) for cell in heads)
    notes = [f"{file}: {first} row(s) above the headings left out"] if any(map(any, early[:first])) else []
    if at > first:
        notes.append(f"{file}: headings of two lines, in rows {first + 1} and {at + 1}")
    below = [cells[at + 1 :] for cells in grid.columns]
    fields = grid.fields[at + 1 :]
    width, fields = _shape(below, len(heads), fields, heads)
    headings = headings[:width]
    blank = _all_empty(below, len(fields))
    repeated = np.zeros(len(fields), dtype=bool)
    for line in early[first : at + 1]:
        same = ~blank
        for cells, heading in zip(below, line, strict=False):
            same = same & _equals(cells, heading)
        repeated = repeated | same
    if repeated.any():
        notes.append(f"{file}: headings repeated in {repeated.sum()} row(s), left out")
    kept = ~(blank | repeated)
    rows = np.arange(len(fields), dtype=np.int64) + at + 2
    return RawTable(
        table=table,
        file=file,
        headings=headings,
        cells=tuple(cells[kept] for cells in below[:width]),
        rows=rows[kept],
        fields=fields[kept],
        date_system=date_system,
        notes=tuple(notes),
    )


def _shape(
    below: Sequence[pd.Categorical], width: int, fields: np.ndarray, heads: Sequence[str]
) -> tuple[int, np.ndarray]:
    """Number of headings, and of fields in each row, without the empty ones behind a delimiter at the end.

    Either the headings or the rows may have such delimiters: a file's rows as a habit, not one row alone,
    where an empty field at the end may come from a decimal comma further left.
    """
    while width > 1 and not heads[width - 1] and _equals(below[width - 1], "").all():
        width -= 1
    empty = _all_empty(below[width:], len(fields))
    full = fields[~_all_empty(below, len(fields))]
    usual = int(np.bincount(full).argmax()) if len(full) else width
    written = (fields == len(heads)) | (fields == usual)
    return width, np.where(empty & written & (fields > width), width, fields)


def _all_empty(columns: Sequence[pd.Categorical], n: int) -> np.ndarray:
    """Which of n rows have nothing in any of some columns."""
    empty = np.ones(n, dtype=bool)
    for cells in columns:
        empty = empty & _equals(cells, "")
    return empty


def _equals(cells: pd.Categorical, text: str) -> np.ndarray:
    return np.isin(cells.codes, np.flatnonzero(cells.categories == text))
