"""Faulty cells and rows put into a written log, each of a kind that `outcomes check` has to find.

A slip is set in the text of a table, since most faults (a word for minutes, a day that doesn't exist) can't
be held in a column of numbers.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd

from outcomes.demo.columns import COLORIMETER

__all__ = [
    "CHECK_SLIPS",
    "COLLISION",
    "VISIT_SLIPS",
    "WASH_SLIPS",
    "Slip",
    "SlipKind",
    "as_text",
    "with_slips",
]


@dataclass(frozen=True)
class SlipKind:
    """One kind of fault.

    Attributes
    ----------
    table, column : str
        Where it is set.
    written : callable
        What is written, given the row's texts.
    wrong : str
        What is wrong with it.
    also : callable, optional
        With it the fault is a row added at the end: a copy of a row with these cells changed too.
    """

    table: str
    column: str
    written: Callable[[Mapping[str, str]], str]
    wrong: str
    also: Callable[[Mapping[str, str]], Mapping[str, str]] | None = None


@dataclass(frozen=True)
class Slip:
    """A fault as set.

    Attributes
    ----------
    table : str
    row : int
        As a spreadsheet shows it (the headings are row 1).
    column : str
    found : str
        What was written.
    wrong : str
    """

    table: str
    row: int
    column: str
    found: str
    wrong: str


def _always(text: str) -> Callable[[Mapping[str, str]], str]:
    return lambda row: text


VISIT_SLIPS = (
    SlipKind("visits", "start_level", _always("4.3"), "off the half-step grid"),
    SlipKind("visits", "goal_level", lambda row: row["start_level"], "goal at the start"),
    SlipKind("visits", "goal_level", _always("11"), "out of range"),
    SlipKind("visits", "peroxide_pct", _always("18"), "above 12 %"),
    SlipKind("visits", "minutes", _always(""), "missing"),
    SlipKind("visits", "minutes", _always("a while"), "unreadable"),
    SlipKind("visits", "minutes", _always("450"), "out of range"),
    SlipKind("visits", "date", _always("2023-11-31"), "no such day"),
    SlipKind("visits", "stylist", _always(""), "missing"),
    SlipKind("visits", "stop", _always("rinsed"), "unknown word"),
    SlipKind("visits", "hair", _always("natrual"), "unknown word"),
    SlipKind("visits", "heat", _always(""), "missing"),
    SlipKind("visits", "achieved_level", _always("1"), "more than one step below the start"),
    SlipKind("visits", "achieved_level", _always("8.7"), "off the half-step grid"),
    SlipKind("visits", "visit", lambda row: row["visit"], "visit and zone repeated", lambda row: {}),
)
COLLISION = SlipKind(
    "visits",
    "client",
    _always("C9999"),
    "a visit code that another client has",
    lambda row: {"zone": "ends" if row["zone"] == "roots" else "roots"},
)
CHECK_SLIPS = (
    SlipKind("checks", "minutes", _always("150"), "after the rinse"),
    SlipKind("checks", "level", _always("7.2"), "off the half-step grid"),
    SlipKind("checks", "visit", _always("V99999"), "visit not there"),
)
WASH_SLIPS = (
    SlipKind("washes", "visit", _always("V99998"), "visit not there"),
    SlipKind("washes", "washes", _always("260"), "out of range"),
    SlipKind("washes", "level", _always("7.3"), "off the half-step grid"),
)


def as_text(table: pd.DataFrame) -> pd.DataFrame:
    """A table as it's written: every cell a string, whole numbers without a point, missing ones empty.

    Columns of an instrument that nobody has aren't written.

    Parameters
    ----------
    table : DataFrame

    Returns
    -------
    DataFrame
    """
    written: dict[str, pd.Series] = {}
    for column in table.columns:
        values = table[column]
        if column in COLORIMETER and values.isna().all():
            continue
        if column == "date":
            written[column] = values.dt.strftime("%Y-%m-%d")
        elif values.dtype == np.float64:
            written[column] = values.map({v: f"{v:g}" for v in values.dropna().unique()})
        else:
            written[column] = values
    return pd.DataFrame(written).astype(object).fillna("").astype(str)


def with_slips(
    tables: Mapping[str, pd.DataFrame],
    kinds: Sequence[SlipKind],
    rng: np.random.Generator,
    spared: Collection[str] = (),
) -> tuple[dict[str, pd.DataFrame], list[Slip]]:
    """Set one slip of each kind, each in a row of its own.

    A row of visits that gets one has no checks and no washes of its own, and starts at level 3 or above, so
    that one slip makes one fault.

    Parameters
    ----------
    tables : mapping
        Texts of "visits", "checks", "washes", from `as_text`.
    kinds : sequence of SlipKind
    rng : numpy Generator
    spared : collection of str
        Codes of visits that stay as they are, with their checks and washes.

    Returns
    -------
    tables : dict
        New frames; a repeated row follows at the end.
    slips : list of Slip
    """
    changed = {name: table.copy() for name, table in tables.items()}
    visits = changed["visits"]
    used = pd.concat([changed["checks"]["visit"], changed["washes"]["visit"]])
    alone = ~visits["visit"].isin(used) & (visits["start_level"].astype(float) >= 3.0)
    rows_of = {name: ~table["visit"].isin(spared) for name, table in changed.items()}
    rows_of["visits"] &= alone
    free = {name: iter(rng.permutation(np.flatnonzero(rows))) for name, rows in rows_of.items()}
    slips: list[Slip] = []
    for kind in kinds:
        table = changed[kind.table]
        row = int(next(free[kind.table]))
        cells = {str(name): str(value) for name, value in table.loc[row].items()}
        text = kind.written(cells)
        if kind.also is not None:
            added = pd.DataFrame([{**cells, kind.column: text, **kind.also(cells)}])
            row = len(table)
            changed[kind.table] = pd.concat([table, added], ignore_index=True)
        else:
            table.loc[row, kind.column] = text
        slips.append(Slip(kind.table, row + 2, kind.column, text, kind.wrong))
    return changed, sorted(slips, key=lambda slip: (slip.table, slip.row))
