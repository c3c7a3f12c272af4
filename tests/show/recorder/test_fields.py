"""What the recorder asks is the log's schema, all of it and nothing besides."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from outcomes.answers.wording import CAUTIONS
from outcomes.log.schema import PEROXIDE_LIMIT, TABLES, columns
from outcomes.show.offline.one_file import joined_script
from outcomes.show.recorder.fields import FORMS, MADE, recorder_data

BOOK = Path(__file__).parents[1] / "scripts" / "recorder_book.json"


def asked(*forms):
    return [name for form in forms for part in FORMS[form].values() for name in part]


def test_every_column_is_asked_for_once_or_made_by_the_page():
    of_visits = [*asked("visit", "plan", "result", "finish"), *MADE]
    assert sorted(of_visits) == sorted(column.name for column in columns("visits"))
    assert sorted(asked("wash")) == sorted(column.name for column in columns("washes"))


def test_needed_columns_are_never_folded_away():
    folded = {name for form in FORMS.values() for name in form["more"]}
    needed = {column.name for table in TABLES for column in columns(table) if column.needed}
    # the day is written by itself
    assert folded & needed == {"date"}


@pytest.mark.parametrize("table", TABLES)
def test_ranges_and_words_are_those_of_the_schema(table):
    for field, column in zip(recorder_data()["fields"][table], columns(table), strict=True):
        assert (field["name"], field["low"], field["high"], field["step"]) == (
            *(column.name, column.low, column.high, column.step),
        )
        assert field["choices"] == list(column.choices)
        assert field["needed"] or not column.needed


def test_usual_strengths_end_at_the_limit():
    assert recorder_data()["strengths"] == [3, 6, 9, 12]
    assert max(recorder_data()["strengths"]) == PEROXIDE_LIMIT


def test_cautions_are_those_of_every_plan():
    assert recorder_data()["cautions"] == list(CAUTIONS)


def test_the_scripts_have_no_words_of_their_own():
    """A drop-down's words stand in the data alone; single ones may be named where a rule is about them."""
    script = joined_script("recorder/main.js")
    for table in TABLES:
        for column in columns(table):
            if len(column.words) > 2:
                named = [word for word in column.words if f'"{word}"' in script or f"'{word}'" in script]
                assert len(named) <= 1, (column.name, named)


def test_the_scripts_are_tested_on_the_same_data():
    """Written anew by `json.dumps(recorder_data(), ensure_ascii=False, indent=1)` and a line feed."""
    told = json.loads(json.dumps(recorder_data()))
    assert json.loads(BOOK.read_text(encoding="utf-8")) == told
