"""HTML, SVG and XML as pieces, with the texts that stand encoded in them; values of JSON likewise."""

from __future__ import annotations

from typing import Any

from outcomes.protect.contents.encoded import without_data
from outcomes.protect.contents.page import pieces_of_page
from outcomes.protect.contents.pieces import Piece, Pieces, Unseen, path_text, pieces_of_values
from outcomes.protect.contents.programs import pieces_of_program

__all__ = ["pieces_of_data", "pieces_of_kept_values", "pieces_of_markup"]


def pieces_of_markup(text: str, unseen: Unseen, place: str = "", line: int = 1, character: int = 1) -> Pieces:
    """Pieces of HTML, SVG or XML.

    Parameters
    ----------
    text : str
    unseen : Unseen
        Counts pictures and other data in it.
    place : str
        What its lines are lines of, where that isn't the file.
    line, character : int
        Where its first character stands.

    Yields
    ------
    Piece
    """
    text, inner = without_data(text, unseen)
    yield from pieces_of_data(text, inner, unseen, place, line)
    yield from pieces_of_page(text, place, line, character)


def pieces_of_data(
    text: str, inner: list[tuple[int, str, str]], unseen: Unseen, place: str, line: int
) -> Pieces:
    """Pieces of texts that stood encoded within another.

    Parameters
    ----------
    text : str
        The text that they stood in.
    inner : list of (int, str, str)
        Position, kind and content of each.
    unseen : Unseen
    place : str
        What the lines of the text are lines of.
    line : int
        Its first line; 0 where it has none.

    Yields
    ------
    Piece
    """
    for at, kind, content in inner:
        here = f"line {line + text.count(chr(10), 0, at)}" if line else ""
        within = ", ".join(part for part in (place, here, "encoded data") if part)
        if "svg" in kind or "html" in kind or "xml" in kind:
            yield from pieces_of_markup(content, unseen, within)
        elif "json" in kind:
            yield from pieces_of_program(content, within, 1)
        else:
            yield Piece(content, within, 1)


def pieces_of_kept_values(value: Any, place: str, unseen: Unseen) -> Pieces:
    """Pieces of values of JSON, the texts in them without encoded data.

    Parameters
    ----------
    value : object
        As `parse_json` gives it.
    place : str
        What stands before every path.
    unseen : Unseen

    Yields
    ------
    Piece
    """
    for piece in pieces_of_values(value, f"{place} " if place and isinstance(value, list) else place):
        text, inner = without_data(piece.text, unseen)
        yield piece._replace(text=text) if inner or text is not piece.text else piece
        yield from pieces_of_data(text, inner, unseen, path_text(piece.place), 0)
