"""What the recorder asks, in which order: every word and range of it comes from the log's own schema."""

from __future__ import annotations

from types import MappingProxyType
from typing import Any

from outcomes.answers.wording import CAUTIONS
from outcomes.log.ambiguous import CLOCK, SHORT
from outcomes.log.cells import ERROR_CELL, NO_CODE, NO_VALUE
from outcomes.log.schema import (
    EXAMPLE_VISIT,
    LEVEL_STEP,
    PERCENT_PER_VOLUME,
    PEROXIDE_LIMIT,
    TABLES,
    WEAK_VOLUME,
    Column,
    columns,
)

__all__ = ["FORMS", "MADE", "recorder_data"]

FORMS = MappingProxyType(
    {
        "visit": {
            "first": ("client", "stylist", "patch_test", "strand_test"),
            "more": ("date", "salon", "texture", "quoted_sessions", "course"),
        },
        "plan": {
            "first": ("zone", "hair", "start_level", "goal_level", "peroxide_pct", "heat", "planned_minutes",
                      "look_every"),
            "more": ("product", "mix_ratio", "wrap", "colour_history", "condition_before", "start_L"),
        },
        "result": {
            "first": ("stop", "achieved_level", "minutes"),
            "more": ("condition_after", "warmth", "evenness", "looks", "achieved_L"),
        },
        "finish": {
            "first": ("chair_minutes", "root_level", "root_tone", "toner_tone"),
            "more": ("toner_minutes", "toner_ratio", "course_end"),
        },
        "wash": {
            "first": ("visit", "zone", "washes", "tone_left", "level", "shampoo"),
            "more": ("L", "a", "b"),
        },
    }
)  # fmt: skip
"""Columns of visits (of washes in the last form) that are asked for together: at once, or behind one tap."""

MADE = ("visit", "applications")
"""Columns of visits that are never asked for: the page knows them."""

# a log can do without these; but alarms can't, no clock starts before both tests were asked for, and a zone
# that nobody named is none
_ASKED = ("zone", "planned_minutes", "look_every", "patch_test", "strand_test")
# what the log means by it is said of rows without looks; here it is the alarm's
_PLAIN = ("look_every",)
_LABELS = MappingProxyType(
    {
        "client": "client code",
        "stylist": "stylist code",
        "salon": "salon code",
        "course": "course code",
        "product": "lightener code",
        "peroxide_pct": "developer",
        "planned_minutes": "longest time",
        "look_every": "look every",
        "patch_test": "patch test done",
        "strand_test": "strand test done",
        "stop": "rinsed because",
        "achieved_level": "result level",
        "minutes": "minutes to the rinse",
        "looks": "looks before the one that ended it",
        "visit": "visit code",
        "start_L": "L* before",
        "achieved_L": "L* of the result",
    }
)
"""What a field is called where its column's name says too little."""

_SPOKEN = MappingProxyType(
    {
        "stop": {
            "target": "goal reached",
            "time": "time was up",
            "condition": "hair condition",
        },
    }
)
"""What words of a column are called where they say too little; a log keeps the words themselves."""


def recorder_data() -> dict[str, Any]:
    """What the page carries: fields by table, forms, words, usual strengths, what no code may be, cautions.

    Returns
    -------
    dict
        JSON values.
    """
    strongest = round(PEROXIDE_LIMIT / PERCENT_PER_VOLUME / WEAK_VOLUME)
    return {
        "fields": {table: [_field(column) for column in columns(table)] for table in TABLES},
        "forms": {name: {part: list(names) for part, names in form.items()} for name, form in FORMS.items()},
        "strengths": [round(step * WEAK_VOLUME * PERCENT_PER_VOLUME, 6) for step in range(1, strongest + 1)],
        "spoken": {name: dict(words) for name, words in _SPOKEN.items()},
        "percentPerVolume": PERCENT_PER_VOLUME,
        "levelStep": LEVEL_STEP,
        "noCodes": [*NO_CODE, NO_VALUE, EXAMPLE_VISIT],
        "errorCell": ERROR_CELL,
        "clockLike": {"pattern": CLOCK, "below": SHORT},
        "cautions": list(CAUTIONS),
    }


def _field(column: Column) -> dict[str, Any]:
    label = _LABELS.get(column.name, column.name.replace("_", " "))
    needed = column.needed or column.name in _ASKED
    says_it_all = column.name in _PLAIN or column.reader == "level" or column.meaning.startswith(label)
    return {
        "name": column.name,
        "label": label,
        "hint": "" if says_it_all or (needed and column.words) else column.meaning,
        "kind": column.kind,
        "reader": column.reader,
        "expected": column.expected,
        "unit": "" if column.unit == "level" else column.unit,
        "low": column.low,
        "high": column.high,
        "step": column.step,
        "choices": list(column.choices),
        "example": column.example,
        "needed": needed,
    }
