"""Raw tables with headings understood: what a sheet's name supplies, made codes, looks split off."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from outcomes.errors import InputError
from outcomes.log.dates import read_dates
from outcomes.log.headings import HeadingMap, HeadingMatch, match_headings, needed_lacking
from outcomes.log.mapfile import LogMap
from outcomes.log.meaning import Meaning
from outcomes.log.rawtable import RawTable, texts
from outcomes.log.repairs import Repaired
from outcomes.log.schema import EXAMPLE_VISIT
from outcomes.log.wide import measured, split_off

__all__ = ["Part", "mapped_parts", "orders", "understood"]


@dataclass(frozen=True, eq=False)
class Part:
    """One raw table, ready to be read.

    Attributes
    ----------
    raw : RawTable
    mapped : HeadingMap
    order : str
        Of day and month where it's known: one of `dates.ORDERS`, or empty.
    supplied : tuple of Repaired
        Cells that come from elsewhere than the cell itself.
    codes_made : bool
        Whether the visit codes were made from client and date.
    """

    raw: RawTable
    mapped: HeadingMap
    order: str
    supplied: tuple[Repaired, ...]
    codes_made: bool = False


def understood(raw: RawTable, said: LogMap) -> HeadingMap:
    """The headings of a raw table, those settled by their cells too.

    Parameters
    ----------
    raw : RawTable
    said : LogMap

    Returns
    -------
    HeadingMap
    """
    mapped = match_headings(raw.table, raw.file, raw.headings, said.declared(raw.table))
    return measured(raw, mapped) if raw.table == "visits" else mapped


def mapped_parts(raws: Sequence[RawTable], said: LogMap) -> list[Part]:
    """Every table of a log with its headings understood.

    Parameters
    ----------
    raws : sequence of RawTable
    said : LogMap

    Returns
    -------
    list of Part
        In the order given, those split off behind the sheet that they come from.

    Raises
    ------
    InputError
        A needed column is missing.
    """
    pairs = [_without_examples(raw, understood(raw, said)) for raw in raws]
    parts = []
    for (raw, mapped), order in zip(pairs, orders(pairs, said.dates), strict=True):
        supplied: list[Repaired] = []
        if said.sheet_names and raw.sheet and raw.table == "visits" and mapped.of(said.sheet_names) is None:
            raw, mapped, told = _with(raw, mapped, said.sheet_names, _sheet_names(raw), "sheet_name")
            supplied.append(told)
        needed = frozenset({"visit"}) if said.visit_codes and raw.table == "visits" else frozenset()
        needed_lacking(mapped, needed)
        made = bool(said.visit_codes) and raw.table == "visits" and mapped.of("visit") is None
        if made:
            raw, mapped, told = _with(raw, mapped, "visit", _made_codes(raw, mapped, order), "made_code")
            supplied.append(told)
        supplied += _merged(raw, mapped)
        parts.append(Part(raw, mapped, order, tuple(supplied), made))
        if raw.table == "visits":
            parts += [Part(*split, order, (), made) for split in split_off(raw, mapped)]
    return parts


def _without_examples(raw: RawTable, mapped: HeadingMap) -> tuple[RawTable, HeadingMap]:
    visit = mapped.of("visit")
    if visit is None:
        return raw, mapped
    codes = raw.cells[visit.position]
    if EXAMPLE_VISIT not in "\n".join(codes.categories).upper():  # a million codes, looked through at once
        return raw, mapped
    named = [i for i, code in enumerate(codes.categories) if code.upper() == EXAMPLE_VISIT]
    example = np.isin(codes.codes, named)
    if not example.any():
        return raw, mapped
    note = f"{raw.file}: {example.sum()} example row(s) left out"
    return replace(raw.without(example), notes=(*raw.notes, note)), mapped


def orders(pairs: Sequence[tuple[RawTable, HeadingMap]], declared: str) -> list[str]:
    """Order of day and month of each table: declared, or else that of the others if they agree.

    Parameters
    ----------
    pairs : sequence of (RawTable, HeadingMap)
        Tables of one log.
    declared : {"", "day-first", "month-first"}

    Returns
    -------
    list of str
        Empty where a table settles its own order, and where nothing does.
    """
    if declared:
        return [declared] * len(pairs)
    own: list[str] = []
    for raw, mapped in pairs:
        match = mapped.of("date")
        found = ""
        if match is not None:
            used = np.unique(raw.cells[match.position].codes)
            different = pd.Series(np.asarray(raw.cells[match.position].categories, dtype=object)[used])
            found = read_dates(different.astype(object), raw.date_system).settled
        own.append(found)
    agreed = {order for order in own if order}
    shared = agreed.pop() if len(agreed) == 1 else ""
    # a table that settles its own is read by itself, so that one which contradicts itself is seen
    return ["" if order else shared for order in own]


def _with(
    raw: RawTable, mapped: HeadingMap, name: str, cells: pd.Categorical, rule: str
) -> tuple[RawTable, HeadingMap, Repaired]:
    """The table with one more column, and its cells as repairs."""
    match = HeadingMatch(len(raw.headings), name, Meaning(raw.table, name), "canonical")
    whole = raw.fields == len(raw.headings)
    wider = replace(
        raw,
        headings=(*raw.headings, name),
        cells=(*raw.cells, cells),
        fields=raw.fields + 1,
    )
    there = whole & ~np.isin(cells.codes, np.flatnonzero(cells.categories == ""))
    n = int(there.sum())
    told = Repaired(name, raw.file, raw.rows[there], _same("", n), cells[there], _same(rule, n))
    return wider, replace(mapped, matches=(*mapped.matches, match)), told


def _same(text: str, n: int) -> pd.Categorical:
    return pd.Categorical.from_codes(np.zeros(n, dtype=np.int8), categories=pd.Index([text], dtype=object))


def _sheet_names(raw: RawTable) -> pd.Categorical:
    return _same(raw.sheet.strip(), len(raw.rows))


def _made_codes(raw: RawTable, mapped: HeadingMap, order: str) -> pd.Categorical:
    """A code for each client's day; empty where the row doesn't say both."""
    client, date = mapped.of("client"), mapped.of("date")
    if client is None or date is None:  # `needed_lacking` refuses such a table before
        raise InputError(f"{raw.file}: visit codes can't be made without columns of client and date")
    written = raw.cells[date.position]
    # the same texts as when the column is read: others, as of a title above it, settle no order
    used = np.unique(written.codes[raw.fields == len(raw.headings)])
    different = pd.Series(np.asarray(written.categories, dtype=object)[used], dtype=object)
    read = read_dates(different, raw.date_system, order)
    days = np.full(len(written.categories), "", dtype=object)
    told = ~np.isnat(read.days)
    days[used[told]] = np.datetime_as_string(read.days[told].astype("datetime64[D]"))
    day = days[written.codes]
    who = np.asarray(raw.cells[client.position], dtype=object)
    return texts(np.where((who == "") | (day == ""), "", who + " " + day).astype(object))


def _merged(raw: RawTable, mapped: HeadingMap) -> list[Repaired]:
    """Cells that say nothing themselves but are part of a merged one, as repairs."""
    if not raw.filled:
        return []
    told = []
    place = {int(row): i for i, row in enumerate(raw.rows)}
    for match in mapped.matches:
        at = np.array(
            sorted(place[row] for row, column in raw.filled if column == match.position and row in place),
            dtype=np.int64,
        )
        if match.meaning is not None and match.meaning.table == raw.table and len(at):
            cells = raw.cells[match.position][at]
            told.append(
                Repaired(
                    *(match.meaning.column, raw.file, raw.rows[at]),
                    *(_same("", len(at)), cells, _same("merged_cell", len(at))),
                )
            )
    return told
