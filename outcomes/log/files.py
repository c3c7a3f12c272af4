"""A folder, a workbook or one file becomes raw text tables; nothing is interpreted here.

Every cell becomes text, whatever it came from, so that CSV, Parquet and workbooks are read by the same rules.
"""

from __future__ import annotations

import csv
import io
import os
from dataclasses import replace
from itertools import islice
from pathlib import Path

import numpy as np
import pandas as pd

from outcomes.errors import InputError
from outcomes.log.encodings import text_of_lines
from outcomes.log.header import Declared, heading_score
from outcomes.log.mapfile import NO_MAP, LogMap
from outcomes.log.rawtable import (
    CHUNK,
    HEADER_ROWS,
    MAX_FIELDS,
    Grid,
    RawTable,
    coded,
    grid_of_rows,
    joined,
    raw_table,
)
from outcomes.log.records import read_records
from outcomes.log.schema import TABLES
from outcomes.log.swapped import current_files
from outcomes.log.workbook import read_parquet, read_workbook

__all__ = ["MAX_BYTES", "open_log"]

MAX_BYTES = 256 * 2**20  # one file; some millions of visits
_PIECE = 2**22  # bytes
_MANY = 100_000  # lines
DELIMITERS = (",", ";", "\t")
FORMS = (".csv", ".tsv", ".txt", ".parquet")
WORKBOOKS = (".xlsx", ".xlsm")


def open_log(
    path: str | os.PathLike[str], said: LogMap = NO_MAP, *, lenient: bool = False
) -> tuple[str, list[RawTable]]:
    """Read the raw tables of a log.

    Parameters
    ----------
    path : path
        A folder with visits.csv (checks.csv, washes.csv) or the same as Parquet, an .xlsx workbook with
        sheets of those names or with sheets that hold visits, or one visits file.
    said : LogMap, optional
        What a map file says of headings and sheets.
    lenient : bool
        Headings of which none is known are taken as they are, for a map to explain them.

    Returns
    -------
    str, list of RawTable
        Name shown to people, and the tables: visits first, of which there is at least one.

    Raises
    ------
    InputError
        Nothing there, no permission, an empty, oversized or foreign file, no visits.
    """
    place = Path(path)
    name = place.name or str(place)
    try:
        if place.is_dir():
            return name, _folder(place, said, lenient)
        if not place.exists():
            raise InputError(f"{place}: there is no such file or folder; look at the path")
        if place.stat().st_size == 0:
            raise InputError(f"{place}: the file is empty; expected visits under a row of headings")
        if place.suffix.lower() in WORKBOOKS:
            return name, read_workbook(place, said, lenient)
        return name, [_file(place, "visits", said, lenient)]
    except PermissionError:
        raise InputError(f"{place}: no permission to read it; ask its owner, or copy it elsewhere") from None
    except OSError as error:
        raise InputError(f"{place}: can't be read ({error.strerror or error}); look at the path") from None


def _folder(place: Path, said: LogMap, lenient: bool) -> list[RawTable]:
    found: dict[str, tuple[str, Path]] = {}
    entries = sorted(place.iterdir())
    for entry in entries:
        table = entry.stem.lower()
        if table not in TABLES or entry.suffix.lower() not in FORMS or not entry.is_file():
            continue
        if table in found:
            raise InputError(f"{place}: {found[table][0]} and {entry.name} both hold {table}; keep one")
        found[table] = entry.name, entry
    for name, path in current_files(place).items():  # a merge was stopped before it could move them
        if Path(name).stem in TABLES:
            found[Path(name).stem] = name, path
    if "visits" not in found:
        books = [entry.name for entry in entries if entry.suffix.lower() in WORKBOOKS]
        hint = f"; to read a workbook, name it: {place / books[0]}" if books else ""
        raise InputError(
            f"{place}: a folder without visits.csv or visits.parquet{hint or '; look at the path'}"
        )
    return [
        _file(found[table][1], table, said, lenient, found[table][0]) for table in TABLES if table in found
    ]


def _file(place: Path, table: str, said: LogMap, lenient: bool, shown: str = "") -> RawTable:
    shown = shown or place.name
    form = Path(shown).suffix.lower()
    size = place.stat().st_size
    if size > MAX_BYTES:
        raise InputError(
            f"{place}: {size / 2**20:.0f} MB; at most {MAX_BYTES // 2**20} MB can be read; split it by year"
        )
    if form == ".parquet":
        return read_parquet(place, table, said, lenient)
    if form not in FORMS:
        kinds = ".csv, .tsv, .txt, .parquet or .xlsx"
        raise InputError(f"{place}: a log is a folder, or a file ending in {kinds}; save it as one of these")
    text, note = _decode(place.read_bytes(), place)
    try:
        declared = said.declared(table)
        delimiter, headings = _delimiter(text, table, place, declared, lenient)
        grid = None if _needs_care(text) else _quick_grid(text, delimiter, shown)
        if grid is None:
            grid = grid_of_rows(read_records(text, delimiter, table, headings, declared), shown)
        _mostly_rows(grid, len(headings), place)
        raw = raw_table(table, shown, grid, declared=declared, lenient=lenient)
        return replace(raw, notes=(f"{shown} {note}", *raw.notes)) if note else raw
    except csv.Error as error:
        raise InputError(f"{place}: {error}; look for quotes that don't close, and save it again") from None


