"""A small table of a report, every number already in words: what the template draws."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

import pandas as pd

__all__ = ["Cell", "Row", "Table", "records", "tabled"]


@dataclass(frozen=True)
class Cell:
    """A number and, smaller, its band or whose it is.

    Attributes
    ----------
    text : str
        Empty where there is none.
    band : str
    who : str
    """

    text: str
    band: str = ""
    who: str = ""


@dataclass(frozen=True)
class Row:
    """A row with its heading.

    Attributes
    ----------
    name : str
    cells : tuple of Cell
    """

    name: str
    cells: tuple[Cell, ...]


@dataclass(frozen=True)
class Table:
    """A table with its headings.

    Attributes
    ----------
    caption : str
    head : tuple of str
        One for each column.
    rows : tuple of Row
        None where there is nothing to tell.
    total : Row or None
        Of the whole team.
    absent : str
        Said where there are no rows.
    is_worded : bool
        Whether cells hold words, which may be broken, instead of numbers.
    """

    caption: str
    head: tuple[str, ...]
    rows: tuple[Row, ...]
    total: Row | None = None
    absent: str = ""
    is_worded: bool = False


def tabled(
    caption: str,
    head: tuple[str, ...],
    rows: Iterable[tuple[str, tuple[Cell, ...]]],
    absent: str,
    total: tuple[Cell, ...] | None = None,
    *,
    is_worded: bool = False,
) -> Table:
    """A table that has no rows where all of its cells are empty.

    Parameters
    ----------
    caption : str
    head : tuple of str
    rows : iterable of (name, cells)
    absent : str
    total : tuple of Cell, optional
    is_worded : bool

    Returns
    -------
    Table
    """
    told = tuple(Row(name, cells) for name, cells in rows)
    if not any(cell.text for row in told for cell in row.cells):
        told = ()
    has_total = bool(told) and total is not None and any(cell.text for cell in total)
    team = Row("Team", total) if has_total and total else None
    return Table(caption, head, told, team, absent, is_worded)


def records(frame: pd.DataFrame) -> list[dict[str, Any]]:
    """Rows of a frame.

    Parameters
    ----------
    frame : DataFrame

    Returns
    -------
    list of dict
        By column.
    """
    return [{str(key): value for key, value in row.items()} for row in frame.to_dict("records")]
