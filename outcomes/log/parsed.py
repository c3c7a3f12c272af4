"""Cells of every table become values; each row keeps its file and its number there."""

from __future__ import annotations

import os
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd

from outcomes.errors import InputError
from outcomes.log.cell_faults import (
    LAB,
    cell_faults,
    doubtful_cells,
    field_faults,
    no_code_faults,
    order_notes,
    summary_faults,
    wash_value_faults,
)
from outcomes.log.cells import CellRead, blank_values, read_cells
from outcomes.log.files import open_log
from outcomes.log.frames import frame_of
from outcomes.log.mapfile import LogMap
from outcomes.log.mapped import Part, mapped_parts
from outcomes.log.rawtable import RawTable
from outcomes.log.repairs import Repaired
from outcomes.log.schema import DEFAULT_ZONE, TABLES, Column, columns

__all__ = ["Parsed", "parse", "parsed_tables", "stacked"]


@dataclass(frozen=True, eq=False)
class Parsed:
    """One table's rows with whole fields (the index counts all data rows), its faults so far and notes.

    `file` is empty where the rows come from several; `doubtful` are the warnings about cells that their rows
    can do without; `bare` are developer strengths without a unit, and `in_volume` says which of them their
    heading means as volume.
    """

    file: str
    frame: pd.DataFrame
    rows: np.ndarray
    files: np.ndarray
    faults: list[pd.DataFrame]
    doubtful: pd.DataFrame
    written: frozenset[str]
    bare: np.ndarray
    in_volume: np.ndarray
    repaired: list[Repaired]
    notes: list[str]

    def set_aside(self) -> np.ndarray:
        """Which of all data rows have a fault, (m,)."""
        aside = np.zeros(len(self.rows), dtype=bool)
        for part in self.faults:
            aside[part["pos"].to_numpy(dtype=np.int64)] = True
        return aside

    def used(self) -> np.ndarray:
        """Which rows of the frame have none, (n,)."""
        sound: np.ndarray = ~self.set_aside()[self.frame.index.to_numpy()]
        return sound

    def doubtful_used(self) -> pd.DataFrame:
        """Warnings are about rows that stay."""
        aside: np.ndarray = self.set_aside()[self.doubtful["pos"].to_numpy(dtype=np.int64)]
        return self.doubtful.loc[~aside]


def parse(part: Part, said: LogMap) -> Parsed:
    """Read every column of one raw table.

    Parameters
    ----------
    part : Part
    said : LogMap
        For the words that it explains.

    Returns
    -------
    Parsed

    Raises
    ------
    InputError
        Dates of which nothing settles whether day or month comes first.
    """
    raw, mapped = part.raw, part.mapped
    notes = [*raw.notes, *mapped.notes]
    repaired = [*part.supplied]
    pos = np.flatnonzero(raw.fields == len(raw.headings))
    told = []
    faulty: dict[str, np.ndarray] = {}
    values: dict[str, np.ndarray] = {}
    written: set[str] = set()
    bare, in_volume = np.zeros(len(pos), dtype=bool), False
    for column in columns(raw.table):
        match = mapped.of(column.name)
        faulty[column.name] = np.zeros(len(pos), dtype=bool)
        if match is None or match.meaning is None:
            values[column.name] = blank_values(column, len(pos))
            continue
        cells = raw.cells[match.position][pos]
        try:
            read = read_cells(
                column,
                cells,
                unit=match.meaning.unit,
                date_system=raw.date_system,
                rows=raw.rows[pos],
                order=part.order,
                words=said.words.get(column.name),
            )
        except InputError as error:
            raise InputError(f"{raw.file}: {error}") from None
        notes += order_notes(raw.file, read)
        values[column.name] = read.data
        faulty[column.name] = read.faulty
        if read.written:
            written.add(column.name)
        if column.reader == "developer":
            bare, in_volume = read.bare & (match.meaning.unit != "percent"), match.meaning.unit == "volume"
        told.append(cell_faults(column, match, cells, read, pos, raw.rows))
        repaired += _repaired(column, raw, cells, read, pos)
    frame = frame_of(values, pos)
    empty = frame["zone"].isna().to_numpy() & ~faulty["zone"]
    frame["zone"] = frame["zone"].mask(empty, DEFAULT_ZONE)
    if raw.table == "washes":
        told.append(wash_value_faults(frame, raw.rows, faulty))
    wrong = pd.concat(told, ignore_index=True)
    if part.codes_made:
        wrong = no_code_faults(raw.table, wrong)
    faults, doubtful = doubtful_cells(raw.table, wrong, frame)
    of_colour = doubtful["column"].isin(LAB)
    if of_colour.any():
        frame.loc[doubtful["pos"][of_colour].astype(np.int64), list(LAB)] = np.nan
    dropped = {*doubtful["column"], *(LAB if of_colour.any() else ())}
    written -= {name for name in dropped if frame[name].isna().all()} - set(faults["column"])
    files = np.full(len(raw.rows), raw.file, dtype=object)
    needed = [m.position for c in columns(raw.table) if c.needed and (m := mapped.of(c.name)) is not None]
    sums = summary_faults(raw, needed)
    # what such a row lacks needs no telling
    faults, doubtful = (one[~one["pos"].isin(sums["pos"])] for one in (faults, doubtful))
    # "Total" is no code: below each month's sheet it would be a visit that comes again
    frame.loc[sums["pos"].astype(np.int64), "visit"] = np.nan
    whole = [field_faults(raw), sums, faults]
    return Parsed(
        *(raw.file, frame, raw.rows, files, whole, doubtful, frozenset(written)),
        *(bare, np.full(len(pos), in_volume), repaired, notes + [one.told() for one in repaired]),
    )


