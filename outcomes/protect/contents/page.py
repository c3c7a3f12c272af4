"""A page, or a picture made of lines and text, read tag by tag: HTML, SVG, XML."""

from __future__ import annotations

import re
from html.parser import HTMLParser
from itertools import accumulate
from typing import Any
from urllib.parse import unquote

from outcomes.protect.contents.pieces import Piece, parse_json, pieces_of_values
from outcomes.protect.contents.printed import pieces_of_printed_tables
from outcomes.protect.contents.programs import pieces_of_program
from outcomes.protect.private.codes import heading_of
from outcomes.protect.private.tokens import plain, unescaped

__all__ = ["pieces_of_page"]

# lists of numbers and hashes: nothing that a person would read
_GEOMETRY = frozenset(
    ("d", "points", "transform", "gradienttransform", "patterntransform", "viewbox", "values",
     "keytimes", "keysplines", "path", "integrity", "nonce", "stroke-dasharray", "stroke-width", "x",
     "y", "dx", "dy", "x1", "x2", "y1", "y2", "cx", "cy", "r", "rx", "ry", "width", "height", "rotate",
     "textlength", "offset", "colspan", "rowspan", "tabindex", "preserveaspectratio")
)  # fmt: skip
# names by which parts of a page find each other: what is short there is no code
_NAMING = frozenset(
    ("id", "class", "for", "style", "fill", "stroke", "color", "clip-path", "mask", "filter",
     "marker-start", "marker-mid", "marker-end", "name", "type", "rel", "lang", "xml:lang", "xml:space",
     "aria-labelledby", "aria-describedby", "aria-controls", "headers", "form", "list", "itemprop",
     "property", "role", "media", "sizes", "srcset", "http-equiv", "charset", "version", "encoding")
)  # fmt: skip
_LINKS = ("href", "xlink:href", "src", "action", "data")
_COLOURS = re.compile(r"#[0-9a-fA-F]{3,8}\b")
# elements within a line: what they hold reads as one with the text beside them
_INLINE = frozenset(
    ("a", "abbr", "b", "bdi", "bdo", "big", "cite", "code", "del", "dfn", "em", "font", "i", "ins", "kbd",
     "mark", "q", "s", "samp", "small", "span", "strike", "strong", "sub", "sup", "time", "tt", "u", "var",
     "wbr")
)  # fmt: skip
_SCRIPTS, _STYLES = ("script",), ("style",)


def pieces_of_page(text: str, place: str = "", line: int = 1, character: int = 1) -> list[Piece]:
    """Pieces of a page without encoded data.

    Parameters
    ----------
    text : str
    place : str
        What its lines are lines of, where that isn't the file.
    line, character : int
        Where its first character stands.

    Returns
    -------
    list of Piece
        Cells of tables twice: as text, and under the headings of their table's first row.
    """
    reader = _PageReader(place, line, character)
    reader.feed(text)
    reader.close()
    return reader.finish()


