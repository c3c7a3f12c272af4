"""Repairs: every cell that was read from another spelling, with what it said, what it became and why."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd

from outcomes.log.numbers import TOLERANCE, Texts, plain_numbers
from outcomes.log.schema import Column

__all__ = ["REPAIR_COLUMNS", "RULES", "Repaired", "number_rules", "repairs_frame", "shown_values"]

REPAIR_COLUMNS = ("file", "row", "column", "from", "to", "rule")

RULES: Mapping[str, str] = {
    "volume": "10 volume is 3 %",
    "fraction": "a spreadsheet keeps 6 % as 0.06",
    "unit": "the unit beside the number was taken off",
    "decimal_comma": "a comma was read as the decimal point",
    "between": "a level between two neighbours, as 7/8",
    "half": "a half written as a sign or a fraction",
    "prefix": "the word or letter before a level was taken off",
    "clock": "hours and minutes became minutes",
    "parts": "parts to parts became one number",
    "number_form": "a number written in another form",
    "note": "a note behind the number was taken off",
    "spelling": "another spelling of a word of the log",
    "declared": "a word that the map explains",
    "serial_date": "a spreadsheet's day number",
    "slashed_date": "a date with day and month as numbers",
    "short_year": "a date with day and month as numbers, and a year of two digits: 2000 to 2099",
    "month_name": "a date with its month by name",
    "date_form": "another form of an ISO date, or one with a time of day",
    "merged_cell": "filled from a cell merged over several rows",
    "made_code": "made from client and date",
    "sheet_name": "taken from the name of the sheet",
}
"""Why a cell was read as something else than it says."""


@dataclass(frozen=True, eq=False)
class Repaired:
    """Repaired cells of one column of one table.

    Attributes
    ----------
    column : str
        Canonical name.
    file : str
    rows : ndarray of int (k,)
        As a spreadsheet shows them.
    found, became, rule : Categorical (k,)
    """

    column: str
    file: str
    rows: np.ndarray
    found: pd.Categorical
    became: pd.Categorical
    rule: pd.Categorical

    def told(self) -> str:
        """How many, with an example: a note for people."""
        cells = "1 cell" if len(self.rows) == 1 else f"{len(self.rows):,} cells"
        if not self.found[0]:  # the cell itself says nothing
            why = RULES[str(self.rule[0])]
            return f"{self.file}: {self.column}: {cells} {why}, for example {self.became[0]}"
        return (
            f"{self.file}: {self.column}: {cells} read from other spellings, "
            f"for example {self.found[0]} as {self.became[0]}"
        )


def repairs_frame(parts: Sequence[Repaired]) -> pd.DataFrame:
    """All repairs of a log.

    Parameters
    ----------
    parts : sequence of Repaired

    Returns
    -------
    DataFrame
        file, row, column, from, to, rule; one row a cell, in the order of the files, their rows and columns.
    """
    if not parts:
        return pd.DataFrame({name: pd.Series([], dtype=object) for name in REPAIR_COLUMNS})
    frame = pd.concat(
        [
            pd.DataFrame(
                {
                    "file": part.file,
                    "row": part.rows,
                    "column": part.column,
                    "from": part.found.astype(object),
                    "to": part.became.astype(object),
                    "rule": part.rule.astype(object),
                }
            )
            for part in parts
        ],
        ignore_index=True,
    )
    order = {part.file: i for i, part in reversed(list(enumerate(parts)))}
    place = frame["file"].map(order).to_numpy()
    return frame.iloc[np.lexsort((np.arange(len(frame)), frame["row"].to_numpy(), place))].reset_index(
        drop=True
    )


def shown_values(column: Column, values: np.ndarray) -> np.ndarray:
    """Values as the canonical files have them.

    Parameters
    ----------
    column : Column
        The rule of the schema.
    values : ndarray (n,)
        float, datetime64 or object.

    Returns
    -------
    ndarray of str (n,)
    """
    if column.kind == "date":
        return np.datetime_as_string(values.astype("datetime64[D]")).astype(object)
    if column.kind == "number":
        return np.array([f"{value:.12g}" for value in values], dtype=object)
    return np.array([str(value) for value in values], dtype=object)


def number_rules(column: Column, texts: Texts, values: np.ndarray, noted: np.ndarray) -> np.ndarray:
    """Why each of the different texts of a number column isn't the plain number that was read.

    Parameters
    ----------
    column : Column
        The rule of the schema.
    texts : Series of str (n,)
        In lower case.
    values : ndarray of float (n,)
        What was read.
    noted : ndarray of bool (n,)
        Where a note was taken off.

    Returns
    -------
    ndarray of str (n,)
        Keys of `RULES`; empty where a text is the plain number itself.
    """
    bare = plain_numbers(texts)
    same = np.abs(bare - values) < TOLERANCE

    def holds(pattern: str) -> np.ndarray:
        return texts.str.contains(pattern, regex=True).to_numpy(dtype=bool)

    plain = same & texts.str.fullmatch(r"-?\d+(?:\.\d+)?").to_numpy(dtype=bool)
    developer, level = column.reader == "developer", column.reader == "level"
    minutes, ratio = column.reader == "minutes", column.reader == "ratio"
    number = ~np.isnan(bare)
    conditions = [
        (plain, ""),
        (noted, "note"),
        ((developer & (holds("v") | (number & ~same & (bare > 1)))), "volume"),
        (number & ~same, "fraction"),
        (level & holds(r"½|\s1/2"), "half"),
        (level & holds(r"\d\s*[/–-]\s*\d"), "between"),
        (level & holds("^l"), "prefix"),
        (minutes & holds(r":|h"), "clock"),
        (ratio & holds("[:+]"), "parts"),
        (holds(r"[^\d.,+e-]"), "unit"),
        (holds(","), "decimal_comma"),
    ]
    return np.select(
        [mask for mask, _ in conditions], [rule for _, rule in conditions], "number_form"
    ).astype(object)