def _mostly_rows(grid: Grid, width: int, place: Path) -> None:
    """Refuse a large file most lines of which can't be rows: each would be set aside with a sentence."""
    short = int((grid.fields < max(2, width // 2)).sum())
    if short > max(_MANY, len(grid.fields) // 2):
        raise InputError(
            f"{place}: {short:,} of {len(grid.fields):,} lines hold fewer than {max(2, width // 2)} fields, "
            f"where the headings are {width}; look for quotes that don't close, and save it again"
        )


def _needs_care(text: str) -> bool:
    """Whether a line break or a delimiter may be something else than it seems."""
    return '"' in text or "\x00" in text or ("\r" in text and text.count("\r") != text.count("\r\n"))


def _quick_grid(text: str, delimiter: str, file: str) -> Grid | None:
    """All rows of delimited text without quotes: the grid that the careful route gives, sooner.

    None where the parser stumbles, as it does over some damaged text.
    """
    written = text.encode()
    fields = _fields(written, delimiter)
    if fields.max() > MAX_FIELDS:
        raise InputError(f"{file}: a row of {fields.max()} fields; look at the delimiter")
    try:
        # by chunks, of which the different texts alone are kept: a whole file of strings fills memory
        frames = pd.read_csv(
            io.BytesIO(written),  # a text stream would hold four bytes for each character
            encoding="utf-8",
            sep=delimiter,
            header=None,
            names=range(int(fields.max())),
            index_col=False,
            dtype=object,
            na_filter=False,
            skip_blank_lines=False,
            quoting=csv.QUOTE_NONE,
            chunksize=CHUNK,
        )
        chunks = [[coded(frame[i].to_numpy(dtype=object)) for i in frame.columns] for frame in frames]
    except pd.errors.ParserError:
        return None
    return Grid(joined(chunks), fields)


def _fields(written: bytes, delimiter: str) -> np.ndarray:
    """How many fields each line has, (n,); piece by piece, since the places of all delimiters fill memory."""
    data = np.frombuffer(written, dtype=np.uint8)
    ends = np.flatnonzero(data == ord("\n"))
    if len(data) and data[-1] != ord("\n"):
        ends = np.append(ends, len(data))
    marks, before = np.zeros(len(ends), dtype=np.int64), 0
    for start in range(0, len(data) + 1, _PIECE):
        piece = np.flatnonzero(data[start : start + _PIECE] == ord(delimiter))
        here = slice(*np.searchsorted(ends, [start, start + _PIECE]))
        marks[here] = before + np.searchsorted(piece, ends[here] - start)
        before += len(piece)
    fields: np.ndarray = np.diff(marks, prepend=0) + 1
    return fields


def _decode(data: bytes, place: Path) -> tuple[str, str]:
    """Text by its byte-order mark, as strict UTF-8, or else line by line; with a note about the last."""
    for mark, encoding in ((b"\xef\xbb\xbf", "utf-8-sig"), (b"\xff\xfe", "utf-16"), (b"\xfe\xff", "utf-16")):
        if data.startswith(mark):
            try:
                return data.decode(encoding), ""
            except UnicodeDecodeError:
                raise InputError(f"{place}: damaged {encoding} text; save it again as CSV UTF-8") from None
    if b"\x00" in data[:4096]:
        raise InputError(f"{place}: not a text file; save it as CSV UTF-8, or as .xlsx")
    try:
        return data.decode("utf-8"), ""
    except UnicodeDecodeError:
        return text_of_lines(data)


def _delimiter(
    text: str, table: str, place: Path, declared: Declared, lenient: bool
) -> tuple[str, list[str]]:
    """The delimiter under which some early row reads best as the headings of the table, and that row."""
    best, best_score = (",", [""]), 0
    early = "\n".join(islice(text[:200_000].splitlines(), HEADER_ROWS))
    if not early.strip():
        raise InputError(f"{place}: nothing but blank lines; expected {table} under a row of headings")
    for delimiter in DELIMITERS:
        rows = list(csv.reader(io.StringIO(early), delimiter=delimiter))
        for row in rows:
            score = heading_score(table, row, declared)
            if score > best_score:
                best, best_score = (delimiter, row), score
    if best_score < 2 and lenient:
        lines = early.splitlines()
        mark = max(DELIMITERS, key=lambda delimiter: max(line.count(delimiter) for line in lines))
        parted = next((line for line in lines if mark in line), "")
        if parted:
            return mark, next(csv.reader([parted], delimiter=mark))
    if best_score < 2:
        first = next(line for line in early.splitlines() if line.strip())[:60]
        raise InputError(
            f'{place}: no row of headings found; the first line is "{first}"; expected {table} headings '
            "split by comma, semicolon or tab, or a map file that names them (see `outcomes map --help`)"
        )
    return best
