"""Workbooks and Parquet files: typed cells become the text that a person would have written."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import date, datetime, time, timedelta
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

from outcomes.errors import InputError
from outcomes.log.ambiguous import CLOCK
from outcomes.log.cells import NO_VALUE, OPEN_AND_SAVE
from outcomes.log.header import find_header, heading_score
from outcomes.log.mapfile import NO_MAP, LogMap
from outcomes.log.rawtable import HEADER_ROWS, Grid, RawTable, grid_of_rows, raw_table, texts
from outcomes.log.schema import TABLES
from outcomes.log.sheet_xml import formula_cells
from outcomes.log.unpacked import look_through

__all__ = ["cell_text", "read_parquet", "read_workbook"]

_FIRST_SOUND_DAY = date(1900, 3, 1)  # before it spreadsheets count a day that never was


def cell_text(value: Any) -> str:
    """Text of one typed cell: 3.0 as 3, dates as ISO 8601, times as h:mm, nothing as empty text.

    Parameters
    ----------
    value : object
        Text, number, bool, date, time, length of time or nothing, as a reader of workbooks gives it.

    Returns
    -------
    str
    """
    if isinstance(value, str):
        return value
    if value is None or value is pd.NaT or value is pd.NA or value != value:
        return ""
    if isinstance(value, bool | np.bool_):
        return "TRUE" if value else "FALSE"
    if isinstance(value, datetime):
        return value.isoformat(sep=" ") if value.time() != time(0) else value.date().isoformat()
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, time):
        return _clock(value.hour * 3600 + value.minute * 60 + value.second)
    if isinstance(value, timedelta):
        return _clock(round(value.total_seconds()))
    if isinstance(value, float):
        return str(int(value)) if value.is_integer() and abs(value) < 1e15 else repr(value)
    return str(value)


def _clock(seconds: int) -> str:
    hours, rest = divmod(seconds, 3600)
    text = f"{hours}:{rest // 60:02d}"
    return f"{text}:{rest % 60:02d}" if rest % 60 else text


def read_workbook(place: Path, said: LogMap = NO_MAP, lenient: bool = False) -> list[RawTable]:
    """Raw tables of a workbook: of its sheets visits (and checks, washes), or else of those that hold visits.

    Parameters
    ----------
    place : Path
        An .xlsx or .xlsm file.
    said : LogMap, optional
        What a map file says of sheets and headings.
    lenient : bool
        As for `open_log`; the first sheet then counts as visits where none is known.

    Returns
    -------
    list of RawTable
        Visits first, of which there is at least one; then checks and washes where they have a sheet that
        isn't empty.

    Raises
    ------
    InputError
        Not a workbook, protected by a password, unpacking to more than 1 GB, or without a sheet of visits.
    """
    from python_calamine import CalamineError, CalamineWorkbook, PasswordError, SheetVisibleEnum

    system = _date_system(place)
    try:
        book = CalamineWorkbook.from_path(str(place))
        chosen = _chosen_sheets(place, book, said, lenient)
        out_of_sight = {m.name for m in book.sheets_metadata if m.visible != SheetVisibleEnum.Visible}
        tables = []
        for name, table in chosen:
            sheet = book.get_sheet_by_name(name)
            shown = f"{place.name}, sheet {name}"
            hidden = name in out_of_sight
            if sheet.total_height == 0 and (table != "visits" or len(chosen) > 1):
                continue
            grid, notes = _with_formulas(sheet.to_python(skip_empty_area=False), place, name, shown)
            if hidden:
                notes = (f'{shown}: the sheet is hidden, and was read; "" in a map leaves it out', *notes)
            cells, filled = _filled(grid, sheet.merged_cell_ranges or [])
            raw = raw_table(
                *(table, shown, grid_of_rows(_texts(cells, system), shown), system),
                declared=said.declared(table),
                lenient=lenient,
            )
            notes += raw.notes
            tables.append(replace(raw, sheet=name, filled=frozenset(filled), notes=notes, hidden=hidden))
    except PasswordError:
        raise InputError(f"{place}: protected by a password; save a copy without one") from None
    except CalamineError as error:
        told = " ".join(str(error).split())
        raise InputError(f"{place}: damaged workbook ({told}); save it again as .xlsx") from None
    return sorted(tables, key=lambda raw: TABLES.index(raw.table))


def _chosen_sheets(place: Path, book: Any, said: LogMap, lenient: bool) -> list[tuple[str, str]]:
    """Sheets that are read, each with its table: by what the map says, by name, or else by their headings."""
    named: dict[str, str] = {}
    for name in book.sheet_names:
        key = name.strip().lower()
        table = said.sheets.get(key, key if key in TABLES else None)
        if table is not None:
            named[name] = table
    if "visits" not in named.values():
        # one sheet a month or a stylist, under whatever names
        for name in book.sheet_names:
            if name not in named:
                named[name] = _table_of(book.get_sheet_by_name(name), said)
    chosen = [(name, named[name]) for name in book.sheet_names if named.get(name)]
    if lenient and book.sheet_names and not any(table == "visits" for _, table in chosen):
        return [(book.sheet_names[0], "visits")]
    if not any(table == "visits" for _, table in chosen):
        found = ", ".join(book.sheet_names) or "none"
        raise InputError(
            f"{place}: no sheet of visits; sheets found: {found}; name one of them visits, or say in a map "
            "file which they are (see `outcomes map --help`)"
        )
    return chosen


_LEAST = {"visits": 5, "washes": 3, "checks": 3}
"""Headings by which a sheet is known for what it is, where its name doesn't say it."""


