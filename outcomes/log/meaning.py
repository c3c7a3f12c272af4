"""What stands below a heading, in the words of a map file.

Most headings name a column of their own table. In a log that is one sheet, a heading may also say when hair
was looked at ("20 min") or after how many washes it was read ("after 10 washes"): then each cell below is a
look or a reading of its own.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from outcomes.log.schema import columns

__all__ = ["Meaning", "meaning_of_words", "spoken_in"]

_ZONE = "(?: at (?P<zone>roots|lengths|ends|all))?"
_LOOK_AT = re.compile(r"level at (?P<at>\d{1,3}) minutes")
_LOOK_NUMBER = re.compile(r"(?P<column>minutes|level) of look (?P<look>\d{1,2})")
_WASHED = re.compile(r"(?P<column>level|tone_left|L|a|b) after (?:(?P<at>\d{1,3}) )?washes" + _ZONE)
_IN_UNIT = re.compile(r"(?P<column>\w+) in (?P<unit>\w+)")
UNITS = {"peroxide_pct": ("volume", "percent")}
"""Columns whose bare numbers may stand in another unit than the log's own."""


@dataclass(frozen=True)
class Meaning:
    """What the cells below a heading are.

    Attributes
    ----------
    table : {"visits", "checks", "washes"}
    column : str
        Canonical name.
    unit : str
        Of bare numbers, where it's said: "volume", or "percent" where a map says so.
    at : float or None
        Minutes of the look, or washes before the reading, that the heading itself states.
    look : int or None
        Which look of the visit, where its minutes stand under a heading of their own.
    zone : str
        Where it was read, where the heading says so.
    """

    table: str
    column: str
    unit: str = ""
    at: float | None = None
    look: int | None = None
    zone: str = ""

    def __str__(self) -> str:
        """As a map file has it; `meaning_of_words` reads it again."""
        if self.table == "checks" and self.look is not None:
            return f"{self.column} of look {self.look}"
        if self.table == "checks" and self.at is not None:
            return f"{self.column} at {self.at:g} minutes"
        if self.table == "washes" and self.is_reading:
            number = "" if self.at is None else f"{self.at:g} "
            return f"{self.column} after {number}washes" + (f" at {self.zone}" if self.zone else "")
        return f"{self.column} in {self.unit}" if self.unit else self.column

    @property
    def is_reading(self) -> bool:
        """Whether it is one of the readings after washes: level, tone_left, L, a or b."""
        return self.column in ("level", "tone_left", "L", "a", "b")


def meaning_of_words(table: str, words: str) -> Meaning | None:
    """The meaning that a map file states.

    Parameters
    ----------
    table : {"visits", "checks", "washes"}
        The table that the heading stands in; only `visits` may hold looks and wash readings.
    words : str
        For example "start_level", "peroxide_pct in volume", "level at 20 minutes", "minutes of look 1",
        "level after 10 washes at roots".

    Returns
    -------
    Meaning or None
        None where the words say nothing that such a table may hold.
    """
    if any(words == column.name for column in columns(table)):
        return Meaning(table, words)
    if found := _IN_UNIT.fullmatch(words):
        known = any(found["column"] == column.name for column in columns(table))
        sound = known and found["unit"] in UNITS.get(found["column"], ())
        return Meaning(table, found["column"], found["unit"]) if sound else None
    if table != "visits":
        return None
    if words in ("washes", "shampoo"):
        return Meaning("washes", words)
    if found := _LOOK_AT.fullmatch(words):
        return Meaning("checks", "level", at=float(found["at"]))
    if found := _LOOK_NUMBER.fullmatch(words):
        return Meaning("checks", found["column"], look=int(found["look"]))
    if found := _WASHED.fullmatch(words):
        number = None if found["at"] is None else float(found["at"])
        return Meaning("washes", found["column"], at=number, zone=found["zone"] or "")
    return None


# Normalised headings of a sheet of visits (words joined by `_`) that say when hair was read.
_AFTER = r"(?:at|after|by)"
_MINUTES = r"(?:min|mins|minute|minutes|m)"
_LEVEL = r"(?:level|lvl)"
_LOOK = r"(?:look|check)"
_SAYS_MINUTES = re.compile(rf"(?:{_LOOK}_)?(?:{_LEVEL}_)?(?:{_AFTER}_)?(\d{{1,3}})_?{_MINUTES}(?:_{_LEVEL})?")
_NUMBER_OR_MINUTES = re.compile(rf"{_LOOK}_([1-9]|1[0-2])_{_MINUTES}")
_SAYS_LOOK = re.compile(
    rf"(?:(?:{_LOOK}_(\d{{1,2}})_(min|mins|minutes|time|level|lvl))"
    rf"|(?:(min|mins|minutes|time|level|lvl)_(?:{_AFTER}_|of_)?{_LOOK}_(\d{{1,2}})))"
)
_PLACES = {"root": "roots", "roots": "roots", "lengths": "lengths", "length": "lengths", "ends": "ends",
           "tips": "ends", "all": "all"}  # fmt: skip
_MEASURES = {"level": "level", "lvl": "level", "depth": "level", "tone": "tone_left",
             "tone_left": "tone_left", "tone_left_pct": "tone_left", "tone_pct": "tone_left",
             "l": "L", "a": "a", "b": "b"}  # fmt: skip
_SAYS_WASHES = re.compile(
    rf"(?:(?P<place>{'|'.join(_PLACES)})_)?(?:(?P<measure>{'|'.join(_MEASURES)})_)?"
    rf"(?:(?P<later>{'|'.join(_PLACES)})_)?(?:{_AFTER}_)?(?P<at>\d{{1,3}})_?(?:wash|washes|shampoos|w)"
    rf"(?:_(?P<pct>pct))?"
)
_SAYS_WASHED = re.compile(rf"(?:{_LEVEL}_{_AFTER}_wash(?:es)?|wash_{_LEVEL})")


def spoken_in(key: str) -> tuple[Meaning, ...]:
    """What a heading of a sheet of visits says of looks or of readings after washes.

    Parameters
    ----------
    key : str
        The normalised heading, as `20_min` or `after_10_washes`.

    Returns
    -------
    tuple of Meaning
        None: nothing. Two: a reading after washes that may be the level or the share of tone left, which the
        cells have to tell; or "look 5 min", the minutes of the fifth look or the level after five minutes,
        which the other headings have to tell.
    """
    if found := _NUMBER_OR_MINUTES.fullmatch(key):
        either = int(found[1])
        return (Meaning("checks", "minutes", look=either), Meaning("checks", "level", at=float(either)))
    if (found := _SAYS_MINUTES.fullmatch(key)) and 1 <= int(found[1]) <= 180:
        return (Meaning("checks", "level", at=float(found[1])),)
    if found := _SAYS_LOOK.fullmatch(key):
        word, number = found[2] or found[3], found[1] or found[4]
        column = "level" if word in ("level", "lvl") else "minutes"
        return (Meaning("checks", column, look=int(number)),)
    if _SAYS_WASHED.fullmatch(key):
        return (Meaning("washes", "level"),)
    if (found := _SAYS_WASHES.fullmatch(key)) and int(found["at"]) <= 200:
        zone = _PLACES.get(found["place"] or found["later"] or "", "")
        if found["measure"] or found["pct"]:
            measures: tuple[str, ...] = (_MEASURES[found["measure"]] if found["measure"] else "tone_left",)
        else:
            measures = ("level", "tone_left")
        return tuple(Meaning("washes", name, at=float(found["at"]), zone=zone) for name in measures)
    return ()
