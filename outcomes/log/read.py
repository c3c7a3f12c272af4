"""A log in, three tidy frames out: every row is used, or set aside with its reason."""

from __future__ import annotations

import os
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import pandas as pd

from outcomes.errors import InputError
from outcomes.log.cells import blank_values, read_cells
from outcomes.log.faults import (
    FAULT_COLUMNS,
    LAB,
    cell_faults,
    doubtful_cells,
    field_faults,
    finish,
    reading_faults,
    visit_faults,
    wash_value_faults,
)
from outcomes.log.files import open_log
from outcomes.log.headings import match_headings
from outcomes.log.rawtable import RawTable
from outcomes.log.schema import DEFAULT_ZONE, EXAMPLE_VISIT, TABLES, columns
from outcomes.log.warned import reading_warnings, visit_warnings

__all__ = ["VisitLog", "read_log"]


@dataclass(frozen=True, eq=False)
class VisitLog:
    """A log that was read and checked.

    Attributes
    ----------
    visits, checks, washes : DataFrame
        Used rows only, all canonical columns in canonical order, index from 0. Text and words are str or NaN,
        numbers float (levels, minutes, %), `date` datetime64; `zone` is lengths where absent.
    given : frozenset of (table, column)
        Columns that the source had, with at least one value in them.
    faults : DataFrame
        file, row (as a spreadsheet shows it), column, found, expected, code, message: why rows were set
        aside.
    warnings : DataFrame
        The same columns; the rows stay. A warning about a stylist or the whole log has no row.
    counts : dict
        For each table `in`, `used`, `set_aside`; in = used + set_aside.
    source : str
        Name shown to people.
    notes : tuple of str
        What was left out (columns that aren't part of a log, titles, the example row) or read from other
        spellings.
    """

    visits: pd.DataFrame
    checks: pd.DataFrame
    washes: pd.DataFrame
    given: frozenset[tuple[str, str]]
    faults: pd.DataFrame
    warnings: pd.DataFrame
    counts: Mapping[str, Mapping[str, int]]
    source: str
    notes: tuple[str, ...]

    def __str__(self) -> str:
        told = [f"{n['used']} of {n['in']} {table}" for table, n in self.counts.items() if n["in"]]
        return f"{self.source}: {', '.join(told)} used"


@dataclass(frozen=True, eq=False)
class _Parsed:
    """One table's rows with whole fields (the index counts all data rows), its faults so far and notes.

    `doubtful` are the warnings about cells that their rows can do without; `bare` are developer strengths
    without a unit, and `bare_unit` is what their heading says of it.
    """

    frame: pd.DataFrame
    rows: np.ndarray
    file: str
    faults: list[pd.DataFrame]
    doubtful: pd.DataFrame
    written: frozenset[str]
    bare: np.ndarray
    bare_unit: str
    notes: list[str]

    def set_aside(self) -> np.ndarray:
        aside = np.zeros(len(self.rows), dtype=bool)
        for part in self.faults:
            aside[part["pos"].to_numpy(dtype=np.int64)] = True
        return aside

    def used(self) -> np.ndarray:
        sound: np.ndarray = ~self.set_aside()[self.frame.index.to_numpy()]
        return sound

    def doubtful_used(self) -> pd.DataFrame:
        """Warnings are about rows that stay."""
        aside: np.ndarray = self.set_aside()[self.doubtful["pos"].to_numpy(dtype=np.int64)]
        return self.doubtful.loc[~aside]


def read_log(path: str | os.PathLike[str]) -> VisitLog:
    """Read and check a visit log.

    Parameters
    ----------
    path : path
        A folder with visits.csv (and checks.csv, washes.csv) or the same as Parquet, an .xlsx workbook with
        sheets of those names, or one visits file.

    Returns
    -------
    VisitLog

    Raises
    ------
    InputError
        Nothing readable there, no visits, a needed column missing, or dates of which nothing settles
        whether day or month comes first.
    """
    source, tables = open_log(path)
    parsed = {table: _parse(raw) for table, raw in tables.items()}
    visits = parsed["visits"]
    if len(visits.rows) == 0:
        raise InputError(f"{visits.file}: no visits in it yet; write one row for each visit and zone")
    visits.faults.append(visit_faults(visits.frame, visits.rows))
    for table in TABLES[1:]:
        if table in parsed:
            one = parsed[table]
            at_roots = table == "washes"
            one.faults.append(
                reading_faults(one.frame, one.rows, visits.frame, visits.used(), at_roots=at_roots)
            )
    return _assemble(source, parsed)


