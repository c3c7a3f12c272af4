"""Codes and visit days of a log, those of rows that were set aside too, and how each code is to be found."""

from __future__ import annotations

import os
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import cache, lru_cache

import numpy as np
import pandas as pd

from outcomes.errors import InputError
from outcomes.log.dates import read_dates
from outcomes.log.files import open_log
from outcomes.log.headings import HeadingMatch, match_headings
from outcomes.log.mapfile import NO_MAP, read_map
from outcomes.log.mapped import mapped_parts
from outcomes.log.schema import TABLES, columns
from outcomes.log.vocabulary import normalise
from outcomes.protect.private.days import days_in
from outcomes.protect.private.ordinary import is_ordinary
from outcomes.protect.private.tokens import TOKEN, plain, runs_and_gaps

__all__ = [
    "CODE_COLUMNS",
    "Code",
    "LogCodes",
    "codes_of_log",
    "heading_of",
    "heading_words",
    "headings_of_codes",
    "make_code",
]

CODE_COLUMNS = tuple(dict.fromkeys(c.name for t in TABLES for c in columns(t) if c.kind == "text"))
SHORT = 3  # letters and digits; so short a code is a likely name in a program
_PLAIN_NUMBER = 6  # digits; shorter numbers stand everywhere
_PHONES = frozenset(
    ("phone", "telephone", "tel", "mobile", "cell", "fax", "whatsapp", "phone_number", "telephone_number",
     "mobile_number", "contact_number", "phone_no", "tel_no", "mobile_no", "cell_phone", "mobile_phone",
     "contact", "contacts", "contact_no", "contact_details")
)  # fmt: skip
# one of these in a heading of several words is enough: "Client phone", "Tel. (home)"
_PHONE_WORDS = frozenset(
    ("phone", "telephone", "tel", "mobile", "fax", "whatsapp", "telefon", "handy", "mobil", "mobilnummer",
     "telefonnummer", "téléphone", "teléfono", "telefono", "cellphone")
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Code:
    """One code.

    Attributes
    ----------
    text : str
        As the log has it, without marks before and behind it.
    columns : tuple of str
        The columns that it stands in.
    runs : tuple of str
        Its letters and digits, without what stands between them, in lower case.
    gaps : tuple of str
        What stands between them.
    is_telling : bool
        Whether it can be told from ordinary text wherever it stands; otherwise only a heading tells.
    is_short : bool
        At most three letters and digits.
    """

    text: str
    columns: tuple[str, ...]
    runs: tuple[str, ...]
    gaps: tuple[str, ...]
    is_telling: bool
    is_short: bool


@dataclass(frozen=True, eq=False)
class LogCodes:
    """What a log holds that must not leave the salon.

    Attributes
    ----------
    source : str
        Name of the log, shown to people.
    codes : tuple of Code
    days : frozenset of date
        Every day of the calendar that the log's dates may mean.
    """

    source: str
    codes: tuple[Code, ...]
    days: frozenset[date]

    def counts(self, without: Iterable[str] = ()) -> dict[str, dict[str, int]]:
        """How many codes of each column are looked for everywhere, and how many only under a heading.

        Parameters
        ----------
        without : iterable of str
            Columns that aren't looked for.

        Returns
        -------
        dict
            Column -> `everywhere`, `under_headings`.
        """
        left = [name for name in CODE_COLUMNS if name not in set(without)]
        told = {name: {"everywhere": 0, "under_headings": 0} for name in left}
        for code in self.codes:
            for name in code.columns:
                if name in told:
                    told[name]["everywhere" if code.is_telling else "under_headings"] += 1
        return {name: count for name, count in told.items() if any(count.values())}


def codes_of_log(
    path: str | os.PathLike[str], *, map_file: str | os.PathLike[str] | None = None, dates: str = ""
) -> LogCodes:
    """Every code of a log, whether or not its row can be used.

    Parameters
    ----------
    path : path
        A log, as `read_log` takes it.
    map_file : path, optional
        What the log's own headings and sheets mean.
    dates : {"", "day-first", "month-first"}
        Order of day and month where no date of the log settles it; without it a date may be two days.

    Returns
    -------
    LogCodes

    Raises
    ------
    InputError
        A log or a map that can't be read, a log without a visit or without a needed column.
    """
    said = NO_MAP if map_file is None else read_map(map_file)
    source, raws = open_log(path, replace(said, dates=dates) if dates else said)
    found: dict[str, dict[str, None]] = {}
    days: set[date] = set()
    rows = 0
    for part in mapped_parts(raws, said):
        rows += len(part.raw.rows) if part.raw.table == "visits" else 0
        for match in part.mapped.matches:
            cells, column = part.raw.cells[match.position], _column_of(match, part.raw.table)
            if column in CODE_COLUMNS:
                for text in _texts(cells):
                    found.setdefault(text, {})[column] = None
            elif column == "date":
                days |= _days(_texts(cells), part.raw.date_system, dates or part.order)
    if rows == 0:
        raise InputError(f"{path}: no visits in it yet, so no codes to look for; name the salon's log")
    codes = (make_code(text, tuple(names)) for text, names in found.items())
    return LogCodes(source, tuple(code for code in codes if code.text), frozenset(days))


def _column_of(match: HeadingMatch, table: str) -> str:
    """The column that a heading names, even where it's kept out for a rival's sake or holds names."""
    if match.meaning is not None:
        return match.meaning.column if match.meaning.table == table else ""
    if match.reason == "rival":
        return heading_of(match.heading)
    named = "name" in normalise(match.heading).split("_")
    return next((may.column for may in match.candidates if named and may.column in CODE_COLUMNS), "")


def _texts(cells: pd.Categorical) -> list[str]:
    """The texts that stand in a column: its categories may hold those of headings and titles as well."""
    return [text for i in np.unique(cells.codes) if (text := str(cells.categories[i]))]


def _days(texts: Sequence[str], system: int, order: str) -> set[date]:
    read = read_dates(pd.Series(texts, dtype=object), system, order).days
    told = {day for day in pd.Series(read).dropna().dt.date}
    # where nothing says which is which, a date that can be read in two ways is a visit day in both
    return told if order else told | {day for text in texts for one in days_in(text) for day in one.days}


def make_code(text: str, names: tuple[str, ...]) -> Code:
    """A code from its text.

    Parameters
    ----------
    text : str
    names : tuple of str
        Columns that it stands in.

    Returns
    -------
    Code
    """
    tidy = re.sub(r"^(\d+)\.0+$", r"\1", " ".join(plain(text).split()))  # a number's own way of writing 12
    runs, gaps = runs_and_gaps(tidy)
    size = sum(map(len, runs))
    ends = [found.span() for found in TOKEN.finditer(tidy)]
    core = tidy[ends[0][0] : ends[-1][1]] if ends else tidy
    return Code(core, names, runs, gaps, _is_telling(runs, size), size <= SHORT)


def _is_telling(runs: tuple[str, ...], size: int) -> bool:
    if size < 2:
        return False
    if all(run.isdigit() for run in runs):
        return size >= _PLAIN_NUMBER
    if len(runs) > 1 and any(map(str.isdigit, runs)):
        return True
    return not all(is_ordinary(run) for run in runs)


@cache
def headings_of_codes() -> Mapping[str, str]:
    """Normalised heading -> the code column that it names."""
    texts = [c for t in TABLES for c in columns(t) if c.kind == "text"]
    return {normalise(heading): c.name for c in texts for heading in (c.name, *c.headings)}


@lru_cache(maxsize=10_000)
def heading_of(heading: str) -> str:
    """What a heading, or a key, says of what stands under it.

    Parameters
    ----------
    heading : str
        As written; `data-client` counts as `client`.

    Returns
    -------
    str
        A code column, `date`, `phone`, or empty.
    """
    if len(heading) > 40 or not TOKEN.search(heading):
        return ""
    key = normalise(heading).removeprefix("data_")
    if key in _PHONES or not _PHONE_WORDS.isdisjoint(key.split("_")):
        return "phone"
    told = headings_of_codes().get(key)
    if told or _words_of_headings().isdisjoint(key.split("_")):
        return told or ""
    meaning = match_headings("visits", "", [key]).matches[0].meaning
    column = meaning.column if meaning is not None and meaning.table == "visits" else ""
    return column if column in (*CODE_COLUMNS, "date") else ""


@cache
def heading_words() -> frozenset[str]:
    """One of these words stands in every heading that `heading_of` knows.

    Returns
    -------
    frozenset of str
        In lower case.
    """
    return _words_of_headings() | _PHONE_WORDS | {word for key in _PHONES for word in key.split("_")}


@cache
def _words_of_headings() -> frozenset[str]:
    """Words without which no heading names codes or dates."""
    days = {
        normalise(heading) for c in columns("visits") if c.kind == "date" for heading in (c.name, *c.headings)
    }
    return frozenset(word for key in (*headings_of_codes(), *days) for word in key.split("_"))
