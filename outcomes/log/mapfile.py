"""The map file: what a salon's own headings, sheets and words mean, said once and used on every reading."""

from __future__ import annotations

import os
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from outcomes.errors import InputError
from outcomes.log.dates import ORDERS
from outcomes.log.meaning import Meaning, meaning_of_words
from outcomes.log.schema import TABLES, columns
from outcomes.log.vocabulary import normalise

__all__ = ["ASKED", "MADE_CODES", "NO_MAP", "SHEET_COLUMNS", "LogMap", "read_map"]

ASKED = "?"
"""Stands in a map file where the user has to say something."""
MADE_CODES = "client and date"
SHEET_COLUMNS = ("stylist", "salon")
"""Columns that the names of sheets may give."""
_MAX_BYTES = 2**20
_KEYS = ("dates", "visit_codes", "sheet_names", "sheets", "words", *TABLES)


@dataclass(frozen=True)
class LogMap:
    """What a map file says.

    Attributes
    ----------
    headings : mapping of table to mapping of str to Meaning or None
        By normalised label; None: kept out.
    sheets : mapping of str to str
        By name of sheet in lower case, its table; empty: not part of the log.
    sheet_names : {"", "stylist", "salon"}
        Column that the names of the sheets give.
    visit_codes : {"", "client and date"}
        What visit codes are made from where no column has them.
    dates : {"", "day-first", "month-first"}
        Order of day and month where dates are written with both as numbers.
    words : mapping of column to mapping of str to str
        By spelling in lower case, the log's own word.
    """

    headings: Mapping[str, Mapping[str, Meaning | None]] = field(default_factory=dict)
    sheets: Mapping[str, str] = field(default_factory=dict)
    sheet_names: str = ""
    visit_codes: str = ""
    dates: str = ""
    words: Mapping[str, Mapping[str, str]] = field(default_factory=dict)

    def declared(self, table: str) -> Mapping[str, Meaning | None]:
        """What it says of the headings of one table.

        Parameters
        ----------
        table : {"visits", "checks", "washes"}

        Returns
        -------
        mapping of str to Meaning or None
        """
        return self.headings.get(table, {})


NO_MAP = LogMap()


def read_map(path: str | os.PathLike[str]) -> LogMap:
    """Read a map file.

    Parameters
    ----------
    path : path
        TOML as `outcomes map` writes it.

    Returns
    -------
    LogMap

    Raises
    ------
    InputError
        It isn't there, isn't TOML, has a question left in it, or says what no log can have.
    """
    place = Path(path)
    try:
        if place.stat().st_size > _MAX_BYTES:
            raise InputError(f"{place}: larger than 1 MB; expected a map file (see `outcomes map --help`)")
        stated = tomllib.loads(place.read_bytes().decode("utf-8-sig"))
    except OSError as error:
        raise InputError(f"{place}: can't be read ({error.strerror}); look at the path") from None
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        told = " ".join(str(error).split())
        raise InputError(
            f"{place}: no map file ({told}); write one with `outcomes map LOG --to FILE`"
        ) from None
    for key in stated:
        if key not in _KEYS:
            raise InputError(f'{place}: found "{key}"; expected one of {", ".join(_KEYS)}; correct it')
    return LogMap(
        {table: _headings(place, table, _table(place, stated, table)) for table in TABLES if table in stated},
        {
            name.strip().lower(): _choice(place, f"sheet {name}", said, (*TABLES, ""))
            for name, said in _table(place, stated, "sheets").items()
        },
        _choice(place, "sheet_names", stated.get("sheet_names", ""), ("", *SHEET_COLUMNS)),
        _choice(place, "visit_codes", stated.get("visit_codes", ""), ("", MADE_CODES)),
        _choice(place, "dates", stated.get("dates", ""), ("", *ORDERS)),
        {name: _words(place, name, said) for name, said in _table(place, stated, "words").items()},
    )


def _table(place: Path, stated: Mapping[str, Any], key: str) -> Mapping[str, Any]:
    found = stated.get(key, {})
    if not isinstance(found, dict):
        raise InputError(f"{place}: {key} is no section; write [{key}] on a line of its own above its lines")
    return found


def _choice(place: Path, what: str, said: Any, words: tuple[str, ...]) -> str:
    if isinstance(said, str) and said in words:
        return said
    shown = " or ".join(f'"{word}"' for word in words)
    raise InputError(f'{place}: {what}: found "{said}"; expected {shown}; correct it')


def _headings(place: Path, table: str, stated: Mapping[str, Any]) -> Mapping[str, Meaning | None]:
    found: dict[str, Meaning | None] = {}
    for label, words in stated.items():
        key = normalise(label)
        if key in found:
            raise InputError(f'{place}: "{label}" stands twice among the headings of {table}; keep one line')
        if words == "":
            found[key] = None
            continue
        meaning = meaning_of_words(table, words) if isinstance(words, str) else None
        if meaning is None:
            expected = 'a column of the log, or "" to keep it out'
            if words == ASKED:
                raise InputError(
                    f'{place}: "{label}" of {table} is still a question; write {expected}; the comment '
                    "beside it says what it may be"
                )
            raise InputError(f'{place}: "{label}" of {table}: found "{words}"; expected {expected}')
        found[key] = meaning
    return found


def _words(place: Path, name: str, stated: Any) -> Mapping[str, str]:
    column = next((c for table in TABLES for c in columns(table) if c.name == name and c.words), None)
    if column is None:
        raise InputError(
            f'{place}: words.{name}: found "{name}"; expected a column of words, as hair or stop'
        )
    if not isinstance(stated, dict):
        raise InputError(f"{place}: words.{name} is no section; write [words.{name}] on a line of its own")
    found = {}
    for spelling, word in stated.items():
        if word == ASKED:
            raise InputError(
                f'{place}: "{spelling}" of {name} is still a question; write {column.expected}, or take '
                "the line out"
            )
        found[spelling.casefold()] = _choice(place, f"words.{name}: {spelling}", word, column.words)
    return found
