"""One file looked through: every find with its place."""

from __future__ import annotations

from bisect import bisect_right
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field

from outcomes.protect.contents.pieces import Piece, Unseen, path_text
from outcomes.protect.contents.readable import Leaving, pieces_of_file
from outcomes.protect.contents.tables import heading_at
from outcomes.protect.private.joined import hits_of_joined
from outcomes.protect.private.search import Hit, Search
from outcomes.protect.private.tokens import plain

__all__ = ["LISTED", "FileSearch", "Find"]

LISTED = 2_000  # finds of one kind in one file that are kept with their places; all are counted
_HEADED = (".csv", ".tsv", ".txt")


@dataclass(frozen=True, slots=True)
class Find:
    """One thing that must not leave the salon.

    Attributes
    ----------
    file : str
    place : str
        In words: `line 3, character 8`, `visits!B4`, `summary.dates[3]`, `cell 2, output 1, line 5`.
    line, character : int or None
        From 1, where the file (or the cell of a notebook) has lines, and the place in the line is known.
    kind : str
        `code`, `e-mail`, `phone` or `date`.
    of : str
        The column, or columns, whose code it is.
    text : str
        What was found.
    note : str
        Of a date, whether it's a visit day of the log, or lacks its year.
    """

    file: str
    place: str
    line: int | None
    character: int | None
    kind: str
    of: str
    text: str
    note: str

    @property
    def what(self) -> str:
        """Its kind, with the column of a code: `client code`, `e-mail`, `phone`, `date`."""
        return _what(self)


def _what(one: Find | Hit) -> str:
    return f"{one.of} code" if one.of else one.kind


@dataclass(eq=False)
class FileSearch:
    """One file while it's looked through.

    Attributes
    ----------
    file : Leaving
    search : Search
    unseen : Unseen
        What it holds that wasn't looked into.
    counts : Counter
        What was found, as `Find.what` says it -> how often so far.
    """

    file: Leaving
    search: Search
    unseen: Unseen = field(default_factory=Unseen)
    counts: Counter[str] = field(default_factory=Counter)
    _told: set[tuple[int | None, str, str]] = field(default_factory=set)

    def finds(self) -> Iterator[Find]:
        """The first finds, with their places; the others are counted.

        Yields
        ------
        Find

        Raises
        ------
        InputError
            As `pieces_of_file`.
        """
        yield from self._of_piece(Piece(plain(self.file.own_name), "its name", is_name=True))
        for piece in pieces_of_file(self.file.path, self.unseen, self.search.wants):
            if piece.seams:
                yield from self._of_joined(piece)
                continue
            text = plain(piece.text)
            yield from self._of_piece(piece if text is piece.text else piece._replace(text=text))

    def _of_piece(self, piece: Piece) -> Iterator[Find]:
        text, line, begin = piece.text, piece.line, 1 - piece.character
        behind = 0
        hits: Iterator[Hit] = self.search.hits(
            text, piece.under, program=piece.program, again=piece.again, name=piece.is_name
        )
        for hit in hits:
            what = _what(hit)
            if self.counts[what] >= LISTED:
                self.counts[what] += 1
                continue
            if piece.line:
                line += text.count("\n", behind, hit.start)
                last = text.rfind("\n", behind, hit.start)
                begin = begin if last < 0 else last + 1
                behind = hit.start
            find = self._find(piece, hit, line, hit.start - begin + 1, begin)
            if piece.again and self._is_told(find):
                continue
            self.counts[what] += 1
            self._told |= {(find.line, find.kind, find.text), (None, find.kind, find.text)}
            yield find

    def _of_joined(self, piece: Piece) -> Iterator[Find]:
        """The same for a text in several elements of a page, each of which has its own place."""
        starts = [start for start, _, _ in piece.seams]
        for hit in hits_of_joined(self.search, piece.text, starts):
            what = _what(hit)
            self.counts[what] += 1
            if self.counts[what] > LISTED:
                continue
            start, line, character = piece.seams[bisect_right(starts, hit.start) - 1]
            before = piece.text[start : hit.start]
            begin = start + before.rfind("\n") + 1
            at = hit.start - begin + (character if begin == start else 1)
            find = self._find(piece, hit, line + before.count("\n"), at, begin)
            self._told |= {(find.line, find.kind, find.text), (None, find.kind, find.text)}
            yield find

    def _is_told(self, find: Find) -> bool:
        """Whether a find was made in the text as a whole, before its heading was looked at."""
        return (find.line, find.kind, find.text) in self._told

    def _find(self, piece: Piece, hit: Hit, line: int, character: int, begin: int) -> Find:
        found = piece.text[hit.start : hit.end]
        place = path_text(piece.place)
        if not piece.line:
            return Find(self.file.name, place, None, None, hit.kind, hit.of, found, hit.note)
        at = character if piece.character else None
        heading = self._heading(piece, line, at, begin) if at else " ".join(piece.under.split())
        where = [
            place,
            f"line {line}",
            f"character {at}" if at else "",
            f"column {heading}" if heading else "",
        ]
        told = ", ".join(part for part in where if part)
        return Find(self.file.name, told, line, at, hit.kind, hit.of, found, hit.note)

    def _heading(self, piece: Piece, line: int, character: int, begin: int) -> str:
        """Of a table written as text, the heading of the column."""
        if self.file.path.suffix.lower() not in _HEADED or line < 2:
            return ""
        text = piece.text
        end = text.find("\n", begin)
        first = text[: text.find("\n")] if "\n" in text[:5000] else ""
        return heading_at(first, text[begin : end if end >= 0 else len(text)], character) if first else ""
