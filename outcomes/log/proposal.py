"""A map file proposed for a log: every heading with what it's taken for and why; what isn't sure is asked."""

from __future__ import annotations

import json
import os
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd

from outcomes.log.cells import MISSING
from outcomes.log.dates import read_dates, two_readings
from outcomes.log.files import open_log
from outcomes.log.headings import HeadingMap, HeadingMatch, either
from outcomes.log.mapfile import ASKED, MADE_CODES, NO_MAP, LogMap
from outcomes.log.mapped import orders, understood
from outcomes.log.rawtable import RawTable
from outcomes.log.schema import TABLES, column, columns

__all__ = ["OPENING", "Proposal", "Proposed", "propose_map"]

OPENING = "# What the headings of a visit log mean."
_HEAD = (
    OPENING,
    '# Left: the heading as the log has it. Right: the column that it names, or "" to keep it out.',
    "# Where a ? stands, say what it is: the comment beside it tells what it may be.",
    '# Looks and readings in extra columns: "level at 20 minutes", "minutes of look 1", "level of look 1",',
    '# "level after 10 washes", "tone_left after 10 washes at roots".',
)
_MOST_WORDS = 20  # unknown spellings of one column that are asked about
REASONS = {
    "canonical": "the log's own name",
    "synonym": "another name of it",
    "look": "says when the hair was looked at",
    "washed": "a reading after washes",
    "unknown": "no column of a visit log",
}


@dataclass(frozen=True)
class Proposed:
    """One line of a map.

    Attributes
    ----------
    table : str
        Section: a table, `sheets`, `words.NAME`, or empty for the lines on top.
    heading : str
        Heading, sheet, spelling or setting.
    means : str
        In the words of a map file; "?" where it's asked.
    reason : str
        Why, or what it may be.
    """

    table: str
    heading: str
    means: str
    reason: str

    @property
    def is_offered(self) -> bool:
        """Whether it may be said, and the map can be used without: a word that the log doesn't know."""
        return self.table.startswith("words.")

    @property
    def is_asked(self) -> bool:
        """Whether the user has to say something."""
        return self.means == ASKED and not self.is_offered


@dataclass(frozen=True)
class Proposal:
    """A map for one log.

    Attributes
    ----------
    source : str
        Name of the log, for people.
    lines : tuple of Proposed
    lacking : tuple of (table, column)
        Needed columns that no heading names for sure.
    """

    source: str
    lines: tuple[Proposed, ...]
    lacking: tuple[tuple[str, str], ...]

    @property
    def asked(self) -> tuple[Proposed, ...]:
        """Lines in which the user has to say something."""
        return tuple(line for line in self.lines if line.is_asked)

    def to_dict(self) -> dict[str, object]:
        """As JSON values."""
        return {
            "source": self.source,
            "lines": [
                {"section": one.table, "heading": one.heading, "means": one.means, "reason": one.reason}
                for one in self.lines
            ],
            "asked": len(self.asked),
            "lacking": [{"table": table, "column": name} for table, name in self.lacking],
        }

    def text(self) -> str:
        """The map file."""
        out = [*_HEAD, ""]
        out += [_line(one) for one in self.lines if not one.table]
        sections = list(dict.fromkeys(one.table for one in self.lines if one.table))
        for section in sections:
            out += ["", f"[{section}]", *(_line(one) for one in self.lines if one.table == section)]
            out += [
                f"# Needed, and no heading names it for sure: {name} ({column(table, name).meaning})."
                for table, name in self.lacking
                if table == section
            ]
        return "\n".join(out) + "\n"


def _line(one: Proposed) -> str:
    key = one.heading if one.table == "" else _quoted(one.heading)
    said = f"{key} = {_quoted(one.means)}  # {' '.join(one.reason.split())}"
    return f"# {said}; take the first # away and say which" if one.is_offered else said


def _quoted(text: str) -> str:
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def propose_map(path: str | os.PathLike[str], said: LogMap = NO_MAP) -> Proposal:
    """Propose what the headings, sheets and words of a log mean.

    Parameters
    ----------
    path : path
        As for `read_log`.
    said : LogMap, optional
        What is known already.

    Returns
    -------
    Proposal

    Raises
    ------
    InputError
        Nothing readable there.
    """
    source, raws = open_log(path, said, lenient=True)
    lines = [*_settings(raws, said), *_sheets(raws)]
    for table in TABLES:
        of_table = [raw for raw in raws if raw.table == table]
        lines += _headings(of_table, said)
        lines += _words(of_table, said)
    order = ["", "sheets", *TABLES]
    lines.sort(key=lambda one: order.index(one.table) if one.table in order else len(order))
    return Proposal(source, tuple(lines), tuple(_lacking(raws, said)))


