"""One log on its way into a merged one: its sound rows, and those that were set aside with their reasons."""

from __future__ import annotations

import os
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import pandas as pd

from outcomes.errors import InputError
from outcomes.log.cells import blank_values
from outcomes.log.faults import finish
from outcomes.log.frames import frame_of
from outcomes.log.mapfile import LogMap
from outcomes.log.parsed import Parsed, parsed_tables
from outcomes.log.row_faults import visit_faults
from outcomes.log.schema import TABLES, columns

__all__ = ["OWN_CODES", "Incoming", "Rows", "bring_in", "empty_rows"]

OWN_CODES = ("visit", "client", "stylist", "course")
"""Codes that every salon gives by itself; the same one in two salons may mean two people."""


@dataclass(frozen=True, eq=False)
class Rows:
    """Rows of one table.

    Attributes
    ----------
    frame : DataFrame (n, ...)
        Canonical columns; index from 0.
    files : ndarray of str (n,)
        Where each comes from.
    rows : ndarray of int (n,)
        There, as a spreadsheet shows it.
    """

    frame: pd.DataFrame
    files: np.ndarray
    rows: np.ndarray

    def where(self, which: np.ndarray) -> Rows:
        """Some of the rows.

        Parameters
        ----------
        which : ndarray of bool (n,)

        Returns
        -------
        Rows
        """
        return Rows(self.frame[which].reset_index(drop=True), self.files[which], self.rows[which])


@dataclass(frozen=True, eq=False)
class Incoming:
    """A log that was read but not yet held against others.

    Attributes
    ----------
    name : str
    tables : mapping of str to Rows
        Sound rows, by table.
    aside : DataFrame
        table, visit, zone, file, row, message: rows that were set aside, each once.
    counts : mapping of str to int
        Rows in, by table.
    given : mapping of str to frozenset of str
        Columns with a value in any row, by table.
    notes : tuple of str
    """

    name: str
    tables: Mapping[str, Rows]
    aside: pd.DataFrame
    counts: Mapping[str, int]
    given: Mapping[str, frozenset[str]]
    notes: tuple[str, ...]


def empty_rows(table: str) -> Rows:
    """A table without rows.

    Parameters
    ----------
    table : {"visits", "checks", "washes"}

    Returns
    -------
    Rows
    """
    frame = frame_of({c.name: blank_values(c, 0) for c in columns(table)}, np.arange(0))
    return Rows(frame, np.zeros(0, dtype=object), np.zeros(0, dtype=np.int64))


def bring_in(path: str | os.PathLike[str], said: LogMap, *, salon: str = "", apart: bool = False) -> Incoming:
    """Read a log that is to be merged.

    Parameters
    ----------
    path : path
        As for `read_log`.
    said : LogMap
    salon : str
        Code of its salon, for rows that don't say it.
    apart : bool
        Whether the codes of visits, clients, stylists and courses get their salon in front.

    Returns
    -------
    Incoming

    Raises
    ------
    InputError
        A log that can't be read; codes to be kept apart without a salon that they belong to.
    """
    name, parsed = parsed_tables(path, said)
    visits = parsed["visits"]
    raw_codes = visits.frame["visit"].copy()
    if salon:
        visits.frame["salon"] = visits.frame["salon"].fillna(salon)
    if apart:
        _keep_apart(name, visits)
        salons = visits.frame["salon"].dropna().unique()
        for table in TABLES[1:]:
            if table in parsed:
                own = dict(zip(raw_codes, visits.frame["visit"], strict=True))
                codes = parsed[table].frame["visit"]
                other = salons[0] + "-" + codes if len(salons) == 1 else codes
                parsed[table].frame["visit"] = codes.map(own).where(codes.isin(list(own)), other)
    visits.faults.append(visit_faults(visits.frame, visits.rows))
    tables, told = {}, []
    for table, one in parsed.items():
        files = _files(name, one)
        used = one.used()
        frame = one.frame[used].reset_index(drop=True)
        at = one.frame.index.to_numpy()[used]
        tables[table] = Rows(frame, files[at], one.rows[at])
        told.append(_aside(table, one, files))
    return Incoming(
        name,
        {table: tables.get(table, empty_rows(table)) for table in TABLES},
        pd.concat(told, ignore_index=True),
        {table: len(parsed[table].rows) if table in parsed else 0 for table in TABLES},
        {table: frozenset(parsed[table].written if table in parsed else ()) for table in TABLES},
        tuple(note for one in parsed.values() for note in one.notes),
    )


def _keep_apart(name: str, visits: Parsed) -> None:
    frame = visits.frame
    lacking = frame["salon"].isna() & visits.used()
    if lacking.any():
        row = visits.rows[frame.index[lacking.to_numpy(dtype=bool)][0]]
        raise InputError(
            f"{name}: row {row} says no salon, so that its codes can't be kept apart; name it with --salon"
        )
    for column in OWN_CODES:
        frame[column] = (frame["salon"] + "-" + frame[column]).where(frame[column].notna(), frame[column])


def _files(name: str, one: Parsed) -> np.ndarray:
    """Names that tell the files of several logs apart."""
    known = {file: file if file.startswith(name) else f"{name}/{file}" for file in set(one.files)}
    return np.array([known[file] for file in one.files], dtype=object)


def _aside(table: str, one: Parsed, files: np.ndarray) -> pd.DataFrame:
    """Each row that was set aside once, with all of what is wrong with it."""
    told = finish(one.file, one.faults, one.files)
    pos = pd.concat([part for part in one.faults if len(part)] or one.faults, ignore_index=True)["pos"]
    order = np.sort(pos.to_numpy(dtype=np.int64), kind="stable")
    reasons = pd.DataFrame({"pos": order, "message": told["message"].to_numpy()})
    each = reasons.groupby("pos", sort=True)["message"].agg(" | ".join)
    at = each.index.to_numpy(dtype=np.int64)
    frame = one.frame.reindex(at)
    return pd.DataFrame(
        {
            "table": table,
            "visit": frame["visit"].fillna("").to_numpy(dtype=object),
            "zone": frame["zone"].fillna("").to_numpy(dtype=object),
            "file": files[at],
            "row": one.rows[at],
            "message": each.to_numpy(dtype=object),
        }
    )
