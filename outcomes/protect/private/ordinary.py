"""Words that any report may hold: a code that is one of them says nothing by standing somewhere in a text."""

from __future__ import annotations

import re
from functools import cache
from importlib.resources import files

from outcomes.log.schema import TABLES, columns

__all__ = ["is_ordinary"]

_SPLIT = re.compile(r"[\W_]+")


@cache
def _vocabulary() -> frozenset[str]:
    """The words of the list, and those of the visit log's own columns, values and headings."""
    lines = (
        files("outcomes.protect.private").joinpath("ordinary.txt").read_text(encoding="utf-8").splitlines()
    )
    words = [word for line in lines if not line.startswith("#") for word in line.split()]
    told: list[str] = list(TABLES)
    for table in TABLES:
        for column in columns(table):
            told += [column.name, *column.words, *column.spellings, *column.headings, *column.unit_headings]
    return frozenset(words) | {part for text in told for part in _SPLIT.split(text.casefold()) if part}


def is_ordinary(word: str) -> bool:
    """Whether a word, in lower case, may stand in any report.

    Parameters
    ----------
    word : str
        Letters and digits only.

    Returns
    -------
    bool
    """
    return word in _vocabulary()
