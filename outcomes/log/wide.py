"""One sheet that holds everything: looks and wash readings in extra columns become tables of their own.

"20 min" above a level is a look 20 minutes after application; "after 10 washes" a reading of the hair that
the row lightened. Each filled cell becomes one row, which keeps the number of the row that it stands in.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pandas as pd

from outcomes.log.cells import MISSING, read_cells
from outcomes.log.headings import HeadingMap, HeadingMatch
from outcomes.log.meaning import Meaning
from outcomes.log.numbers import Texts
from outcomes.log.rawtable import RawTable, texts
from outcomes.log.schema import column

__all__ = ["measured", "split_off"]


def measured(raw: RawTable, mapped: HeadingMap) -> HeadingMap:
    """Settle by the cells what "after 10 washes" holds, levels or shares of the tone left, and the like.

    Parameters
    ----------
    raw : RawTable
    mapped : HeadingMap
        Of its headings.

    Returns
    -------
    HeadingMap
        Where all cells below such a heading can be the one and not all the other, it says which.
    """
    named = {m.meaning.look for m in mapped.matches if m.meaning and m.meaning.column == "level"}
    return replace(mapped, matches=tuple(_measured(raw, _numbered(m, named)) for m in mapped.matches))


def _numbered(match: HeadingMatch, named: set[int | None]) -> HeadingMatch:
    """ "look 5 min": minutes of the fifth look where a heading has its level, else the level at 5 minutes."""
    if match.reason != "ambiguous" or any(m.table != "checks" for m in match.candidates):
        return match
    by_number, by_minutes = match.candidates
    meaning = by_number if by_number.look in named else by_minutes
    return replace(match, meaning=meaning, reason="look", candidates=())


def _measured(raw: RawTable, match: HeadingMatch) -> HeadingMatch:
    if match.reason != "ambiguous" or not all(m.table == "washes" and m.is_reading for m in match.candidates):
        return match
    cells = raw.cells[match.position]
    used = np.asarray(cells.categories, dtype=object)[np.unique(cells.codes)]
    filled = pd.Series(used, dtype=object).str.casefold()
    filled = filled[~filled.isin(MISSING)]
    if filled.empty:
        return match
    # the share of tone left has five values only, levels have others: 6/7 and L7 are read as they are later
    as_level = _all_read("level", filled)
    as_share = _all_read("tone_left", filled)
    if as_level == as_share:
        return match
    name = "level" if as_level else "tone_left"
    meaning = next(m for m in match.candidates if m.column == name)
    return replace(match, meaning=meaning, reason="washed", candidates=())


def _all_read(name: str, filled: Texts) -> bool:
    """Whether all of some different texts would be sound cells of a column of `washes`."""
    rule = column("washes", name)
    return not (read_cells(rule, pd.Categorical(filled)).codes != "").any()


def split_off(raw: RawTable, mapped: HeadingMap) -> list[tuple[RawTable, HeadingMap]]:
    """Looks and wash readings of a sheet of visits as tables of their own.

    Parameters
    ----------
    raw : RawTable
        Of visits, with a column of visit codes.
    mapped : HeadingMap
        Of its headings.

    Returns
    -------
    list of (RawTable, HeadingMap)
        Of checks and of washes, where the sheet has any.
    """
    found = []
    for table in ("checks", "washes"):
        below = [match for match in mapped.elsewhere() if match.meaning and match.meaning.table == table]
        if below:
            parts = _looks(raw, mapped, below) if table == "checks" else _readings(raw, mapped, below)
            if parts:
                found.append(_table(raw, mapped, table, parts))
    return found


_Part = tuple[np.ndarray, dict[str, pd.Categorical]]
"""Positions of visits (k,), and by column the cells (k,) of looks or readings there."""


def _constant(text: str, n: int) -> pd.Categorical:
    return pd.Categorical.from_codes(np.zeros(n, dtype=np.int8), categories=pd.Index([text], dtype=object))


def _where(raw: RawTable, position: int, whole: np.ndarray) -> np.ndarray:
    cells = raw.cells[position]
    return np.flatnonzero(whole & ~np.isin(cells.codes, np.flatnonzero(cells.categories == "")))


def _own(raw: RawTable, mapped: HeadingMap, name: str, at: np.ndarray) -> dict[str, pd.Categorical]:
    match = mapped.of(name)
    return {} if match is None else {name: raw.cells[match.position][at]}


def _looks(raw: RawTable, mapped: HeadingMap, below: Sequence[HeadingMatch]) -> list[_Part]:
    whole = raw.fields == len(raw.headings)
    parts: list[_Part] = []
    numbered: dict[int, dict[str, int]] = {}
    for match in below:
        meaning = match.meaning
        assert meaning is not None
        if meaning.look is not None:
            numbered.setdefault(meaning.look, {})[meaning.column] = match.position
            continue
        at = _where(raw, match.position, whole)
        minutes = _constant(f"{meaning.at:g}", len(at))
        parts.append((at, {"minutes": minutes, "level": raw.cells[match.position][at]}))
    for columns in numbered.values():
        at = np.unique(np.concatenate([_where(raw, position, whole) for position in columns.values()]))
        parts.append((at, {name: raw.cells[position][at] for name, position in columns.items()}))
    return [(at, cells | _own(raw, mapped, "zone", at)) for at, cells in parts if len(at)]


def _readings(raw: RawTable, mapped: HeadingMap, below: Sequence[HeadingMatch]) -> list[_Part]:
    whole = raw.fields == len(raw.headings)
    together: dict[tuple[float | None, str], dict[str, int]] = {}
    shampoo: int | None = None
    for match in below:
        meaning = match.meaning
        assert meaning is not None
        if meaning.column == "shampoo":
            shampoo = match.position
        else:
            together.setdefault((meaning.at, meaning.zone), {})[meaning.column] = match.position
    parts: list[_Part] = []
    for (washes, zone), columns in together.items():
        at = np.unique(np.concatenate([_where(raw, position, whole) for position in columns.values()]))
        if not len(at):
            continue
        cells = {name: raw.cells[position][at] for name, position in columns.items()}
        if washes is not None:
            cells["washes"] = _constant(f"{washes:g}", len(at))
        if shampoo is not None:
            cells["shampoo"] = raw.cells[shampoo][at]
        cells |= {"zone": _constant(zone, len(at))} if zone else _own(raw, mapped, "zone", at)
        parts.append((at, cells))
    return parts


def _table(
    raw: RawTable, mapped: HeadingMap, table: str, parts: Sequence[_Part]
) -> tuple[RawTable, HeadingMap]:
    visit = mapped.of("visit")
    assert visit is not None  # `mapped_parts` refuses or makes it before
    names = list(dict.fromkeys(name for _, cells in parts for name in cells))
    at = np.concatenate([positions for positions, _ in parts])
    order = np.argsort(at, kind="stable")
    rows = at[order]
    columns = [
        np.concatenate([_texts(cells.get(name), len(positions)) for positions, cells in parts])[order]
        for name in names
    ]
    made = RawTable(
        table=table,
        file=raw.file,
        headings=("visit", *names),
        cells=(raw.cells[visit.position][rows], *(texts(column) for column in columns)),
        rows=raw.rows[rows],
        fields=np.full(len(rows), len(names) + 1, dtype=np.int64),
        date_system=raw.date_system,
        notes=(),
        sheet=raw.sheet,
    )
    matches = tuple(
        HeadingMatch(i, name, Meaning(table, name), "canonical") for i, name in enumerate(made.headings)
    )
    return made, HeadingMap(table, raw.file, matches)


def _texts(cells: pd.Categorical | None, n: int) -> np.ndarray:
    return np.full(n, "", dtype=object) if cells is None else np.asarray(cells, dtype=object)
