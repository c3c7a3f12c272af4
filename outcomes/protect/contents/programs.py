"""Programs as pieces: their text, and the data written into them as JSON."""

from __future__ import annotations

import json
import re

from outcomes.protect.contents.pieces import Piece, Pieces, parse_json, pieces_of_values
from outcomes.protect.contents.script_rows import rows_in_script
from outcomes.protect.private.tokens import unescaped

__all__ = ["pieces_of_program"]

# where data may begin; a program's own objects, whose keys need no quotes, are left to be looked at as text
_DATA_IN_SCRIPT = re.compile(r"""(?:^|[=(,:])\s*(?=\{\s*["}]|\[\s*(?:["\[{\d\]-]|true|false|null))""")


def pieces_of_program(text: str, place: str = "", line: int = 0, character: int = 1) -> Pieces:
    """Pieces of a script or another program: its text, and the data written into it as JSON.

    Parameters
    ----------
    text : str
    place : str
        What its lines are lines of, where that isn't the file.
    line, character : int
        Where its first character stands; line 0 where lines mean nothing.

    Yields
    ------
    Piece
    """
    rest, behind = [], 0
    lines, counted = line, 0
    decoder = json.JSONDecoder()
    for found in _DATA_IN_SCRIPT.finditer(text):
        at = found.end()
        if at < behind:
            continue
        try:
            _, end = decoder.raw_decode(text, at)
            value = parse_json(text[at:end])
        except (ValueError, RecursionError):
            continue
        if not value:
            continue
        lines += text.count("\n", counted, at)
        counted = at
        here = f"line {lines}, " if line else ""
        start = f"{place}{', ' if place and here else ''}{here}data: "
        yield from pieces_of_values(value, start)
        rest += [text[behind:at], re.sub(r"[^\n]", " ", text[at:end])]
        behind = end
    rest.append(text[behind:])
    yield Piece(unescaped("".join(rest)), place, line, character, program=True)
    # within rows that aren't JSON single ones may have been read as such, without their headings
    for at, rows in rows_in_script(text):
        here = f"line {line + text.count(chr(10), 0, at)}, " if line else ""
        yield from pieces_of_values(rows, f"{place}{', ' if place and here else ''}{here}data: ", again=True)
