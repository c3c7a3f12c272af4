"""The folder of a merged log: read, merged into, written whole or left as it was."""

from __future__ import annotations

import os
from collections.abc import Mapping, Sequence
from datetime import UTC, datetime
from pathlib import Path

import pandas as pd

from outcomes.errors import InputError
from outcomes.log.incoming import Incoming, empty_rows
from outcomes.log.journal import JOURNAL, Entry, read_journal, write_journal
from outcomes.log.merge import HERE, Merged, code_collisions, merge_logs
from outcomes.log.read import read_log
from outcomes.log.schema import TABLES
from outcomes.log.swapped import alone_in, finish_swap, swap_files
from outcomes.log.write import write_table

__all__ = ["merge_into"]


def merge_into(
    folder: str | os.PathLike[str],
    logs: Sequence[Incoming],
    *,
    shared: bool = False,
    now: datetime | None = None,
) -> Merged:
    """Merge logs into the one that a folder holds.

    Parameters
    ----------
    folder : path
        Made if it isn't there. Holds visits.csv, checks.csv and washes.csv in canonical form and journal.csv;
        a kill at any moment leaves the log and its journal as they were, or as they will be.
    logs : sequence of Incoming
    shared : bool
        A code that two salons use is one person in both.
    now : datetime, optional
        Time in the journal; by default the clock's.

    Returns
    -------
    Merged

    Raises
    ------
    InputError
        Codes of clients or stylists collide; the folder holds another kind of log, or one with faults, or
        can't be written; another merge is at work there.
    """
    place = Path(folder)
    try:
        place.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise InputError(f"{place}: can't be written ({error.strerror}); choose another folder") from None
    with alone_in(place):
        finish_swap(place)
        base = _so_far(place)
        journal = read_journal(place / JOURNAL)
        if not shared:
            _refuse_collisions([base["visits"], *(log.tables["visits"].frame for log in logs)])
        merged = merge_logs(base, logs)
        entries = _news(journal, merged.entries)
        if entries:
            when = (now or datetime.now(UTC)).strftime("%Y-%m-%dT%H:%M:%SZ")
            written = [t for t in TABLES if t == "visits" or len(merged.tables[t]) or len(base[t])]
            names = tuple(f"{table}.csv" for table in written) if merged.changes else ()
            with swap_files(place, (*names, JOURNAL)) as new:
                for table in written if merged.changes else ():
                    write_table(merged.tables[table], table, new[f"{table}.csv"])
                write_journal(new[JOURNAL], journal, entries, when)
    return merged


def _so_far(place: Path) -> Mapping[str, pd.DataFrame]:
    """The tables that the folder holds."""
    held = sorted(p.name for p in place.iterdir() if p.stem.lower() in TABLES and not p.name.startswith("."))
    if not held:
        return {table: empty_rows(table).frame for table in TABLES}
    foreign = [name for name in held if name not in {f"{table}.csv" for table in TABLES}]
    if foreign:
        raise InputError(f"{place}: already holds {foreign[0]} of another log; choose another folder")
    log = read_log(place)
    aside = sum(count["set_aside"] for count in log.counts.values())
    if aside:
        raise InputError(
            f"{place}: {aside} of its rows can't be used, and would be lost; mend those that `outcomes check "
            f"{place}` lists, then merge"
        )
    return {table: getattr(log, table) for table in TABLES}


def _refuse_collisions(visits: Sequence[pd.DataFrame]) -> None:
    found = code_collisions(visits)
    if not found:
        return
    told = []
    for column, codes in found.items():
        code, one, other = codes[0]
        more = ", ..." if len(codes) > 1 else ""
        name = f"{column} code" + ("" if len(codes) == 1 else "s")
        told.append(f"{len(codes)} {name} ({code} in {one} and in {other}{more})")
    raise InputError(
        f"two salons use the same codes: {' and '.join(told)}; say --codes apart if these are different "
        "people (each code gets its salon in front), or --codes shared if they are the same"
    )


def _news(journal: pd.DataFrame, entries: Sequence[Entry]) -> list[Entry]:
    """Entries that the journal hasn't: a row that is set aside on every import is told once."""
    names = ["action", "table", "visit", "zone", "file", "row", "key"]
    aside = journal[journal["action"] == "set_aside"]
    known = set(map(tuple, aside[names].to_numpy().tolist()))
    fresh = []
    for one in entries:
        told = tuple(str(getattr(one, name)) for name in names)
        if one.action != "set_aside" or one.file == HERE or told not in known:
            fresh.append(one)
    return fresh