def _lacking(raws: Sequence[RawTable], said: LogMap) -> Iterable[tuple[str, str]]:
    for table in TABLES:
        mapped = [understood(raw, said) for raw in raws if raw.table == table]
        for rule in columns(table):
            supplied = rule.name == "visit" or rule.name == said.sheet_names
            if rule.needed and not supplied and any(one.of(rule.name) is None for one in mapped):
                yield table, rule.name


def _settings(raws: Sequence[RawTable], said: LogMap) -> Iterable[Proposed]:
    visits = [(raw, understood(raw, said)) for raw in raws if raw.table == "visits"]
    if any(mapped.of("visit") is None for _, mapped in visits):
        yield Proposed(
            "",
            "visit_codes",
            MADE_CODES,
            "no column of visit codes: made so, one visit of a client a day; or name a column below",
        )
    if len(visits) > 1 and any(mapped.of("stylist") is None for _, mapped in visits):
        yield Proposed(
            "",
            "sheet_names",
            ASKED,
            'no column of stylists: write "stylist" if a sheet is a stylist\'s; or "" and name a column',
        )
    in_doubt, leave = ("", "") if said.dates else _in_doubt(visits)
    if in_doubt:
        yield Proposed(
            "",
            "dates",
            ASKED,
            f'{in_doubt} may be {two_readings(in_doubt)}: write "day-first" or "month-first"{leave}',
        )


def _in_doubt(visits: Sequence[tuple[RawTable, HeadingMap]]) -> tuple[str, str]:
    """A date of which nothing says its order, and what else may be done about it."""
    found = ""
    for (raw, mapped), order in zip(visits, orders(visits, ""), strict=True):
        match = mapped.of("date")
        if match is None:
            continue
        texts = _different(raw, match)
        read = read_dates(texts, raw.date_system, order)
        if read.unsettled:
            return read.unsettled, ""
        aside = texts[read.codes == "date_unsettled"]
        found = found or str(next(iter(aside), ""))
    return found, ', or "" to leave such rows out' if found else ""


def _different(raw: RawTable, match: HeadingMatch) -> pd.Series[str]:
    cells = raw.cells[match.position]
    return pd.Series(np.asarray(cells.categories, dtype=object)[np.unique(cells.codes)], dtype=object)


def _sheets(raws: Sequence[RawTable]) -> Iterable[Proposed]:
    for raw in raws:
        named = raw.sheet.strip().lower() == raw.table
        if raw.sheet and (raw.hidden or not named):
            why = "by its name" if named else "by its headings"
            leave = '; the sheet is hidden: "" leaves it out' if raw.hidden else ""
            yield Proposed("sheets", raw.sheet.strip(), raw.table, why + leave)


def _headings(raws: Sequence[RawTable], said: LogMap) -> Iterable[Proposed]:
    told: dict[str, Proposed] = {}
    for raw in raws:
        mapped = understood(raw, said)
        for match in mapped.matches:
            if match.heading and match.heading not in told:
                told[match.heading] = _proposed(raw.table, match)
    return told.values()


def _proposed(table: str, match: HeadingMatch) -> Proposed:
    if match.reason == "rival":
        return Proposed(
            table,
            match.heading,
            ASKED,
            f'more than one heading may be {either(match.candidates)}: keep one, "" for the others',
        )
    if match.reason == "ambiguous":
        return Proposed(table, match.heading, ASKED, f'may be {either(match.candidates)}; "" keeps it out')
    if match.reason == "close":
        return Proposed(
            table, match.heading, ASKED, f'almost reads as {either(match.candidates)}; "" keeps it out'
        )
    reason = REASONS.get(match.reason, "as the map said")
    return Proposed(table, match.heading, "" if match.meaning is None else str(match.meaning), reason)


def _words(raws: Sequence[RawTable], said: LogMap) -> Iterable[Proposed]:
    """Spellings of the log's words that it doesn't know."""
    told: dict[tuple[str, str], Proposed] = {}
    for raw in raws:
        for match in understood(raw, said).matches:
            if match.meaning is None or match.meaning.table != raw.table:
                continue
            rule = column(raw.table, match.meaning.column)
            if not rule.words:
                continue
            texts = _different(raw, match).str.casefold()
            texts = texts[~texts.isin(MISSING) & ~texts.isin(list(said.words.get(rule.name, {})))]
            plain = texts.str.replace(r"[\s_-]+", "_", regex=True)
            unknown = texts[~plain.isin([*rule.words, *rule.spellings])]
            if len(unknown) <= _MOST_WORDS:  # more are free text, and no spellings of a word
                for text in sorted(unknown.unique()):
                    told[rule.name, text] = Proposed(f"words.{rule.name}", text, ASKED, rule.expected)
    return told.values()
