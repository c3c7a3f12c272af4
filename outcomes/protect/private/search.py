"""One piece of text, everything that must not leave the salon: codes, addresses, phone numbers, days."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from typing import NamedTuple

from outcomes.protect.private.codes import CODE_COLUMNS, LogCodes, heading_of
from outcomes.protect.private.contacts import PHONE_WORDS, emails_in, is_phone_cell, phones_in
from outcomes.protect.private.days import MONTH_WORDS, DayRead, day_of_heading, days_in
from outcomes.protect.private.lookup import CodeIndex, Standing
from outcomes.protect.private.tokens import TOKEN

__all__ = ["KINDS", "Hit", "Search", "settled"]

KINDS = ("code", "e-mail", "phone", "date")
VISIT_DAY, NO_YEAR = "a visit day of the log", "no year"
_STRETCH = 2**20  # characters looked at together
_OVERLAP = 300  # and those behind them, for what begins in one stretch and ends in the next
_BREAK = re.compile(r"[\s\"<>{}\[\];]")
_DIGIT = re.compile(r"\d")
_SHORT = 200
_REMEMBERED = 200_000  # short texts whose hits are kept: cells and values repeat


class Hit(NamedTuple):
    """Something found in a text: from start to end, its kind, the column of a code, and a note."""

    start: int
    end: int
    kind: str
    of: str
    note: str


class Search:
    """Looks for what a log's reader mustn't pass on.

    Parameters
    ----------
    log : LogCodes
    may_show : iterable of str
        Columns whose codes may stay.
    """

    def __init__(self, log: LogCodes, may_show: Iterable[str] = ()) -> None:
        self._codes = CodeIndex(log.codes, may_show)
        self._days = log.days
        # two digits are a year only where the log has visits in it, or just before or after
        self._years = {day.year + shift for day in log.days for shift in (-1, 0, 1)}
        self._memory: dict[tuple[str, str, bool, bool, bool], tuple[Hit, ...]] = {}

    def hits(
        self, text: str, under: str = "", *, program: bool = False, again: bool = False, name: bool = False
    ) -> Iterator[Hit]:
        """What stands in a text.

        Parameters
        ----------
        text : str
            As `plain` gives it.
        under : str
            The heading, or key, under which it stands.
        program : bool
            Whether it's a program's text.
        again : bool
            Whether it was looked at before, as a part of a longer text: then only what its heading tells.
        name : bool
            Whether it's the name of a file, in which eight digits are a day.

        Yields
        ------
        Hit
            In the order of the text.
        """
        if len(text) > _SHORT:
            yield from self._look(text, under, program, again, name)
            return
        key = (text, under, program, again, name)
        known = self._memory.get(key)
        if known is None:
            known = tuple(self._look(text, under, program, again, name))
            if len(self._memory) < _REMEMBERED:
                self._memory[key] = known
        yield from known

    def wants(self, heading: str) -> bool:
        """Whether a heading tells of cells below it what their text alone doesn't.

        Parameters
        ----------
        heading : str

        Returns
        -------
        bool
        """
        what = heading_of(heading)
        return self._codes.has_ordinary(what) if what in CODE_COLUMNS else bool(what)

    def _look(self, text: str, under: str, program: bool, again: bool, name: bool) -> Iterator[Hit]:
        what = heading_of(under) if under else ""
        told = self._told_by_heading(text, what) if what else []
        if again:
            # what the text tells by itself was told before
            alone = {(hit.kind, hit.start) for hit in self._part(text, program, name)} if told else set()
            yield from settled([hit for hit in told if (hit.kind, hit.start) not in alone])
            return
        # a stretch at a time, so that a table full of codes isn't held as finds all at once
        for start, end in _stretches(text):
            part = self._part(text[start : end + _OVERLAP], program, name)
            inside = [hit for hit in part if start + hit.start < end]
            if start:
                inside = [Hit(a + start, b + start, *rest) for a, b, *rest in inside]
            yield from settled([*inside, *(hit for hit in told if start <= hit.start < end)])

    def _part(self, text: str, program: bool, name: bool) -> list[Hit]:
        words = {word.casefold() for word in set(TOKEN.findall(text))}
        found = [self._code(one) for one in self._codes.anywhere(text, words, program=program)]
        found += [self._code(one) for one in self._codes.behind_words(text, words, program=program)]
        found += [Hit(start, end, "e-mail", "", "") for start, end in emails_in(text, spelled="at" in words)]
        if _DIGIT.search(text) is None:
            return found
        worded = not MONTH_WORDS.isdisjoint(words)
        days = [
            self._day(day)
            for day in days_in(text, worded=worded, years=self._years, known=self._days, any_compact=name)
        ]
        rest = _without(text, days)
        cued = not PHONE_WORDS.isdisjoint(words)
        return found + days + [Hit(a, b, "phone", "", "") for a, b in phones_in(rest, cued=cued)]

    def _told_by_heading(self, text: str, what: str) -> list[Hit]:
        if what in CODE_COLUMNS:
            return [self._code(one) for one in self._codes.under(text, what)]
        if what == "phone":
            return [Hit(0, len(text), "phone", "", "")] if is_phone_cell(text) else []
        day = day_of_heading(text)
        return [] if day is None else [self._day(DayRead(0, len(text), (day,)))]

    def _code(self, one: Standing) -> Hit:
        return Hit(one.start, one.end, "code", " or ".join(one.columns), "")

    def _day(self, one: DayRead) -> Hit:
        if one.month_and_day:
            known = any((day.month, day.day) == one.month_and_day for day in self._days)
            return Hit(one.start, one.end, "date", "", f"{NO_YEAR}; {VISIT_DAY}" if known else NO_YEAR)
        note = VISIT_DAY if self._days.intersection(one.days) else ""
        return Hit(one.start, one.end, "date", "", note)


def _stretches(text: str) -> Iterator[tuple[int, int]]:
    start = 0
    while start < len(text):
        end = start + _STRETCH
        if end < len(text):
            line = text.find("\n", end, end + 100_000)
            at = _BREAK.search(text, end) if line < 0 else None
            end = line if line >= 0 else at.start() if at else len(text)
        yield start, min(end, len(text))
        start = end


def _without(text: str, days: list[Hit]) -> str:
    """The text with marks in place of days, which would otherwise read as parts of numbers beside them."""
    if not days:
        return text
    parts, behind = [], 0
    for hit in sorted(days):
        if hit.start >= behind:
            parts += [text[behind : hit.start], ";" * (hit.end - hit.start)]
            behind = hit.end
    return "".join(parts) + text[behind:]


def settled(found: list[Hit]) -> list[Hit]:
    """Each place once: a code keeps what lies within it, and a longer find of one kind a shorter one.

    Parameters
    ----------
    found : list of Hit

    Returns
    -------
    list of Hit
        In the order of the text.
    """
    kept: list[Hit] = []
    around: list[Hit] = []  # finds that go on where the next one begins
    for hit in sorted(set(found), key=lambda hit: (hit.start, -hit.end, KINDS.index(hit.kind))):
        around = [other for other in around if other.end > hit.start]
        kinds = {other.kind for other in around if hit.end <= other.end}
        if hit.kind in kinds or (kinds and hit.kind in ("phone", "date")):
            continue
        kept.append(hit)
        around.append(hit)
    return kept
