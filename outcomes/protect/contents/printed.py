"""Tables as programs print them: columns parted by blanks, each cell below its heading."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from functools import cache
from typing import NamedTuple

from outcomes.protect.contents.pieces import Piece, Pieces
from outcomes.protect.private.codes import heading_of, heading_words

__all__ = ["pieces_of_printed_tables"]

_CELL = re.compile(r"\S+(?: \S+)*")  # one blank may stand within a cell, two part cells
_WORD = re.compile(r"\S+")
_SERIES = re.compile(r"Name: (?P<heading>[^,\n]{1,40}), (?:Length: \d+, )?dtype: ")
_ROW_OF_SERIES = re.compile(r"\d+ {2,}(?P<cell>\S.*)")
_MARKED = re.compile(r"[|│]|\\\\\s*$")  # a row of another kind of table
_MOST_BESIDE = 12  # words with one blank between each two; a line of more is a sentence
_WIDEST = 2_000  # characters; a longer line is no row that anybody reads


class _Span(NamedTuple):
    """A stretch of a line."""

    start: int
    end: int
    text: str


class _Head(NamedTuple):
    """A heading, and the words beside it from which only one blank parts it: all must have edges in line."""

    span: _Span
    beside: tuple[_Span, ...]
    is_alone: bool


def pieces_of_printed_tables(text: str, place: str = "", line: int = 1) -> Pieces:
    """Cells of tables whose columns are parted by blanks, under headings that say what they are.

    Parameters
    ----------
    text : str
    place : str
        What its lines are lines of, where that isn't the file.
    line : int
        Number of its first line.

    Yields
    ------
    Piece
        Marked as looked at again.
    """
    heads: list[_Head] = []
    has_rows = False
    above: list[str] = []  # lines since the last empty one
    for number, row in enumerate(text.split("\n"), line):
        if not row.strip() or len(row) > _WIDEST:
            heads, has_rows, above = [], False, []
            continue
        if series := _SERIES.match(row):
            yield from _of_series(above, series["heading"], place, number)
            heads = []
        above.append(row)
        if _MARKED.search(row):
            continue
        may_head = not _heading_words().isdisjoint(re.findall(r"[^\W_]+", row.casefold()))
        if not heads and not may_head:
            continue
        words, cells = _spans(_WORD, row), _spans(_CELL, row)
        for head in heads:
            for cell in _below(head, words, cells):
                has_rows = True
                yield Piece(cell.text, place, number, cell.start + 1, head.span.text, again=True)
        if may_head and (found := _heads(cells)):
            # names of an index stand on a line of their own below the other headings
            if heads and not has_rows:
                yield from _names_of_columns(above, found, place, number)
                found += [one for one in heads if not any(_overlap(one.span, new.span) for new in found)]
            heads, has_rows = found, False


@cache
def _heading_words() -> frozenset[str]:
    return heading_words()


def _spans(what: re.Pattern[str], line: str) -> list[_Span]:
    return [_Span(*found.span(), found[0]) for found in what.finditer(line)]


def _overlap(a: _Span, b: _Span) -> bool:
    return a.start < b.end and b.start < a.end


def _heads(cells: Sequence[_Span]) -> list[_Head]:
    """Headings in a line that may be a table's first."""
    found = []
    for cell in cells:
        if heading_of(cell.text):
            found.append(_Head(cell, (), len(cells) == 1))
            continue
        words = [_Span(cell.start + a, cell.start + b, one) for a, b, one in _spans(_WORD, cell.text)]
        if 1 < len(words) <= _MOST_BESIDE:
            found += [_Head(one, tuple(words), False) for one in words if heading_of(one.text)]
    return found


def _below(head: _Head, words: Sequence[_Span], cells: Sequence[_Span]) -> Iterator[_Span]:
    """What stands under a heading in one row; nothing where the row doesn't look like one of its table."""
    span = head.span
    if head.beside:
        below = [one for one in words if _overlap(one, span)]
        if any(one.start == span.start or one.end == span.end for one in below) and _in_line(
            head.beside, words
        ):
            yield from below
    elif head.is_alone:
        # the name of an index: its rows begin where it does, and go on behind two blanks
        if len(cells) > 1 and cells[0].start == span.start:
            yield cells[0]
    elif len(cells) > 1 or len(words) > 1:
        for cell in cells:
            if _overlap(cell, span):
                inside = [one for one in words if _overlap(one, cell)]
                aligned = [one for one in inside if one.start == span.start or one.end == span.end]
                if aligned or len(cells) > 1:
                    yield from aligned or [cell]


def _in_line(heads: Sequence[_Span], words: Sequence[_Span]) -> bool:
    """Whether each heading shares its right edge with a word of the row, or each its left one."""
    below = [[one for one in words if _overlap(one, head)] for head in heads]
    filled = [(head, some) for head, some in zip(heads, below, strict=True) if some]
    if len(words) < 2 or not filled:
        return False
    right = all(any(one.end == head.end for one in some) for head, some in filled)
    left = all(any(one.start == head.start for one in some) for head, some in filled)
    # an index that repeats is left blank; a column is not
    return (right and len(filled) == len(heads)) or (left and len(words) >= len(filled))


def _names_of_columns(above: Sequence[str], found: Sequence[_Head], place: str, number: int) -> Pieces:
    """Columns that are named together, as of a pivot: the name stands before them, those of rows below it."""
    cells = _spans(_CELL, above[-2]) if len(above) > 1 else []
    below = _spans(_CELL, above[-1])
    if len(cells) < 2 or not heading_of(cells[0].text) or len(below) > len(found):
        return
    if cells[0].start == below[0].start == 0:
        for cell in cells[1:]:
            yield Piece(cell.text, place, number - 1, cell.start + 1, cells[0].text, again=True)


def _of_series(above: Sequence[str], heading: str, place: str, number: int) -> Pieces:
    """A column printed by itself, its heading below it; beside a named index it may be counts instead."""
    rows = [(i, _ROW_OF_SERIES.fullmatch(row)) for i, row in enumerate(above, number - len(above))]
    if heading_of(heading) and all(row or above[i - number].strip().startswith("..") for i, row in rows):
        for i, row in rows:
            if row:
                yield Piece(row["cell"], place, i, row.start("cell") + 1, heading, again=True)
