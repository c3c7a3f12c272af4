"""Faults and warnings as rows of a table: what was found, what was expected, and what to do."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pandas as pd

from outcomes.log.frames import frame_of
from outcomes.log.schema import REASONS

__all__ = ["FAULT_COLUMNS", "filled", "finish", "found_at"]

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
    said = {
        name: np.full(len(pos), value, dtype=object)  # not another type of string, which takes its time
        for name, value in zip(_PARTS[2:], (column, found, expected, code, advice), strict=True)
    }
    return frame_of({"pos": pos, "row": rows[pos]} | said, np.arange(len(pos)))


def filled(form: str, numbers: np.ndarray | pd.Series) -> np.ndarray:
    """A text for each number; each different number is written once.

    Parameters
    ----------
    form : str
        With one place for the number, as "{:g}".
    numbers : ndarray or Series of float (k,)

    Returns
    -------
    ndarray of str (k,)
    """
    codes, different = pd.factorize(np.asarray(numbers, dtype=float), use_na_sentinel=False)
    return np.array([form.format(number) for number in different], dtype=object)[codes]


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
    order = np.lexsort((np.where(pos < 0, np.iinfo(np.int64).max, pos),))
    frame, pos = frame.iloc[order].reset_index(drop=True), pos[order]
    frame["row"] = frame["row"].astype("Int64")
    named = np.full(len(frame), file, dtype=object)
    if files is not None and len(files):
        named = np.where(pos < 0, named, files[np.maximum(pos, 0)])
    frame["file"] = pd.Series(named, dtype=object)
    frame["message"] = pd.Series(_place(frame) + _sentence(frame), dtype=object)
    return frame[list(FAULT_COLUMNS)].astype({name: object for name in FAULT_COLUMNS if name != "row"})


def _place(frame: pd.DataFrame) -> np.ndarray:
    """File and row of each fault (k,), where a row is meant."""
    has_row = frame["row"].notna().to_numpy(dtype=bool)
    each, first = _alike([frame["file"], has_row])
    names = frame["file"].to_numpy(dtype=object)[first]
    before = np.where(has_row[first], names + " row ", names).astype(object)[each]
    numbers = np.full(len(frame), "", dtype=object)
    numbers[has_row] = list(map(str, frame["row"][has_row].to_numpy(dtype=np.int64).tolist()))
    told: np.ndarray = before + numbers
    return told


def _sentence(frame: pd.DataFrame) -> np.ndarray:
    """What was found, what was expected and what to do (k,): many faults say the same of other rows."""
    each, first = _alike([frame[name] for name in ("column", "found", "expected", "code", "advice")])
    once = frame.iloc[first]
    reasons = {code: reason.advice for code, reason in REASONS.items()}
    advice = once["advice"].where(once["advice"] != "", once["code"].map(reasons))
    found = once["found"].where(once["found"] != "", "is empty")
    subject = (once["column"] + " " + found).str.strip()
    said = ": " + subject + "; expected " + once["expected"] + "; " + advice
    told: np.ndarray = said.to_numpy(dtype=object)[each]
    return told


def _alike(columns: Sequence[pd.Series | np.ndarray]) -> tuple[np.ndarray, np.ndarray]:
    """Which kind of row each row is (k,), and of each kind the first row."""
    kind = np.zeros(len(columns[0]), dtype=np.int64)
    for column in columns:
        codes, different = pd.factorize(column)  # -1 where none is
        if len(different) + (codes < 0).any() > 1:
            kind = pd.factorize(kind * (len(different) + 1) + codes + 1)[0]
    return kind, np.unique(kind, return_index=True)[1]


def _nothing() -> pd.DataFrame:
    return pd.DataFrame({name: pd.Series(dtype=object) for name in _PARTS})