def _repaired(
    column: Column, raw: RawTable, cells: pd.Categorical, read: CellRead, pos: np.ndarray
) -> list[Repaired]:
    plain = np.flatnonzero(read.rules.categories == "")
    if len(plain) == len(read.rules.categories):
        return []
    at = np.flatnonzero(~np.isin(read.rules.codes, plain))
    return [Repaired(column.name, raw.file, raw.rows[pos[at]], cells[at], read.shown[at], read.rules[at])]


def parsed_tables(path: str | os.PathLike[str], said: LogMap) -> tuple[str, dict[str, Parsed]]:
    """Every table of a log, each row by itself; rows aren't held against each other yet.

    Parameters
    ----------
    path : path
        As for `read_log`.
    said : LogMap

    Returns
    -------
    str, dict of Parsed
        Name shown to people, and by table; `visits` is always there.

    Raises
    ------
    InputError
        As `open_log`, `mapped_parts` and `parse`.
    """
    name, raws = open_log(path, said)
    pieces: dict[str, list[Parsed]] = {}
    for part in mapped_parts(raws, said):
        pieces.setdefault(part.raw.table, []).append(parse(part, said))
    return name, {table: stacked(pieces[table]) for table in TABLES if table in pieces}


def stacked(parts: Sequence[Parsed]) -> Parsed:
    """Several tables of a kind, as one sheet a month, one below the other.

    Parameters
    ----------
    parts : sequence of Parsed
        At least one.

    Returns
    -------
    Parsed
        Positions count on from one table to the next.
    """
    if len(parts) == 1:
        return parts[0]
    frames, faults, doubtful, before = [], [], [], 0
    for part in parts:
        moved = part.frame.copy(deep=False)
        moved.index = moved.index + before
        frames.append(moved)
        faults += [one.assign(pos=one["pos"] + before) for one in part.faults]
        doubtful.append(part.doubtful.assign(pos=part.doubtful["pos"] + before))
        before += len(part.rows)
    named = {part.file for part in parts}
    return Parsed(
        file=named.pop() if len(named) == 1 else "",
        frame=pd.concat(frames),
        rows=np.concatenate([part.rows for part in parts]),
        files=np.concatenate([part.files for part in parts]),
        faults=faults,
        doubtful=pd.concat(doubtful, ignore_index=True),
        written=frozenset().union(*(part.written for part in parts)),
        bare=np.concatenate([part.bare for part in parts]),
        in_volume=np.concatenate([part.in_volume for part in parts]),
        repaired=[one for part in parts for one in part.repaired],
        notes=[note for part in parts for note in part.notes],
    )