class _PageReader(HTMLParser):
    """Collects pieces while it reads."""

    def __init__(self, place: str, line: int, character: int) -> None:
        super().__init__(convert_charrefs=True)
        self.pieces: list[Piece] = []
        self._place = place
        self._first = (line, character)
        self._within: list[str] = []  # script or style
        self._kind = ""
        self._content: list[tuple[str, int, int]] = []
        self._tables: list[_Table] = []
        self._parts: list[tuple[str, int, int]] = []  # of the line that is being read, with their places
        self._under = ""
        self._is_printed = False  # within pre, blanks and line ends stay as they are

    def _at(self) -> tuple[int, int]:
        line, offset = self.getpos()
        first, character = self._first
        return first + line - 1, offset + (character if line == 1 else 1)

    def _add(self, text: str, under: str = "", *, program: bool = False, again: bool = False) -> None:
        if text.strip():
            line, character = self._at()
            self.pieces.append(Piece(text, self._place, line, character, under, program, again))

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self._end_line(tag)
        self._is_printed = self._is_printed or tag == "pre"
        self._add(tag, program=True)
        if tag in (*_SCRIPTS, *_STYLES):
            self._within.append(tag)
            self._kind = dict(attrs).get("type") or ""
        for name, value in attrs:
            self._attribute(name, value)
        if tag == "table":
            self._tables.append(_Table())
        elif self._tables:
            self._tables[-1].open(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.handle_starttag(tag, attrs)
        if self._within and self._within[-1] == tag:
            self._within.pop()

    def _attribute(self, name: str, value: str | None) -> None:
        self._add(name, program=True)
        if not value or name in _GEOMETRY or name.startswith("xmlns"):
            return
        if name in _LINKS:
            whole = unquote(value)
            self._add(whole, program=value.startswith("#") or "://" in value)
        elif name in _NAMING or name.startswith("on"):
            self._add(unescaped(_COLOURS.sub(" ", value)), program=True)
        elif (data := _data(value)) is not None:
            line, _ = self._at()
            place = f"{self._prefix()}line {line}, attribute {name}: "
            self.pieces += pieces_of_values(data, place)
        else:
            self._add(value, name if heading_of(name) else "")

    def _prefix(self) -> str:
        return f"{self._place}, " if self._place else ""

    def handle_data(self, data: str) -> None:
        if self._within:
            self._content.append((data, *self._at()))
            return
        self._parts.append((plain(data), *self._at()))
        if self._tables:
            self._under = self._tables[-1].read(data)

    def _end_line(self, tag: str = "") -> None:
        """Give the text that was read so far, but where a tag goes on with it."""
        if tag in _INLINE:
            return
        parts, under = self._parts, self._under
        self._parts, self._under = [], ""
        text = "".join(part for part, _, _ in parts)
        if text.strip():
            _, line, character = parts[0]
            starts = accumulate((len(part) for part, _, _ in parts), initial=0)
            seams = tuple((start, at, c) for start, (_, at, c) in zip(starts, parts, strict=False))
            whole = Piece(text, self._place, line, character)
            self.pieces.append(whole._replace(seams=seams) if len(parts) > 1 else whole)
            if under:
                self.pieces.append(whole._replace(under=under, again=True))
            if self._is_printed:
                self.pieces += pieces_of_printed_tables(text, self._place, line)

    def handle_endtag(self, tag: str) -> None:
        self._end_line(tag)
        self._is_printed = self._is_printed and tag != "pre"
        if self._within and tag == self._within[-1]:
            self._close_program()
        elif tag == "table" and self._tables:
            self._tables.pop()
        elif self._tables:
            self._tables[-1].close(tag)

    def _close_program(self) -> None:
        tag, content = self._within.pop(), self._content
        self._content = []
        if not content:
            return
        text, (_, line, character) = "".join(part for part, _, _ in content), content[0]
        if tag in _STYLES:
            text = _COLOURS.sub(lambda found: " " * len(found[0]), text)
            self.pieces.append(Piece(unescaped(text), self._place, line, character, program=True))
        else:
            self.pieces += pieces_of_program(text, self._place, line, character)

    def handle_comment(self, data: str) -> None:
        self._add(data)

    def handle_decl(self, decl: str) -> None:
        self._add(decl, program=True)

    def unknown_decl(self, data: str) -> None:
        self._add(data.removeprefix("CDATA["))

    def handle_pi(self, data: str) -> None:
        self._add(data, program=True)

    def finish(self) -> list[Piece]:
        """All pieces, those of a script that never ended too, which the parser would leave out."""
        self._end_line()
        if self._within and self.rawdata:
            self._content.append((self.rawdata, *self._at()))
        while self._within:
            self._close_program()
        return self.pieces


def _data(value: str) -> Any:
    """What an attribute holds as JSON; None where it's text."""
    if value.lstrip()[:1] not in ("{", "["):
        return None
    try:
        return parse_json(value)
    except ValueError:
        return None


class _Table:
    """Which heading stands above the cell that is being read."""

    def __init__(self) -> None:
        self._heads: list[str] = []
        self._cell = -1
        self._row = -1
        self._inside = False

    def open(self, tag: str) -> None:
        if tag == "tr":
            self._row += 1
            self._cell = -1
        elif tag in ("td", "th"):
            self._cell += 1
            self._inside = True
            if self._row <= 0:
                self._heads.append("")

    def close(self, tag: str) -> None:
        if tag in ("td", "th", "tr"):
            self._inside = False

    def read(self, text: str) -> str:
        """Take the text of a cell; its heading, where that says what stands below it."""
        if not self._inside or self._cell < 0:
            return ""
        if self._row <= 0:
            self._heads[-1] += text
            return ""
        head = self._heads[self._cell] if self._cell < len(self._heads) else ""
        return head if heading_of(head) else ""
