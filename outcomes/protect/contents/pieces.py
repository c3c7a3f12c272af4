"""A file as pieces of text, each with its place; values of JSON and TOML as such pieces."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date, datetime, time
from typing import Any, NamedTuple

from outcomes.protect.contents.keys import (
    Pairs,
    heading_of_keys,
    headings_of_rows,
    headings_of_values,
    table_headings,
)

__all__ = ["Path", "Piece", "Pieces", "Unseen", "parse_json", "path_text", "pieces_of_values"]

# () or (path above, key or index); a path within a part of a file begins with that part's own place, a text
Path = tuple[Any, ...]
KEY = None  # last step of a path that leads to a key and not to its value
_PLAIN_KEY = re.compile(r"[^\W\d][\w-]*")
_BIG = 100_000  # whole numbers from six digits on may be codes by themselves


class Piece(NamedTuple):
    """A stretch of text.

    Attributes
    ----------
    text : str
    place : str or path
        Where it stands in a file without lines, or within which part of it the lines are counted.
    line, character : int
        Where its first character stands; line 0 where lines mean nothing, character 0 where it isn't known.
    under : str
        The heading, or key, under which it stands.
    program : bool
        Whether it's a program's text, where short names are no codes.
    again : bool
        Whether a longer piece held it already, so that only what its heading tells is new.
    is_name : bool
        Whether it's the name of a file.
    seams : tuple of (int, int, int)
        Of a text that several elements of a page hold between them, where each one's part begins: in the
        text, its line, and the character there. Such a text is plain already.
    """

    text: str
    place: str | Path = ""
    line: int = 0
    character: int = 1
    under: str = ""
    program: bool = False
    again: bool = False
    is_name: bool = False
    seams: tuple[tuple[int, int, int], ...] = ()


Pieces = Iterator[Piece]


@dataclass
class Unseen:
    """What a file holds that no reading of text looks into.

    Attributes
    ----------
    pictures : int
    encoded : int
        Stretches of encoded data that are neither text nor a picture.
    notes : list of str
    """

    pictures: int = 0
    encoded: int = 0
    notes: list[str] = field(default_factory=list)


def parse_json(text: str) -> Any:
    """Values of JSON, objects as pairs.

    Parameters
    ----------
    text : str

    Returns
    -------
    object

    Raises
    ------
    ValueError
        It isn't JSON, or nested too deeply to be read.
    """
    try:
        return json.loads(text, object_pairs_hook=Pairs)
    except RecursionError:
        raise ValueError("nested too deeply") from None


def path_text(place: str | Path) -> str:
    """A place in words: `summary.dates[3]`.

    Parameters
    ----------
    place : str or path

    Returns
    -------
    str
    """
    if isinstance(place, str):
        return place
    steps: list[Any] = []
    while isinstance(place, tuple) and place:
        place, step = place
        steps.append(step)
    told = ""
    for step in reversed(steps):
        if step is KEY:
            told += " (the key)"
        elif isinstance(step, int):
            told += f"[{step}]"
        elif not told or _PLAIN_KEY.fullmatch(step):
            told += f".{step}" if told else step
        else:
            told += f"[{json.dumps(step, ensure_ascii=False)}]"
    return f"{place}{told}" if isinstance(place, str) else told


def pieces_of_values(value: Any, place: Path | str = (), under: str = "", *, again: bool = False) -> Pieces:
    """Texts, keys and telling numbers among values, each with its path.

    Parameters
    ----------
    value : object
        As `parse_json` or `tomllib` gives it.
    place : path or str
        What every path begins with.
    under : str
        Heading that holds for the value.
    again : bool
        Whether their texts were looked at before.

    Yields
    ------
    Piece
    """
    stack: list[tuple[Any, Path | str, str]] = [(value, place, under)]
    while stack:
        value, place, under = stack.pop()
        if isinstance(value, str):
            yield Piece(value, place, under=under, again=again)
        elif isinstance(value, dict | Pairs):
            pairs = list(value.items()) if isinstance(value, dict) else value
            own = heading_of_keys(pairs, under) if under else ""
            for key, _ in pairs:
                yield Piece(key, ((place, key), KEY), again=again, under=own)
            heads = table_headings(pairs)
            for (key, one), told in reversed([*zip(pairs, headings_of_values(pairs, under), strict=True)]):
                if heads is not None and key in ("data", "rows"):
                    stack += _cells(one, (place, key), heads)
                else:
                    stack.append((one, (place, key), told))
        elif isinstance(value, list) and (heads := headings_of_rows(value)) is not None:
            stack += _cells(value[1:], place, heads, 1)
            stack.append((value[0], (place, 0), ""))
        elif isinstance(value, list):
            stack += [
                (value[i], (place, i), under)
                for i in range(len(value) - 1, -1, -1)
                if under or type(value[i]) is not float
            ]
        elif isinstance(value, datetime | date | time):
            yield Piece(value.isoformat(), place, under=under, again=again)
        elif type(value) in (int, float) and value == value // 1 and (under or abs(value) >= _BIG):
            yield Piece(str(int(value)), place, under=under, again=again)


def _cells(
    rows: list[Any], place: Path | str, heads: list[str], first: int = 0
) -> list[tuple[Any, Path, str]]:
    """Cells of rows, the last one first, each below its heading."""
    return [
        (cell, ((place, i), j), heads[j])
        for i, row in reversed(list(enumerate(rows, first)))
        for j, cell in reversed(list(enumerate(row)))
    ]