def _table_of(sheet: Any, said: LogMap) -> str:
    """What a sheet holds, by its headings; empty where it's no part of a log."""
    early = [
        [cell_text(value) for value in row]
        for row in sheet.to_python(skip_empty_area=False, nrows=HEADER_ROWS)
    ]
    for table, least in _LEAST.items():
        try:
            *_, heads = find_header(table, early, "", said.declared(table))
        except InputError:
            continue
        if heading_score(table, heads, said.declared(table)) >= least:
            return table
    return ""


def _date_system(place: Path) -> int:
    """1904 where the workbook counts its days from there; refuses what isn't a workbook, or is a bomb."""
    return 1904 if re.search(r'date1904="(?:1|true)"', look_through(place)) else 1900


def _with_formulas(
    grid: list[list[Any]], place: Path, sheet: str, shown: str
) -> tuple[list[list[Any]], tuple[str, ...]]:
    """Formulas that failed, as they are shown (#REF!), and those without a value: both arrive as empty cells.

    With a note where there are any of the second kind.
    """
    width = max(map(len, grid), default=0)
    lacking = 0
    for row, column, text in formula_cells(place, sheet):
        if column >= width:  # under no heading
            continue
        # the reader leaves out rows of nothing else
        grid += [[""] * width for _ in range(row + 1 - len(grid))]
        grid[row][column] = text or NO_VALUE
        lacking += not text
    cells = "1 cell holds a formula" if lacking == 1 else f"{lacking:,} cells hold formulas"
    when = "as before a spreadsheet program has opened the file"
    told = f"{shown}: {cells} without a value, {when}; {OPEN_AND_SAVE}"
    return grid, (told,) if lacking else ()


def _filled(grid: list[list[Any]], merged: Sequence[Any]) -> tuple[list[list[Any]], list[tuple[int, int]]]:
    """A cell merged over several rows stands for all of them (across columns only the first holds it).

    Which cells were filled so is told too: row number as a spreadsheet shows it, and position.
    """
    told = []
    for (top, left), (bottom, _) in merged:
        for row in range(top + 1, min(bottom + 1, len(grid))):
            if left < len(grid[row]):
                grid[row][left] = grid[top][left]
                told.append((row + 1, left))
    return grid, told


def _texts(grid: list[list[Any]], system: int) -> Iterator[list[str]]:
    for row in grid:
        yield [
            _day_text(value) if system == 1900 and isinstance(value, date) else cell_text(value)
            for value in row
        ]


def _day_text(value: date) -> str:
    """Serials 59 and 60 both arrive as 28 February 1900: such a day is left unreadable, not guessed."""
    day = value.date() if isinstance(value, datetime) else value
    return f"serial day before {_FIRST_SOUND_DAY}" if day < _FIRST_SOUND_DAY else cell_text(value)


def read_parquet(place: Path, table: str, said: LogMap = NO_MAP, lenient: bool = False) -> RawTable:
    """Raw table of a Parquet file; its headings count as row 1.

    Parameters
    ----------
    place : Path
        A Parquet file.
    table : str
        `visits`, `checks` or `washes`.
    said : LogMap, optional
        What a map file says of headings.
    lenient : bool
        As for `open_log`.

    Returns
    -------
    RawTable

    Raises
    ------
    InputError
        No Parquet reader is installed, or the file isn't Parquet.
    """
    try:
        import pyarrow.parquet as parquet
    except ImportError:
        raise InputError(
            f"{place}: reading Parquet needs an extra: pip install 'outcomes[parquet]'"
        ) from None
    from pyarrow import ArrowException

    with place.open("rb"):
        pass  # a missing permission is said as such, not as a damaged file
    try:
        # what another program noted about its own index isn't needed, and may itself be damaged
        frame = parquet.read_table(place).to_pandas(ignore_metadata=True)
    except (ArrowException, ValueError, LookupError, OSError):
        raise InputError(f"{place}: not a Parquet file, or a damaged one; write it again") from None
    columns = [_column_text(str(name), frame.iloc[:, i]) for i, name in enumerate(frame.columns)]
    fields = np.full(len(frame) + 1, len(columns), dtype=np.int64)
    return raw_table(
        table, place.name, Grid(tuple(columns), fields), declared=said.declared(table), lenient=lenient
    )


def _number_text(value: Any) -> str:
    """A number of a Parquet file is a number: 1.25 is no hour and 25 minutes, as it may be in text."""
    text = cell_text(value)
    return f"{text}0" if isinstance(value, float) and re.fullmatch(CLOCK, text) else text


def _column_text(heading: str, values: pd.Series[Any]) -> pd.Categorical:
    try:
        codes, found = pd.factorize(values)
    except TypeError:  # lists and the like: no cell of a log, but no reason to stop either
        codes, found = pd.factorize(values.map(str))
    written = np.array([heading, *map(_number_text, found), ""], dtype=object)  # code -1 is a missing value
    return texts(written[np.concatenate([[0], np.where(codes < 0, len(written) - 1, codes + 1)])])
