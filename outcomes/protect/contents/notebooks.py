"""Jupyter notebooks as pieces: sources, outputs, attachments, and what their metadata say."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

from outcomes.protect.contents.encoded import without_data
from outcomes.protect.contents.keys import Pairs
from outcomes.protect.contents.markup import (
    pieces_of_data,
    pieces_of_kept_values,
    pieces_of_markup,
)
from outcomes.protect.contents.pieces import Piece, Pieces, Unseen
from outcomes.protect.contents.programs import pieces_of_program
from outcomes.protect.contents.written import pieces_of_written_tables
from outcomes.protect.private.tokens import unescaped

__all__ = ["is_notebook", "pieces_of_notebook"]

_STAMP = re.compile(r"\d{4}-\d\d-\d\dT[\d:.]+Z?")


def is_notebook(value: Any) -> bool:
    """Whether values of JSON are a notebook.

    Parameters
    ----------
    value : object
        As `parse_json` gives it.

    Returns
    -------
    bool
    """
    return isinstance(_of(value, "cells"), list) and _of(value, "nbformat") is not None


def pieces_of_notebook(value: Any, unseen: Unseen) -> Pieces:
    """Pieces of a notebook, its cells counted from 1.

    Parameters
    ----------
    value : object
        As `parse_json` gives it.
    unseen : Unseen
        Counts pictures and other data in it.

    Yields
    ------
    Piece
    """
    for key, part in value:
        if key != "cells":
            yield from pieces_of_kept_values(part, key, unseen)
    for number, cell in enumerate(_of(value, "cells"), 1):
        yield from _cell(cell, f"cell {number}", unseen)


def _of(value: Any, key: str) -> Any:
    """A value of an object of pairs; the last one where a key stands there twice."""
    found = None
    if isinstance(value, Pairs):
        for name, part in value:
            found = part if name == key else found
    return found


def _text(value: Any) -> str | None:
    """Text that may be written as a list of lines."""
    if isinstance(value, list) and all(isinstance(line, str) for line in value):
        return "".join(value)
    return value if isinstance(value, str) else None


def _cell(cell: Any, place: str, unseen: Unseen) -> Pieces:
    if not isinstance(cell, Pairs):
        return
    is_code = _of(cell, "cell_type") == "code"
    for key, part in cell:
        text = _text(part)
        if key == "source" and text is not None:
            yield from (_program if is_code else _prose)(text, place, unseen)
        elif key == "outputs" and isinstance(part, list):
            for number, output in enumerate(part, 1):
                yield from _output(output, f"{place}, output {number}", unseen)
        elif key == "attachments" and isinstance(part, Pairs):
            for name, bundle in part:
                yield Piece(name, f"{place}, attachment", is_name=True)
                yield from _bundle(bundle, f"{place}, attachment {name}", unseen)
        elif key == "metadata" and isinstance(part, Pairs):
            for name, value in part:
                kept = _without_run_times(value) if name == "execution" else value
                yield from pieces_of_kept_values(Pairs([(name, kept)]), f"{place}, {key}", unseen)
        else:
            yield from pieces_of_kept_values(part, f"{place}, {key}", unseen)


def _without_run_times(value: Any) -> Any:
    """When a cell was run says nothing of a visit."""
    if not isinstance(value, Pairs):
        return value
    return Pairs(pair for pair in value if not _STAMP.fullmatch(str(pair[1])))


def _output(output: Any, place: str, unseen: Unseen) -> Pieces:
    if not isinstance(output, Pairs):
        return
    for key, part in output:
        text = _text(part)
        if key == "data":
            yield from _bundle(part, place, unseen)
        elif key in ("text", "evalue") and text is not None:
            yield from _prose(unescaped(text), place, unseen)
        elif key == "traceback" and isinstance(part, list):
            yield from _program("\n".join(str(line) for line in part), place, unseen)
        else:
            yield from pieces_of_kept_values(part, f"{place}, {key}", unseen)


def _bundle(bundle: Any, place: str, unseen: Unseen) -> Pieces:
    """The same output in several forms."""
    for kind, content in bundle if isinstance(bundle, Pairs) else ():
        text = _text(content)
        if kind.startswith("image/") and "svg" not in kind:
            unseen.pictures += 1
        elif text is None:
            yield from pieces_of_kept_values(content, place, unseen)
        elif "svg" in kind or "html" in kind or "xml" in kind:
            yield from pieces_of_markup(text, unseen, place)
        elif "javascript" in kind or "json" in kind:
            yield from _program(text, place, unseen)
        elif kind.startswith("text/"):
            # what a program shows of a text may be the text as a program writes it
            yield from _prose(unescaped(text) if kind == "text/plain" else text, place, unseen)
        elif kind.startswith("application/"):
            unseen.encoded += 1
        else:
            yield from _prose(text, place, unseen)


def _prose(text: str, place: str, unseen: Unseen) -> Iterator[Piece]:
    text, inner = without_data(text, unseen)
    yield Piece(text, place, 1)
    yield from pieces_of_written_tables(text, place)
    yield from pieces_of_data(text, inner, unseen, place, 1)


def _program(text: str, place: str, unseen: Unseen) -> Iterator[Piece]:
    text, inner = without_data(text, unseen)
    yield from pieces_of_program(text, place, 1)
    yield from pieces_of_data(text, inner, unseen, place, 1)
