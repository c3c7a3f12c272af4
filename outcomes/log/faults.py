"""Faults and warnings as rows of a table: what was found, what was expected, and what to do."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pandas as pd

from outcomes.log.schema import REASONS

__all__ = ["FAULT_COLUMNS", "finish", "found_at"]

FAULT_COLUMNS = ("file", "row", "column", "found", "expected", "code", "message")
_PARTS = ("pos", "row", "column", "found", "expected", "code", "advice")


def found_at(
    pos: np.ndarray,
    rows: np.ndarray,
    column: str,
    found: Sequence[str] | np.ndarray | str,
    expected: Sequence[str] | np.ndarray | str,
    code: Sequence[str] | np.ndarray | str,
    advice: Sequence[str] | np.ndarray | str = "",
) -> pd.DataFrame:
    """Faults at some positions of a table (pos counts its data rows from 0), one row each.

    Parameters
    ----------
    pos : ndarray of int (k,)
        Positions at fault.
    rows : ndarray of int (m,)
        Spreadsheet row of each data row.
    column : str
        Canonical name; empty where a whole row is at fault.
    found, expected, code : str, or sequence of str (k,)
        What stands there, what may stand there, and a code of `REASONS`.
    advice : str, or sequence of str (k,)
        What to do; where empty, what the reason says.

    Returns
    -------
    DataFrame (k rows)
        pos, row, column, found, expected, code, advice: a part for `finish`.
    """
    frame = pd.DataFrame({"pos": pos, "row": rows[pos]}, columns=pd.Index(_PARTS))
    for name, value in zip(_PARTS[2:], (column, found, expected, code, advice), strict=True):
        frame[name] = value
    return frame


def finish(file: str, parts: Sequence[pd.DataFrame], files: np.ndarray | None = None) -> pd.DataFrame:
    """Faults or warnings of one table, in the order of its rows, each with its sentence.

    Parameters
    ----------
    file : str
        Name shown to people where no row is meant.
    parts : sequence of DataFrame
        As `found_at` gives them.
    files : ndarray of str (m,), optional
        File or sheet of each data row; by default `file`.

    Returns
    -------
    DataFrame
        The columns of `FAULT_COLUMNS`: `row` Int64 (NA where no row is meant), the others str.
    """
    frame = pd.concat([part for part in parts if len(part)] or [_nothing()], ignore_index=True)
    # one sheet after the other, what is about no row last
    pos = frame["pos"].to_numpy(dtype=np.int64)
    frame = frame.iloc[np.lexsort((np.where(pos < 0, np.iinfo(np.int64).max, pos),))]
    frame = frame.reset_index(drop=True)
    reasons = {code: reason.advice for code, reason in REASONS.items()}
    advice = frame["advice"].where(frame["advice"] != "", frame["code"].map(reasons))
    row = frame["row"].astype("Int64")
    frame["file"] = file
    if files is not None and len(files):
        pos = frame["pos"].to_numpy(dtype=np.int64)
        frame["file"] = np.where(pos < 0, file, files[np.maximum(pos, 0)])
    place = (" row " + row.astype("string")).fillna("").astype(object)
    found = frame["found"].where(frame["found"] != "", "is empty")
    subject = (frame["column"] + " " + found).str.strip()
    frame["row"] = row
    frame["message"] = (
        frame["file"] + place + ": " + subject + "; expected " + frame["expected"] + "; " + advice
    )
    return frame[list(FAULT_COLUMNS)].astype({name: object for name in FAULT_COLUMNS if name != "row"})


def _nothing() -> pd.DataFrame:
    return pd.DataFrame({name: pd.Series(dtype=object) for name in _PARTS})
