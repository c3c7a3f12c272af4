"""Headings to columns: each heading of a file with what stands below it, and the reason."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from difflib import SequenceMatcher
from functools import cache

from outcomes.errors import InputError
from outcomes.log.meaning import Meaning, spoken_in
from outcomes.log.schema import columns

__all__ = [
    "Declared",
    "HeadingMap",
    "HeadingMatch",
    "digit_positions",
    "either",
    "find_header",
    "heading_score",
    "labels",
    "match_headings",
    "needed_lacking",
    "normalise",
]

Declared = Mapping[str, Meaning | None]
"""By normalised label, what a map file says of a heading; None: kept out."""

ALMOST = 0.88
"""Share of letters in common from which on a heading counts as another one misspelt."""

_ABBREVIATIONS = {
    "lvl": "level", "lv": "level", "dev": "developer", "perox": "peroxide", "proc": "processing",
    "min": "minutes", "mins": "minutes", "minute": "minutes", "no": "number", "nr": "number",
    "id": "code", "color": "colour", "starting": "start",
}  # fmt: skip
_FILLERS = {"of", "the", "in", "at", "a", "s", "and", "for", "was", "is"}


@dataclass(frozen=True)
class HeadingMatch:
    """One heading: where it stands, what the cells below it are (or None), and why.

    Attributes
    ----------
    position : int
        Among the columns of the file, from 0.
    heading : str
        As written; with its number where another one reads the same, as "Level (2)".
    meaning : Meaning or None
        None: kept out.
    reason : str
        `canonical`, `synonym`, `look`, `washed` or `declared`; of those kept out `rival` (another heading
        names the same column), `ambiguous` (it may be several columns), `close` (it almost reads as another
        heading), `unknown` or `declared`.
    candidates : tuple of Meaning
        What it may be, where it's kept out for want of certainty.
    """

    position: int
    heading: str
    meaning: Meaning | None
    reason: str
    candidates: tuple[Meaning, ...] = ()


@dataclass(frozen=True)
class HeadingMap:
    """All headings of one table, in the order of the file."""

    table: str
    file: str
    matches: tuple[HeadingMatch, ...]

    def of(self, name: str) -> HeadingMatch | None:
        """The heading that names a column of the table, or None where the file has none.

        Parameters
        ----------
        name : str
            Canonical name of a column.

        Returns
        -------
        HeadingMatch or None
        """
        return next((m for m in self.matches if m.meaning and _own(m.meaning, self.table, name)), None)

    def elsewhere(self) -> tuple[HeadingMatch, ...]:
        """Headings of a sheet of visits below which looks or wash readings stand."""
        return tuple(m for m in self.matches if m.meaning is not None and m.meaning.table != self.table)

    @property
    def notes(self) -> tuple[str, ...]:
        """What was kept out, and why; and what was taken for looks or wash readings."""
        told = []
        for match in self.matches:
            shown = f'"{match.heading}"' if match.heading else f"number {match.position + 1} (no heading)"
            if match.reason in ("look", "washed"):
                told.append(f"{self.file}: column {shown} is read as {match.meaning}")
            elif match.reason == "unknown":
                told.append(f"{self.file}: column {shown} isn't part of a visit log and was kept out")
            elif match.reason == "rival":
                told.append(f"{self.file}: column {shown} competes with another for one column; kept out")
            elif match.reason in ("ambiguous", "close"):
                told.append(
                    f"{self.file}: column {shown} may be {either(match.candidates)}; kept out; "
                    "say in a map what it is (`outcomes map`)"
                )
        return tuple(told)


def either(candidates: Sequence[Meaning]) -> str:
    """Meanings as a choice, in words.

    Parameters
    ----------
    candidates : sequence of Meaning

    Returns
    -------
    str
    """
    told = [str(meaning) for meaning in candidates]
    return " or ".join(filter(None, [", ".join(told[:-1]), told[-1]]))


def _own(meaning: Meaning, table: str, name: str) -> bool:
    return meaning.table == table and meaning.column == name


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


def _named(table: str, key: str) -> tuple[Meaning, str] | None:
    """The one meaning that a heading has beyond doubt, with the reason."""
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


def _perhaps(table: str, key: str) -> tuple[tuple[Meaning, ...], str]:
    """What a heading may be that names nothing beyond doubt, and why: `ambiguous`, `close` or `unknown`."""
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


def heading_score(table: str, row: Sequence[str], declared: Declared | None = None) -> int:
    """How many different columns of the table a row names.

    Parameters
    ----------
    table : str
        `visits`, `checks` or `washes`.
    row : sequence of str
        Cells of one row.
    declared : mapping, optional
        Headings that a map file explains.

    Returns
    -------
    int
        0 where the row names none.
    """
    keys = [normalise(cell) for cell in row]
    known = {key: meaning for key, meaning in (declared or {}).items() if meaning is not None}
    found = {(known[key].table, known[key].column) for key in keys if key in known}
    for key in set(keys) - known.keys() - {""}:
        named = _named(table, key)
        if named is not None and named[0].table == table:
            found.add((table, named[0].column))
    return len(found)


def find_header(
    table: str,
    early: Sequence[Sequence[str]],
    file: str,
    declared: Declared | None = None,
    *,
    lenient: bool = False,
) -> tuple[int, int, list[str]]:
    """The row that names most columns, the first of equals; or two rows, where only together they do.

    A title may stand above them. In a heading of two lines an empty cell above stands for what is written
    further left, as where one word was written over several columns.

    Parameters
    ----------
    table : str
        `visits`, `checks` or `washes`.
    early : sequence of sequence of str
        Cells of the first rows of a file.
    file : str
        Name shown in the refusal.
    declared : mapping, optional
        Headings that a map file explains.
    lenient : bool
        Where nothing is recognised, the first of the fullest rows without a number counts as the headings.

    Returns
    -------
    int, int, list of str
        Position in `early` of the first and the last line of the headings, and the headings.

    Raises
    ------
    InputError
        No row names at least two columns.
    """
    scores = [heading_score(table, row, declared) for row in early]
    best = max(scores, default=0)
    found = (scores.index(best), scores.index(best), list(early[scores.index(best)])) if best else None
    for i in range(len(early) - 1):
        if max(scores[i], scores[i + 1]) == 0:
            continue
        joined = _joined_lines(table, early[i], early[i + 1], declared)
        score = heading_score(table, joined, declared)
        if score > best + 1:  # one more alone may be chance: a first row of data under its headings
            best, found = score, (i, i + 1, joined)
    if lenient and best < 2 and (written := [_written(row) for row in early]) and max(written) > 1:
        at = written.index(max(written))
        return at, at, list(early[at])
    if found is None or best < 2:
        wanted = ", ".join(column.name for column in columns(table) if column.needed)
        raise InputError(
            f"{file}: no row of headings found in its first rows; expected {wanted}; put the headings in the "
            "first row, or name them in a map file (see `outcomes map --help`)"
        )
    return found


def _written(row: Sequence[str]) -> int:
    """How many cells of a row say something, if none begins with a digit; else 0."""
    return 0 if any(cell[:1].isdigit() for cell in row) else sum(map(bool, row))


def _joined_lines(
    table: str, above: Sequence[str], below: Sequence[str], declared: Declared | None
) -> list[str]:
    """Headings of two lines: both together where that names a column, else the one of the two that does."""
    width = max(len(above), len(below))
    upper, lower = (list(row) + [""] * (width - len(row)) for row in (above, below))
    joined, over = [], ""
    for top, bottom in zip(upper, lower, strict=True):
        over = top or (over if bottom else "")
        choices = [f"{over} {bottom}".strip(), bottom, top]
        known = (choice for choice in choices if choice and heading_score(table, [choice], declared))
        joined.append(next(known, choices[0]))
    return joined


def digit_positions(table: str, headings: Sequence[str], declared: Declared | None = None) -> tuple[int, ...]:
    """Positions of the headings under which every sound row has a digit: needed numbers and dates.

    Parameters
    ----------
    table : str
        `visits`, `checks` or `washes`.
    headings : sequence of str
        As written.
    declared : mapping, optional
        Headings that a map file explains.

    Returns
    -------
    tuple of int
        From 0, in the order of the headings.
    """
    digits = {column.name for column in columns(table) if column.needed and column.kind in ("number", "date")}
    matches = _matched(table, headings, declared or {})
    return tuple(m.position for m in matches if m.meaning and m.meaning.column in digits and
                 m.meaning.table == table)  # fmt: skip


def match_headings(
    table: str, file: str, headings: Sequence[str], declared: Declared | None = None
) -> HeadingMap:
    """Match the headings of a file to the columns of a table.

    Parameters
    ----------
    table : str
        `visits`, `checks` or `washes`.
    file : str
        Name shown in notes and refusals.
    headings : sequence of str
        As written.
    declared : mapping, optional
        Normalised label -> meaning, of headings that a map file explains; they go before everything else.

    Returns
    -------
    HeadingMap
        One match for each heading; `needed_lacking` tells what is still missing.
    """
    found = _matched(table, headings, declared or {})
    return HeadingMap(table, file, tuple(_settle(match, found) for match in found))


def _matched(table: str, headings: Sequence[str], declared: Declared) -> list[HeadingMatch]:
    found: list[HeadingMatch] = []
    for position, (heading, label) in enumerate(zip(headings, labels(headings), strict=True)):
        key = normalise(heading)
        if (stated := normalise(label)) in declared:
            found.append(HeadingMatch(position, label, declared[stated], "declared"))
        elif (named := _named(table, key)) is not None:
            found.append(HeadingMatch(position, label, *named))
        else:
            candidates, reason = _perhaps(table, key)
            found.append(HeadingMatch(position, label, None, reason, candidates))
    return found


_STRENGTH = ("declared", "canonical", "synonym", "look", "washed")


def _settle(match: HeadingMatch, found: Sequence[HeadingMatch]) -> HeadingMatch:
    """Of several headings for one column the strongest reason wins; equals are both kept out."""
    if match.meaning is None:
        return match
    plain = replace(match.meaning, unit="")
    rivals = [
        other
        for other in found
        if other is not match and other.meaning is not None and replace(other.meaning, unit="") == plain
    ]
    rank = _STRENGTH.index(match.reason)
    if all(_STRENGTH.index(other.reason) > rank for other in rivals):
        return match
    return HeadingMatch(match.position, match.heading, None, "rival", (match.meaning,))


def needed_lacking(mapped: HeadingMap, supplied: frozenset[str] = frozenset()) -> None:
    """Refuse a table that lacks a needed column.

    Parameters
    ----------
    mapped : HeadingMap
    supplied : frozenset of str
        Columns that come from elsewhere than a heading.

    Raises
    ------
    InputError
        Names every column that is missing, and the headings that compete for it or may be it.
    """
    lacking = [
        c for c in columns(mapped.table) if c.needed and c.name not in supplied and mapped.of(c.name) is None
    ]
    if not lacking:
        return
    told, doubtful = [], False
    for column in lacking:
        near = [m for m in mapped.matches if any(_own(c, mapped.table, column.name) for c in m.candidates)]
        rivals = [f'"{match.heading}"' for match in near if match.reason == "rival"]
        others = [f'"{match.heading}"' for match in near if match.reason in ("ambiguous", "close")]
        if rivals:
            told.append(f"{column.name} (both {' and '.join(rivals)} could be it)")
        elif others:
            told.append(f"{column.name} ({' or '.join(others)} may be it)")
        else:
            told.append(column.name)
        doubtful |= bool(rivals or others)
    them = "it" if len(lacking) == 1 else "them"
    do = "" if doubtful else f"rename or add the heading{'' if len(lacking) == 1 else 's'}, or "
    raise InputError(
        f"{mapped.file}: no column for {', '.join(told)}; {mapped.table} need {them}; {do}say in a map file "
        "which it is (see `outcomes map --help`)"
    )
