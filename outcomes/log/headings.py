"""Headings to columns: each heading of a file with the column that it names, and the reason."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache

from outcomes.errors import InputError
from outcomes.log.schema import columns

__all__ = [
    "HeadingMap",
    "HeadingMatch",
    "digit_positions",
    "find_header",
    "heading_score",
    "match_headings",
    "normalise",
]


@dataclass(frozen=True)
class HeadingMatch:
    """One heading: where it stands, the column it names (or None), the unit it states, and why.

    `reason` is `canonical`, `synonym`, `declared`, `unknown` or `ambiguous`.
    """

    position: int
    heading: str
    column: str | None
    unit: str
    reason: str


@dataclass(frozen=True)
class HeadingMap:
    """All headings of one table, in the order of the file."""

    table: str
    file: str
    matches: tuple[HeadingMatch, ...]

    def of(self, name: str) -> HeadingMatch | None:
        """The heading that names a column, or None where the file has none.

        Parameters
        ----------
        name : str
            Canonical name of a column.

        Returns
        -------
        HeadingMatch or None
        """
        return next((match for match in self.matches if match.column == name), None)

    @property
    def notes(self) -> tuple[str, ...]:
        """What was kept out, and why."""
        told = []
        for match in self.matches:
            shown = f'"{match.heading}"' if match.heading else f"number {match.position + 1} (no heading)"
            if match.reason == "unknown":
                told.append(f"{self.file}: column {shown} isn't part of a visit log and was kept out")
            elif match.reason == "ambiguous":
                told.append(f"{self.file}: column {shown} competes with another for one column; kept out")
        return tuple(told)


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


def heading_score(table: str, row: Sequence[str]) -> int:
    """How many different columns of the table a row names.

    Parameters
    ----------
    table : str
        `visits`, `checks` or `washes`.
    row : sequence of str
        Cells of one row.

    Returns
    -------
    int
        0 where the row names none.
    """
    names = _names(table)
    return len({names[key][0] for key in map(normalise, row) if key in names})


def digit_positions(table: str, headings: Sequence[str]) -> tuple[int, ...]:
    """Positions of the headings under which every sound row has a digit: needed numbers and dates.

    Parameters
    ----------
    table : str
        `visits`, `checks` or `washes`.
    headings : sequence of str
        As written.

    Returns
    -------
    tuple of int
        From 0, in the order of the headings.
    """
    names = _names(table)
    digits = {column.name for column in columns(table) if column.needed and column.kind in ("number", "date")}
    keys = [normalise(heading) for heading in headings]
    return tuple(i for i, key in enumerate(keys) if key in names and names[key][0] in digits)


def find_header(table: str, early: Sequence[Sequence[str]], file: str) -> int:
    """Index of the row that names most columns, the first of equals (a title may stand above it).

    Parameters
    ----------
    table : str
        `visits`, `checks` or `washes`.
    early : sequence of sequence of str
        Cells of the first rows of a file.
    file : str
        Name shown in the refusal.

    Returns
    -------
    int
        Position in `early`, from 0.

    Raises
    ------
    InputError
        No row names at least two columns.
    """
    scores = [heading_score(table, row) for row in early]
    if not scores or max(scores) < 2:
        wanted = ", ".join(column.name for column in columns(table) if column.needed)
        raise InputError(
            f"{file}: no row of headings found in its first rows; expected {wanted}; "
            "put the headings in the first row"
        )
    return scores.index(max(scores))


def match_headings(
    table: str, file: str, headings: Sequence[str], declared: Mapping[str, str] | None = None
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
        Headings as written -> column, for headings that can't be guessed; they go before everything else.

    Returns
    -------
    HeadingMap
        One match for each heading.

    Raises
    ------
    InputError
        A needed column is missing, or two headings compete for one; names all of them.
    """
    names = _names(table)
    stated = {normalise(heading): column for heading, column in (declared or {}).items()}
    found: list[HeadingMatch] = []
    for position, heading in enumerate(headings):
        key = normalise(heading)
        if key in stated:
            found.append(HeadingMatch(position, heading, stated[key], "", "declared"))
        elif key in names:
            found.append(HeadingMatch(position, heading, *names[key]))
        else:
            found.append(HeadingMatch(position, heading, None, "", "unknown"))
    matches = tuple(_settle(match, found) for match in found)
    mapped = HeadingMap(table, file, matches)
    _require_needed(mapped)
    return mapped


_STRENGTH = ("declared", "canonical", "synonym")


def _settle(match: HeadingMatch, found: Sequence[HeadingMatch]) -> HeadingMatch:
    """Of several headings for one column the strongest reason wins; equals are both kept out."""
    if match.column is None:
        return match
    rivals = [other for other in found if other.column == match.column and other is not match]
    rank = _STRENGTH.index(match.reason)
    if all(_STRENGTH.index(other.reason) > rank for other in rivals):
        return match
    return HeadingMatch(match.position, match.heading, None, "", "ambiguous")


def _require_needed(mapped: HeadingMap) -> None:
    lacking = [c for c in columns(mapped.table) if c.needed and mapped.of(c.name) is None]
    if not lacking:
        return
    names = _names(mapped.table)
    told = []
    for column in lacking:
        rivals = [
            f'"{match.heading}"'
            for match in mapped.matches
            if match.reason == "ambiguous" and names.get(normalise(match.heading), ("",))[0] == column.name
        ]
        told.append(f"{column.name} (both {' and '.join(rivals)} could be it)" if rivals else column.name)
    raise InputError(
        f"{mapped.file}: no column for {', '.join(told)}; {mapped.table} need"
        f"{'s' if len(lacking) == 1 else ''} {'it' if len(lacking) == 1 else 'them'}; "
        "rename or add the heading"
    )
