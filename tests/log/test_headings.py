"""Headings of real logs, and why each is taken or left."""

from __future__ import annotations

import pytest

from outcomes.errors import InputError
from outcomes.log.headings import find_header, match_headings, normalise

CHECKS = ("visit", "minutes", "level")


@pytest.mark.parametrize(
    ("heading", "key"),
    [("Start Level", "start_level"), ("  start-level ", "start_level"), ("Peroxide %", "peroxide_pct"),
     ("Processing (min)", "processing_min"), ("\ufeffvisit", "visit"), ("L*", "l")],
)  # fmt: skip
def test_normalise(heading, key):
    assert normalise(heading) == key


def test_any_case_and_synonyms_each_with_a_reason():
    mapped = match_headings("checks", "f", ["Visit No", "MINUTES", "Lvl", "remark"])
    assert [(m.column, m.reason) for m in mapped.matches] == [
        ("visit", "synonym"), ("minutes", "canonical"), ("level", "synonym"), (None, "unknown"),
    ]  # fmt: skip
    assert mapped.notes == ('f: column "remark" isn\'t part of a visit log and was kept out',)


def test_heading_that_states_volume():
    headings = [c if c != "peroxide_pct" else "Dev vol" for c in _visit_headings()]
    match = match_headings("visits", "f", headings).of("peroxide_pct")
    assert match is not None
    assert (match.heading, match.unit) == ("Dev vol", "volume")


def _visit_headings() -> list[str]:
    return ["visit", "client", "stylist", "date", "hair", "start_level", "goal_level", "peroxide_pct", "heat",
            "minutes", "achieved_level", "stop"]  # fmt: skip


def test_canonical_heading_wins_over_a_synonym():
    mapped = match_headings("checks", "f", [*CHECKS, "lvl"])
    assert mapped.of("level").position == 2
    assert mapped.matches[3].reason == "ambiguous"
    assert "competes" in mapped.notes[0]


def test_two_equal_headings_for_a_needed_column_are_refused_by_name():
    with pytest.raises(InputError, match=r'level \(both "lvl" and "level read" could be it\)'):
        match_headings("checks", "f", ["visit", "minutes", "lvl", "level read"])


def test_declared_headings_go_first():
    mapped = match_headings("checks", "f", [*CHECKS, "Haarton"], declared={"haarton": "level"})
    assert mapped.of("level").heading == "Haarton"
    assert mapped.of("level").reason == "declared"


def test_missing_needed_columns_are_all_named():
    with pytest.raises(InputError, match="no column for minutes, level; checks need them"):
        match_headings("checks", "f", ["visit", "zone"])


def test_title_above_the_headings():
    assert find_header("checks", [["Our salon"], [], list(CHECKS), ["V1", "10", "5"]], "f") == 2


def test_no_headings_at_all():
    with pytest.raises(InputError, match="no row of headings"):
        find_header("checks", [["V1", "10", "5"]], "f")
