"""The journal of a merged log: what was added, corrected and set aside, when, and which row it came from."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pandas as pd

from outcomes.errors import InputError
from outcomes.log.harmless import write_rows

__all__ = [
    "ACTIONS",
    "JOURNAL",
    "JOURNAL_COLUMNS",
    "Entry",
    "content_keys",
    "read_journal",
    "row_texts",
    "write_journal",
]

JOURNAL = "journal.csv"
JOURNAL_COLUMNS = (
    "when",
    "action",
    "table",
    "visit",
    "zone",
    "file",
    "row",
    "key",
    "before",
    "after",
    "reason",
)
ACTIONS = ("added", "corrected", "set_aside")


@dataclass(frozen=True)
class Entry:
    """One row that changed the log, or that wasn't taken.

    Attributes
    ----------
    action : {"added", "corrected", "set_aside"}
    table, visit, zone : str
    file : str
        Where the row came from.
    row : int
        There, as a spreadsheet shows it; 0 for a row of the merged log itself.
    key : str
        Content key of the row.
    before, after : str
        Filled cells as JSON: what the log said before, and what it says now. Of an added row the log has
        them.
    reason : str
        Why it was set aside.
    """

    action: str
    table: str
    visit: str
    zone: str
    file: str
    row: int
    key: str
    before: str = ""
    after: str = ""
    reason: str = ""


def row_texts(frame: pd.DataFrame) -> np.ndarray:
    """Filled cells of each row as JSON, in the order of the columns.

    Parameters
    ----------
    frame : DataFrame (n, ...)
        Canonical values.

    Returns
    -------
    ndarray of str (n,)
    """
    names = [json.dumps(str(name)) for name in frame.columns]
    cells = [_cells(frame[column]) for column in frame.columns]
    told = [
        "{" + ", ".join(f"{name}: {cell}" for name, cell in zip(names, row, strict=True) if cell) + "}"
        for row in zip(*cells, strict=True)
    ]
    return np.array(told, dtype=object)


def _cells(values: pd.Series) -> list[str]:
    there = values.notna().to_numpy(dtype=bool)
    if pd.api.types.is_datetime64_any_dtype(values.dtype):
        texts = [f'"{day}"' for day in values.dt.strftime("%Y-%m-%d")]
    elif pd.api.types.is_numeric_dtype(values.dtype):
        texts = [f"{value:.12g}" for value in values]
    else:
        texts = [json.dumps(str(value), ensure_ascii=False) for value in values]
    return [text if is_there else "" for text, is_there in zip(texts, there, strict=True)]


def content_keys(texts: np.ndarray) -> np.ndarray:
    """Keys that are the same where the content of two rows is.

    Parameters
    ----------
    texts : ndarray of str (n,)
        As `row_texts` gives them.

    Returns
    -------
    ndarray of str (n,)
        The first 16 hexadecimal digits of SHA-256.
    """
    return np.array([hashlib.sha256(text.encode()).hexdigest()[:16] for text in texts], dtype=object)


def read_journal(path: Path) -> pd.DataFrame:
    """The journal so far.

    Parameters
    ----------
    path : Path
        May not be there yet.

    Returns
    -------
    DataFrame
        `JOURNAL_COLUMNS`, all text.

    Raises
    ------
    InputError
        Another file has that name.
    """
    if not path.exists():
        return pd.DataFrame({name: pd.Series([], dtype=object) for name in JOURNAL_COLUMNS})
    try:
        found = pd.read_csv(path, dtype=object, na_filter=False, encoding="utf-8")
    except (OSError, ValueError) as error:
        told = " ".join(str(error).split())
        raise InputError(f"{path}: no journal of a merged log ({told}); choose another folder") from None
    if tuple(found.columns) != JOURNAL_COLUMNS:
        raise InputError(f"{path}: found another file there, not the journal of a merged log; move it away")
    return found


def write_journal(path: Path, so_far: pd.DataFrame, entries: Sequence[Entry], when: str) -> None:
    """Write the journal with some entries more.

    Parameters
    ----------
    path : Path
    so_far : DataFrame
        As `read_journal` gives it.
    entries : sequence of Entry
    when : str
        Time of the merge.
    """
    rows = [{"when": when} | {name: getattr(one, name) for name in JOURNAL_COLUMNS[1:]} for one in entries]
    new = pd.DataFrame(rows, columns=pd.Index(JOURNAL_COLUMNS)).astype(object)
    write_rows(pd.concat([so_far, new], ignore_index=True), path)
