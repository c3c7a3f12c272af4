"""Delimited text, and Parquet: cells with the heading that stands above them."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable, Sequence
from itertools import islice
from pathlib import Path
from typing import Any

from outcomes.errors import InputError
from outcomes.log.unpacked import MAX_UNPACKED
from outcomes.log.workbook import cell_text
from outcomes.protect.contents.pieces import Piece, Pieces
from outcomes.protect.private.codes import heading_of

__all__ = ["DELIMITERS", "heading_at", "pieces_of_delimited", "pieces_of_parquet"]

DELIMITERS = (",", ";", "\t", "|")
HEADER_ROWS = 20


def _known(row: Sequence[str]) -> int:
    return sum(1 for cell in row if heading_of(cell))


def pieces_of_delimited(text: str, wants: Callable[[str], bool] = bool, narrowest: int = 1) -> Pieces:
    """Cells of delimited text under headings that say what they are; the text itself is looked at apart.

    Parameters
    ----------
    text : str
    wants : callable
        Whether a heading tells of its cells what their text doesn't.
    narrowest : int
        Columns that make a table: in a text of other things one word on a line is no heading.

    Yields
    ------
    Piece
        Marked as looked at again.
    """
    best, delimiter, first = 0, ",", 0
    early = "\n".join(islice(text[:200_000].splitlines(), HEADER_ROWS))
    for mark in DELIMITERS:
        try:
            for i, row in enumerate(_rows(early, mark)):
                if len(row) >= narrowest and _known(row) > best:
                    best, delimiter, first = _known(row), mark, i
        except csv.Error:
            continue  # a cell longer than any: no table, or one parted by another mark
    if not best:
        return
    reader = _rows(text, delimiter)
    heads: list[str] = []
    wanted: list[int] = []
    try:
        line = 1
        for i, row in enumerate(reader):
            if i == first:
                heads = row
                wanted = [j for j, cell in enumerate(row) if heading_of(cell) and wants(cell)]
                if not wanted:
                    return
            elif i > first:
                width = len(row)
                for j in wanted:
                    if j < width and row[j]:
                        yield Piece(row[j], "", line, 0, heads[j], again=True)
            line = reader.line_num + 1
    except csv.Error:
        return  # the whole text was looked at; only what headings tell is lacking from here on


def _rows(text: str, delimiter: str) -> Any:
    return csv.reader(io.StringIO(text, newline=""), delimiter=delimiter)


def heading_at(text: str, line: str, character: int) -> str:
    """The heading above a place in delimited text; empty where its line isn't a row like the headings.

    Parameters
    ----------
    text : str
        The line of the headings.
    line : str
    character : int
        From 1.

    Returns
    -------
    str
    """
    delimiter = max(DELIMITERS, key=text.count)
    try:
        heads: list[str] = next(iter(_rows(text, delimiter)), [])
        if len(heads) < 2 or len(next(iter(_rows(line, delimiter)), [])) != len(heads):
            return ""
        before = next(iter(_rows(line[: character - 1], delimiter)), [""])
    except csv.Error:
        return ""  # a cell longer than any
    return " ".join(heads[max(0, len(before) - 1)].split())


def pieces_of_parquet(place: Path) -> Pieces:
    """Cells of a Parquet file; its headings count as row 1.

    Parameters
    ----------
    place : Path

    Yields
    ------
    Piece

    Raises
    ------
    InputError
        No Parquet reader is installed, the file is damaged, or it unpacks to too much.
    """
    try:
        import pyarrow.parquet as parquet
    except ImportError:
        raise InputError(
            f"{place}: looking into Parquet needs an extra: pip install 'outcomes[parquet]'"
        ) from None
    from pyarrow import ArrowException

    try:
        file = parquet.ParquetFile(place)
        groups = [file.metadata.row_group(i) for i in range(file.metadata.num_row_groups)]
        if sum(group.total_byte_size for group in groups) > MAX_UNPACKED:
            raise InputError(f"{place}: unpacks to more than {MAX_UNPACKED // 2**20} MB; split it")
        for key, value in (file.schema_arrow.metadata or {}).items():
            yield Piece(
                f"{key.decode(errors='replace')}: {value.decode(errors='replace')}", "notes of the file"
            )
        yield from (Piece(name, "headings") for name in file.schema_arrow.names)
        row = 2
        for batch in file.iter_batches():
            for name, column in zip(batch.schema.names, batch.columns, strict=True):
                yield from _column(name, column.to_pylist(), row)
            row += len(batch)
    except (ArrowException, ValueError, LookupError, OSError) as cause:
        if isinstance(cause, InputError):
            raise
        raise InputError(f"{place}: not a Parquet file, or a damaged one; write it again") from None


def _column(name: str, values: list[Any], first: int) -> Pieces:
    told = bool(heading_of(name))
    for row, value in enumerate(values, first):
        is_number = isinstance(value, int | float)
        if value is None or (is_number and not told):
            continue
        if isinstance(value, bytes):
            text = value.decode(errors="replace")
        else:
            text = str(value) if isinstance(value, list | dict) else cell_text(value)
        yield Piece(text, f"row {row}, column {name}", under=name, again=is_number)
