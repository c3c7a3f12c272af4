"""Rows of a table that a program's own text holds and that are no JSON: [['client', 'n'], [12, 5],]."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from typing import Any

from outcomes.protect.contents.keys import headings_of_rows

__all__ = ["rows_in_script"]

_BEGINS = re.compile(r"\[\s*\[\s*['\"]")
_PART = re.compile(r"\"(?:[^\"\\\n]|\\.)*\"|'(?:[^'\\\n]|\\.)*'|[\[\]{};`]")
_LONGEST = 2_000_000  # characters
_OTHER_VALUES = re.compile(
    r"(?P<text>\"(?:[^\"\\\n]|\\.)*\"|'(?:[^'\\\n]|\\.)*')|\bnew\s+Date\([^()]*\)|\b(?:null|undefined|NaN|nan|true|false)\b"
)


def rows_in_script(text: str) -> Iterator[tuple[int, list[Any]]]:
    """Lists of rows, the first of which holds headings, where they are written out as values.

    Parameters
    ----------
    text : str
        A program in the language of pages, or in Python.

    Yields
    ------
    int, list
        Where one begins, and its rows.
    """
    behind = 0
    for found in _BEGINS.finditer(text):
        start = found.start()
        # the headings by themselves first: most lists hold none, and some are long
        first = _values(text, text.index("[", start + 1)) if start >= behind else None
        if first is None or headings_of_rows([first[0], first[0]]) is None:
            continue
        whole = _values(text, start)
        if whole is not None and headings_of_rows(whole[0]) is not None:
            behind = whole[1]
            yield start, whole[0]


def _values(text: str, start: int) -> tuple[list[Any], int] | None:
    """The list that begins at a place, and its end; None where it holds anything but values."""
    end = _end(text, start)
    try:
        return None if end is None else (ast.literal_eval(_OTHER_VALUES.sub(_value, text[start:end])), end)
    except (ValueError, SyntaxError, RecursionError, MemoryError):
        return None


def _end(text: str, start: int) -> int | None:
    """Behind the bracket that closes the one at a place; None where more than values stands within."""
    depth = 0
    for part in _PART.finditer(text, start, start + _LONGEST):
        if part[0] == "[":
            depth += 1
        elif part[0] == "]":
            depth -= 1
            if depth == 0:
                return part.end()
        elif part[0] in "{};`":
            return None
    return None


def _value(found: re.Match[str]) -> str:
    return found["text"] or "None"
