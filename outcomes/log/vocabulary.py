"""What a heading means: its words, whatever their case, order and abbreviations, and what they name."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping, Sequence
from difflib import SequenceMatcher
from functools import cache

from outcomes.log.meaning import Meaning, spoken_in
from outcomes.log.schema import columns

__all__ = ["ALMOST", "labels", "named", "normalise", "perhaps"]

ALMOST = 0.88
"""Share of letters in common from which on a heading counts as another one misspelt."""

_ABBREVIATIONS = {
    "lvl": "level", "lv": "level", "dev": "developer", "perox": "peroxide", "proc": "processing",
    "min": "minutes", "mins": "minutes", "minute": "minutes", "no": "number", "nr": "number",
    "id": "code", "color": "colour", "starting": "start",
}  # fmt: skip
_FILLERS = {"of", "the", "in", "at", "a", "s", "and", "for", "was", "is"}


def normalise(heading: str) -> str:
    """Heading in lower case, words joined by `_`; `%` counts as the word pct, other marks as spaces.

    Parameters
    ----------
    heading : str
        As written.

    Returns
    -------
    str
        For example `processing_min` for "Processing (min)".
    """
    text = unicodedata.normalize("NFKC", heading).strip("\ufeff ").casefold().replace("%", " pct ")
    return re.sub(r"[\W_]+", "_", text).strip("_")


def labels(headings: Sequence[str]) -> tuple[str, ...]:
    """Headings as they are shown and as a map file names them: those that read the same get a number.

    Parameters
    ----------
    headings : sequence of str
        As written.

    Returns
    -------
    tuple of str
        "Level" and "Level (2)"; empty where there is no heading.
    """
    seen: dict[str, int] = {}
    told = []
    for heading in headings:
        key = normalise(heading)
        seen[key] = seen.get(key, 0) + 1
        told.append(f"{heading} ({seen[key]})" if key and seen[key] > 1 else heading)
    return tuple(told)


def _words(key: str) -> frozenset[str]:
    """Words of a normalised heading, abbreviations written out, those that say nothing left out."""
    parts = re.split(r"_|(?<=\d)(?=[a-z])", key)
    return frozenset(_ABBREVIATIONS.get(part, part) for part in parts) - _FILLERS - {""}


@cache
def _names(table: str) -> Mapping[str, tuple[str, str, str]]:
    """Normalised heading -> column, unit, reason."""
    names: dict[str, tuple[str, str, str]] = {}
    for column in columns(table):
        for heading in column.headings:
            names[normalise(heading)] = (column.name, "", "synonym")
        for heading, unit in column.unit_headings.items():
            names[normalise(heading)] = (column.name, unit, "synonym")
    for column in columns(table):
        names[normalise(column.name)] = (column.name, "", "canonical")
    return names


@cache
def _by_words(table: str) -> Mapping[frozenset[str], frozenset[tuple[str, str]]]:
    """Words of a heading, in whatever order -> the columns and units that it names."""
    found: dict[frozenset[str], set[tuple[str, str]]] = {}
    for key, (column, unit, _) in _names(table).items():
        found.setdefault(_words(key), set()).add((column, unit))
    return {words: frozenset(meant) for words, meant in found.items() if words}


def named(table: str, key: str) -> tuple[Meaning, str] | None:
    """The one meaning that a heading has beyond doubt, with the reason.

    Parameters
    ----------
    table : {"visits", "checks", "washes"}
    key : str
        The normalised heading.

    Returns
    -------
    (Meaning, str) or None
        The reason is `canonical`, `synonym`, `look` or `washed`.
    """
    if key in (names := _names(table)):
        column, unit, reason = names[key]
        return Meaning(table, column, unit), reason
    if table == "visits":
        spoken = spoken_in(key)
        if len(spoken) == 1:
            return spoken[0], "look" if spoken[0].table == "checks" else "washed"
        washed = _names("washes").get(key)
        if washed and washed[0] in ("washes", "shampoo", "tone_left", "L", "a", "b"):
            return Meaning("washes", washed[0]), "washed"
    meant = _by_words(table).get(_words(key), frozenset())
    if len(meant) == 1:
        column, unit = next(iter(meant))
        return Meaning(table, column, unit), "synonym"
    return None


def perhaps(table: str, key: str) -> tuple[tuple[Meaning, ...], str]:
    """What a heading may be that names nothing beyond doubt.

    Parameters
    ----------
    table : {"visits", "checks", "washes"}
    key : str
        The normalised heading.

    Returns
    -------
    tuple of Meaning, str
        What it may be, and why: `ambiguous`, `close` or `unknown`.
    """
    if table == "visits" and len(spoken := spoken_in(key)) > 1:
        return spoken, "ambiguous"
    words = _words(key)
    near: list[tuple[str, str]] = []
    for known, meant in _by_words(table).items():
        if words and (words <= known or known < words):
            near += meant
    units = {column: unit for column, unit in near if unit}
    order = [column.name for column in columns(table)]
    found = sorted({column for column, _ in near}, key=order.index)
    if found:
        return tuple(Meaning(table, name, units.get(name, "")) for name in found), "ambiguous"
    likeness = {
        name: SequenceMatcher(None, key, known).ratio() for known, (name, *_) in _names(table).items() if key
    }
    best = max(likeness, key=lambda name: likeness[name], default="")
    if best and likeness[best] >= ALMOST:
        return (Meaning(table, best),), "close"
    return (), "unknown"
