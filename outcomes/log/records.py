"""Rows of delimited text in which quotes may stray: a quote that doesn't close swallows no row.

A quoted cell may hold line breaks, so that a quote too many joins a row to all that follow it, up to the next
quote. Two readings are then possible, and the lines themselves say which is right: inside a cell of free text
no line reads as a row of the table.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Callable, Iterator, Sequence

from outcomes.log.header import Declared
from outcomes.log.headings import digit_positions

__all__ = ["MAX_LINES", "read_records"]

MAX_LINES = 200  # of one row; a longer cell is taken for a quote that doesn't close
MAX_SHORT = 150_000  # rows cut short, before a file is given up that has hardly any others
MIN_LINES = 10  # the same where most quotes of a file don't close: looking far ahead each time takes for ever
_AT_ONCE = 1000  # lines


def read_records(
    text: str, delimiter: str, table: str, headings: Sequence[str], declared: Declared | None = None
) -> Iterator[list[str]]:
    """Rows of text, each physical line of data in one of them.

    Parameters
    ----------
    text : str
        The whole file.
    delimiter : str
        One character.
    table : str
        `visits`, `checks` or `washes`.
    headings : sequence of str
        The headings of the file, which say how a row looks.
    declared : mapping, optional
        Headings that a map file explains.

    Yields
    ------
    list of str
        Fields of one row. Where a quote strays, the line on which it opens is a row by itself, and reading
        goes on with the next line.

    Raises
    ------
    csv.Error
        A field of more than 131,072 characters; or hardly a row is whole, as where a quote doesn't close.
    """
    stray = short = 0
    for row, (record, strays) in enumerate(_records(text, delimiter, table, headings, declared), start=1):
        if strays and not stray:
            stray = row
        if 2 * len(record) < len(headings) and any(record):
            short += 1
            # told before all of them are read: each would be set aside with a sentence
            if short >= MAX_SHORT and 10 * short > 9 * row:
                behind = f", a quote opens in row {stray}" if stray else ""
                raise csv.Error(
                    f"{short:,} of the first {row:,} rows lack most of the {len(headings)} fields{behind}"
                )
        yield record


def _records(
    text: str, delimiter: str, table: str, headings: Sequence[str], declared: Declared | None
) -> Iterator[tuple[list[str], bool]]:
    """Rows, and whether a quote strays in them."""
    lines = _Lines(text)
    looks_like_row = _row_test(delimiter, table, headings, declared)
    at = 0  # the line with which reading begins, or begins again
    longest = MAX_LINES
    while lines.line(at):
        feed = _Feed(lines, at, longest, delimiter, len(headings), looks_like_row)
        reader = csv.reader(feed, delimiter=delimiter)
        for record in reader:
            if feed.ended:  # a row that was whole would have asked for no further line
                break
            feed.start = at + reader.line_num
            lines.forget(feed.start)
            yield record, False
        else:
            return
        yield next(csv.reader([lines.line(feed.start)], delimiter=delimiter)), True
        at = feed.start + 1
        if feed.too_long:
            longest = max(MIN_LINES, longest // 2)


class _Lines:
    """Lines of a text by their number, from 0; only those that may be asked for again are held."""

    def __init__(self, text: str) -> None:
        self._stream = io.StringIO(text, newline="")
        self._held: list[str] = []
        self._first = 0

    def line(self, i: int) -> str:
        """With its line break; empty behind the last."""
        at = i - self._first
        while at >= len(self._held):
            self._held.append(self._stream.readline())
        return self._held[at]

    def forget(self, before: int) -> None:
        """Lines before this one aren't asked for again."""
        if before - self._first > _AT_ONCE:
            del self._held[: before - self._first]
            self._first = before


class _Feed:
    """Hands lines to a csv reader; ends early where a row that it is within can't go on in the next line."""

    def __init__(
        self,
        lines: _Lines,
        start: int,
        longest: int,
        delimiter: str,
        width: int,
        looks_like_row: Callable[[str, bool], bool],
    ) -> None:
        self.start = start  # first line of the row that is being read
        self.ended = False
        self.too_long = False
        self._lines = lines
        self._longest = longest
        self._next = start
        self._delimiter = delimiter
        self._width = width
        self._looks_like_row = looks_like_row

    def __iter__(self) -> _Feed:
        return self

    def __next__(self) -> str:
        i = self._next
        line = self._lines.line(i)
        if not line or (i > self.start and self._breaks_off(i)):
            self.ended = True
            raise StopIteration
        self._next = i + 1
        return line

    def _breaks_off(self, i: int) -> bool:
        """Whether line i begins a row although the one before it is still open."""
        if i - self.start >= self._longest:
            self.too_long = True
            return True
        line, first = self._lines.line(i), self._lines.line(self.start)
        if '"' not in line:
            return self._looks_like_row(line, False)
        # The last line of a first cell of several lines has all other cells behind it, as a row has.
        if self._looks_like_row(line, True) and not self._opens_in_first_cell():
            return True
        # Two rows in turn with a quote too many: each is whole only where quotes mean nothing.
        return self._looks_like_row(first, False) and self._looks_like_row(line, False)

    def _opens_in_first_cell(self) -> bool:
        line = self._lines.line(self.start)
        return line.lstrip().startswith('"') and line.count(self._delimiter) < self._width - 1


def _row_test(
    delimiter: str, table: str, headings: Sequence[str], declared: Declared | None
) -> Callable[[str, bool], bool]:
    """Whether a line reads as a row: as many fields as headings, and a digit where a number is needed.

    The test takes the line, and whether quotes mean anything in it.
    """
    width = len(headings)
    where = digit_positions(table, headings, declared)

    def looks_like_row(line: str, quoted: bool) -> bool:
        if line.count(delimiter) < width - 1:
            return False
        if quoted:
            fields = next(csv.reader([line], delimiter=delimiter), [])
        else:
            fields = next(csv.reader([line], delimiter=delimiter, quoting=csv.QUOTE_NONE), [])
        if len(fields) < width or any(cell.strip(' "\r\n') for cell in fields[width:]):
            return False
        return not where or any(c.isdigit() for i in where for c in fields[i])

    return looks_like_row
