"""A key of several words, one of which names a column of codes: client_effects, effectsByClient."""

from __future__ import annotations

import re
from functools import lru_cache

from outcomes.protect.private.codes import CODE_COLUMNS, heading_of

__all__ = ["column_in_key"]

_WORD = re.compile(r"[A-Z]?[a-z]+|[A-Z]+(?![a-z])|\d+")
_BEFORE = ("by", "per", "for", "of", "each")
_LONGEST = 60


@lru_cache(maxsize=10_000)
def column_in_key(key: str) -> str:
    """The heading among the words of a key for the codes that are the keys of its object.

    Parameters
    ----------
    key : str

    Returns
    -------
    str
        The word in the singular: of visits_by_client the one behind by, else the first; empty where none
        names a column, or where the key is one word.
    """
    words = [word.casefold() for word in _WORD.findall(key)] if len(key) <= _LONGEST else []
    if len(words) < 2:
        return ""
    told = [_of_word(word) for word in words]
    behind = [one for before, one in zip(words, told[1:], strict=False) if before in _BEFORE and one]
    return next(iter([*behind, *filter(None, told)]), "")


def _of_word(word: str) -> str:
    for one in (word, word.removesuffix("s")):
        if heading_of(one) in CODE_COLUMNS:
            return one
    return ""
