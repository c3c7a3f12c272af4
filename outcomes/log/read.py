"""A log in, three tidy frames out: every row is used, or set aside with its reason."""

from __future__ import annotations

import os
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
import pandas as pd

from outcomes.errors import InputError
from outcomes.log.cells import blank_values
from outcomes.log.dates import ORDERS
from outcomes.log.faults import FAULT_COLUMNS, finish
from outcomes.log.frames import frame_of
from outcomes.log.mapfile import NO_MAP, LogMap, read_map
from outcomes.log.parsed import Parsed, parsed_tables
from outcomes.log.repairs import Repaired, repairs_frame
from outcomes.log.row_faults import reading_faults, visit_faults
from outcomes.log.schema import TABLES, columns
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
    repaired : tuple of Repaired
        What `repairs` lists.
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
    repaired: tuple[Repaired, ...] = ()

    @cached_property
    def repairs(self) -> pd.DataFrame:
        """file, row, column, from, to, rule (a key of `repairs.RULES`): a row for each repaired cell."""
        return repairs_frame(self.repaired)

    def __str__(self) -> str:
        told = [f"{n['used']} of {n['in']} {table}" for table, n in self.counts.items() if n["in"]]
        return f"{self.source}: {', '.join(told)} used"


def read_log(
    path: str | os.PathLike[str],
    *,
    map_file: str | os.PathLike[str] | LogMap | None = None,
    dates: str = "",
) -> VisitLog:
    """Read and check a visit log.

    Parameters
    ----------
    path : path
        A folder with visits.csv (and checks.csv, washes.csv) or the same as Parquet, an .xlsx workbook with
        sheets of those names or with sheets that hold visits, or one visits file.
    map_file : path or LogMap, optional
        What the log's own headings, sheets and words mean, as `outcomes map` proposes it.
    dates : {"", "day-first", "month-first"}
        Order of day and month where no date of the log settles it; goes before the map's.

    Returns
    -------
    VisitLog

    Raises
    ------
    InputError
        Nothing readable there, no visits, a needed column missing, dates of which nothing settles
        whether day or month comes first, or an unusable map.
    """
    said = read_map(map_file) if isinstance(map_file, str | os.PathLike) else map_file or NO_MAP
    if dates:
        if dates not in ORDERS:
            raise InputError(f'dates: found "{dates}"; expected {" or ".join(ORDERS)}; choose one of them')
        said = replace(said, dates=dates)
    source, parsed = parsed_tables(path, said)
    if len(parsed["visits"].rows) == 0:
        file = parsed["visits"].file or source
        raise InputError(f"{file}: no visits in it yet; write one row for each visit and zone")
    return checked(source, parsed)


def checked(source: str, parsed: dict[str, Parsed]) -> VisitLog:
    """Check the rows of a log against each other.

    Parameters
    ----------
    source : str
        Name shown to people.
    parsed : dict of Parsed
        By table; `visits` must be there.

    Returns
    -------
    VisitLog
    """
    visits = parsed["visits"]
    visits.faults.append(visit_faults(visits.frame, visits.rows))
    for table in TABLES[1:]:
        if table in parsed:
            one = parsed[table]
            at_roots = table == "washes"
            one.faults.append(
                reading_faults(one.frame, one.rows, visits.frame, visits.used(), at_roots=at_roots)
            )
    return _assemble(source, parsed)


def _assemble(source: str, parsed: dict[str, Parsed]) -> VisitLog:
    frames: dict[str, pd.DataFrame] = {}
    counts: dict[str, dict[str, int]] = {}
    given: set[tuple[str, str]] = set()
    for table in TABLES:
        one = parsed.get(table)
        if one is None:
            frames[table] = frame_of({c.name: blank_values(c, 0) for c in columns(table)}, np.arange(0))
            counts[table] = {"in": 0, "used": 0, "set_aside": 0}
            continue
        aside = int(one.set_aside().sum())
        counts[table] = {"in": len(one.rows), "used": len(one.rows) - aside, "set_aside": aside}
        frames[table] = one.frame[one.used()] if aside else one.frame
        given |= {(table, c.name) for c in columns(table) if c.name in one.written}
    visits, looks = parsed["visits"], parsed.get("checks")
    used = visits.used()
    told = {table: [one.doubtful_used()] for table, one in parsed.items()}
    told["visits"] += visit_warnings(frames["visits"], visits.rows, visits.bare[used], visits.in_volume[used])
    told["checks"] = told.get("checks", []) + reading_warnings(
        frames["checks"], looks.rows if looks else None
    )
    warned = []
    for table in TABLES:
        if table in told:
            one = parsed.get(table)
            warned.append(
                finish(source, told[table])
                if one is None
                else finish(one.file or source, told[table], one.files)
            )
    faults = pd.concat(
        [finish(one.file or source, one.faults, one.files) for one in parsed.values()], ignore_index=True
    )
    return VisitLog(
        visits=_from_zero(frames["visits"]),
        checks=_from_zero(frames["checks"]),
        washes=_from_zero(frames["washes"]),
        given=frozenset(given),
        faults=faults[list(FAULT_COLUMNS)],
        warnings=pd.concat(warned, ignore_index=True),
        counts=counts,
        source=source,
        notes=tuple(note for one in parsed.values() for note in one.notes),
        repaired=tuple(part for one in parsed.values() for part in one.repaired),
    )


def _from_zero(frame: pd.DataFrame) -> pd.DataFrame:
    frame.index = pd.RangeIndex(len(frame))  # in place: the frame is nobody else's, and may be large
    return frame