def _parse(raw: RawTable) -> _Parsed:
    mapped = match_headings(raw.table, raw.file, raw.headings)
    notes = [*raw.notes, *mapped.notes]
    visit = mapped.of("visit")
    assert visit is not None  # a needed column, or match_headings would have refused the file
    codes = raw.cells[visit.position]
    example = np.isin(codes.codes, np.flatnonzero(codes.categories.str.upper() == EXAMPLE_VISIT))
    if example.any():
        notes.append(f"{raw.file}: {example.sum()} example row(s) left out")
        raw = raw.without(example)
    pos = np.flatnonzero(raw.fields == len(raw.headings))
    told = []
    faulty: dict[str, np.ndarray] = {}
    values: dict[str, np.ndarray] = {}
    written: set[str] = set()
    bare, bare_unit = np.zeros(len(pos), dtype=bool), ""
    for column in columns(raw.table):
        match = mapped.of(column.name)
        faulty[column.name] = np.zeros(len(pos), dtype=bool)
        if match is None:
            values[column.name] = blank_values(column, len(pos))
            continue
        cells = raw.cells[match.position][pos]
        try:
            read = read_cells(column, cells, unit=match.unit, date_system=raw.date_system, rows=raw.rows[pos])
        except InputError as error:
            raise InputError(f"{raw.file}: {error}") from None
        values[column.name] = read.data
        faulty[column.name] = read.codes != ""
        if faulty[column.name].any() or pd.notna(read.data).any():
            written.add(column.name)
        if column.reader == "developer":
            bare, bare_unit = read.bare, match.unit
        told.append(cell_faults(column, match, cells, read, pos, raw.rows))
        notes += [f"{raw.file}: {repair}" for repair in read.repairs]
    frame = _frame(values, pos)
    empty = frame["zone"].isna().to_numpy() & ~faulty["zone"]
    frame["zone"] = frame["zone"].mask(empty, DEFAULT_ZONE)
    if raw.table == "washes":
        told.append(wash_value_faults(frame, raw.rows, faulty))
    faults, doubtful = doubtful_cells(raw.table, pd.concat(told, ignore_index=True), frame)
    part = doubtful["column"].isin(LAB)
    if part.any():
        frame.loc[doubtful["pos"][part].astype(np.int64), list(LAB)] = np.nan
    dropped = {*doubtful["column"], *(LAB if part.any() else ())}
    written -= {name for name in dropped if frame[name].isna().all()} - set(faults["column"])
    whole = [field_faults(raw), faults]
    return _Parsed(frame, raw.rows, raw.file, whole, doubtful, frozenset(written), bare, bare_unit, notes)


def _frame(values: Mapping[str, np.ndarray], index: np.ndarray) -> pd.DataFrame:
    """Columns that keep their dtype; text stays object, whichever string type this pandas would choose."""
    return pd.DataFrame(
        {name: pd.Series(data, index=index, dtype=data.dtype) for name, data in values.items()}
    )


def _assemble(source: str, parsed: dict[str, _Parsed]) -> VisitLog:
    frames: dict[str, pd.DataFrame] = {}
    counts: dict[str, dict[str, int]] = {}
    given: set[tuple[str, str]] = set()
    for table in TABLES:
        one = parsed.get(table)
        if one is None:
            frames[table] = _frame({c.name: blank_values(c, 0) for c in columns(table)}, np.arange(0))
            counts[table] = {"in": 0, "used": 0, "set_aside": 0}
            continue
        aside = int(one.set_aside().sum())
        counts[table] = {"in": len(one.rows), "used": len(one.rows) - aside, "set_aside": aside}
        frames[table] = one.frame[one.used()]
        given |= {(table, c.name) for c in columns(table) if c.name in one.written}
    visits, looks = parsed["visits"], parsed.get("checks")
    bare = visits.bare[visits.used()]
    told = {table: [one.doubtful_used()] for table, one in parsed.items()}
    told["visits"] += visit_warnings(frames["visits"], visits.rows, bare, visits.bare_unit)
    told["checks"] = told.get("checks", []) + reading_warnings(
        frames["checks"], looks.rows if looks else None
    )
    warned = [
        finish(parsed[table].file if table in parsed else source, told[table])
        for table in TABLES
        if table in told
    ]
    faults = pd.concat([finish(one.file, one.faults) for one in parsed.values()], ignore_index=True)
    return VisitLog(
        visits=frames["visits"].reset_index(drop=True),
        checks=frames["checks"].reset_index(drop=True),
        washes=frames["washes"].reset_index(drop=True),
        given=frozenset(given),
        faults=faults[list(FAULT_COLUMNS)],
        warnings=pd.concat(warned, ignore_index=True),
        counts=counts,
        source=source,
        notes=tuple(note for one in parsed.values() for note in one.notes),
    )
