"""Headings to columns: each heading of a file with what stands below it, and the reason."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from outcomes.errors import InputError
from outcomes.log.header import Declared
from outcomes.log.meaning import Meaning
from outcomes.log.schema import columns
from outcomes.log.vocabulary import labels, named, normalise, perhaps

__all__ = ["HeadingMap", "HeadingMatch", "digit_positions", "either", "match_headings", "needed_lacking"]


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
        elif (meant := named(table, key)) is not None:
            found.append(HeadingMatch(position, label, *meant))
        else:
            candidates, reason = perhaps(table, key)
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
