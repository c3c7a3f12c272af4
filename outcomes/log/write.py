"""A checked log, or the list of its faults, written in canonical form."""

from __future__ import annotations

import json
import os
from pathlib import Path
from typing import Any

import pandas as pd

from outcomes.errors import InputError
from outcomes.log.ambiguous import CLOCK, SHORT
from outcomes.log.atomic import replacing
from outcomes.log.dictionary import package_descriptor
from outcomes.log.faults import FAULT_COLUMNS
from outcomes.log.harmless import write_rows
from outcomes.log.read import VisitLog
from outcomes.log.repairs import REPAIR_COLUMNS
from outcomes.log.schema import TABLES, columns

__all__ = ["write_faults", "write_log", "write_repairs", "write_table", "write_table_schema"]

FORMS = ("csv", "parquet")


def write_log(log: VisitLog, folder: str | os.PathLike[str], form: str = "csv") -> tuple[Path, ...]:
    """Write the used rows of a log in canonical form, each file whole or not at all.

    Parameters
    ----------
    log : VisitLog
    folder : path
        Made if it isn't there. visits is always written, checks and washes where the log has them.
    form : str
        `csv` (UTF-8, line feeds, ISO dates, every canonical column) or `parquet`.

    Returns
    -------
    tuple of Path
        The files written.

    Raises
    ------
    InputError
        An unknown form, a place where nothing can be written, or a folder that holds another log's tables,
        which would be read together with this one.
    """
    if form not in FORMS:
        raise InputError(f'form "{form}"; expected {" or ".join(FORMS)}')
    place = Path(folder)
    tables = [table for table in TABLES if table == "visits" or len(getattr(log, table))]
    targets = {table: place / f"{table}.{form}" for table in tables}
    try:
        place.mkdir(parents=True, exist_ok=True)
        others = [p for p in place.iterdir() if p.stem.lower() in TABLES and p not in targets.values()]
    except OSError as error:
        raise InputError(f"{place}: can't be written ({error.strerror}); choose another folder") from None
    if others:
        raise InputError(f"{place}: already holds {others[0].name} of another log; choose an empty folder")
    for table, target in targets.items():
        with replacing(target) as temporary:
            write_table(getattr(log, table), table, temporary, form)
    return tuple(targets.values())


def write_table(frame: pd.DataFrame, table: str, path: Path, form: str = "csv") -> None:
    """Write one table in canonical form.

    Parameters
    ----------
    frame : DataFrame (n, ...)
        Canonical columns.
    table : {"visits", "checks", "washes"}
    path : Path
        Replaced if it's there.
    form : {"csv", "parquet"}
    """
    texts = [c.name for c in columns(table) if c.kind in ("text", "word")]
    if form == "csv":
        write_rows(_unmistakable(frame, table), path, float_format="%.12g")
    else:
        frame.astype(dict.fromkeys(texts, "string")).to_parquet(path, index=False)


def _unmistakable(frame: pd.DataFrame, table: str) -> pd.DataFrame:
    """1.25 minutes as 1.250, which can't be taken for an hour and 25 minutes when it's read again."""
    told: dict[str, pd.Series[Any]] = {}
    for name in (c.name for c in columns(table) if c.reader == "minutes" and c.name in frame):
        short = frame[name] < SHORT
        if short.any():
            texts = frame[name].map("{:.12g}".format, na_action="ignore").astype(object)
            clock = short & texts.str.fullmatch(CLOCK, na=False).astype(bool)
            told |= {name: texts.mask(clock, texts + "0")} if clock.any() else {}
    return frame.assign(**told) if told else frame


FAULTS_OPENING = ",".join(("kind", *FAULT_COLUMNS))


def write_faults(log: VisitLog, path: str | os.PathLike[str]) -> int:
    """Write every fault and every warning of a log as CSV; its first column says which kind each is.

    Parameters
    ----------
    log : VisitLog
    path : path
        The file to write; one that is there is replaced.

    Returns
    -------
    int
        How many faults and warnings were written.

    Raises
    ------
    InputError
        The place can't be written.
    """
    both = pd.concat(
        [log.faults.assign(kind="fault"), log.warnings.assign(kind="warning")], ignore_index=True
    )[["kind", *FAULT_COLUMNS]]
    with replacing(path) as temporary:
        write_rows(both, temporary)
    return len(both)


REPAIRS_OPENING = ",".join(REPAIR_COLUMNS)


def write_repairs(log: VisitLog, path: str | os.PathLike[str]) -> int:
    """Write every repaired cell of a log as CSV: what it said, what was read, and by which rule.

    Parameters
    ----------
    log : VisitLog
    path : path
        The file to write; one that is there is replaced.

    Returns
    -------
    int
        How many cells were repaired.

    Raises
    ------
    InputError
        The place can't be written.
    """
    with replacing(path) as temporary:
        write_rows(log.repairs, temporary)
    return len(log.repairs)


def write_table_schema(path: str | os.PathLike[str]) -> None:
    """Write the Frictionless package of the three tables, a Table Schema for each, as JSON.

    Parameters
    ----------
    path : path
        The file to write; one that is there is replaced.

    Raises
    ------
    InputError
        The place can't be written.
    """
    with replacing(path) as temporary:
        text = json.dumps(package_descriptor(), indent=2, ensure_ascii=False) + "\n"
        temporary.write_text(text, encoding="utf-8")
