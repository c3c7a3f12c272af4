"""Headings of real logs, and why each is taken or left."""

from __future__ import annotations

import pytest

from outcomes.errors import InputError
from outcomes.log.headings import match_headings, needed_lacking
from outcomes.log.meaning import Meaning
from outcomes.log.vocabulary import labels

CHECKS = ("visit", "minutes", "level")


def test_any_case_and_synonyms_each_with_a_reason():
    mapped = match_headings("checks", "f", ["Visit No", "MINUTES", "Lvl", "remark"])
    assert [(m.meaning and m.meaning.column, m.reason) for m in mapped.matches] == [
        ("visit", "synonym"), ("minutes", "canonical"), ("level", "synonym"), (None, "unknown"),
    ]  # fmt: skip
    assert mapped.notes == ('f: column "remark" isn\'t part of a visit log and was kept out',)


def test_heading_that_states_volume():
    headings = [c if c != "peroxide_pct" else "Dev vol" for c in _visit_headings()]
    match = match_headings("visits", "f", headings).of("peroxide_pct")
    assert match is not None
    assert (match.heading, match.meaning.unit) == ("Dev vol", "volume")


def _visit_headings() -> list[str]:
    return ["visit", "client", "stylist", "date", "hair", "start_level", "goal_level", "peroxide_pct", "heat",
            "minutes", "achieved_level", "stop"]  # fmt: skip


def test_canonical_heading_wins_over_a_synonym():
    mapped = match_headings("checks", "f", [*CHECKS, "lvl"])
    assert mapped.of("level").position == 2
    assert mapped.matches[3].reason == "rival"
    assert "competes" in mapped.notes[0]


def test_two_equal_headings_for_a_needed_column_are_refused_by_name():
    with pytest.raises(InputError, match=r'level \(both "lvl" and "level read" could be it\)'):
        needed_lacking(match_headings("checks", "f", ["visit", "minutes", "lvl", "level read"]))


def test_declared_headings_go_first():
    mapped = match_headings(
        "checks", "f", [*CHECKS, "Haarton"], declared={"haarton": Meaning("checks", "level")}
    )
    assert mapped.of("level").heading == "Haarton"
    assert mapped.of("level").reason == "declared"


def test_missing_needed_columns_are_all_named():
    with pytest.raises(InputError, match="no column for minutes, level; checks need them"):
        needed_lacking(match_headings("checks", "f", ["visit", "zone"]))


@pytest.mark.parametrize(
    ("heading", "column"),
    [("lvl start", "start_level"), ("Level, achieved", "achieved_level"), ("code of the client", "client"),
     ("Reason for the stop", "stop"), ("level before", "start_level")],
)  # fmt: skip
def test_words_in_another_order_are_the_same_heading(heading, column):
    (match,) = match_headings("visits", "f", [heading]).matches
    assert (match.meaning, match.reason) == (Meaning("visits", column), "synonym")


@pytest.mark.parametrize(
    ("heading", "candidates"),
    [
        ("Level", ["start_level", "goal_level", "heat", "achieved_level", "root_level"]),
        ("Client's name", ["client"]),
        ("roots after 10 washes", ["level after 10 washes at roots", "tone_left after 10 washes at roots"]),
    ],
)
def test_a_heading_that_may_be_several_is_kept_out_and_asked_about(heading, candidates):
    mapped = match_headings("visits", "f", [heading])
    (match,) = mapped.matches
    assert (match.meaning, match.reason) == (None, "ambiguous")
    assert [str(one) for one in match.candidates] == candidates
    assert candidates[0] in mapped.notes[0]
    assert "say in a map what it is" in mapped.notes[0]


def test_a_misspelt_heading_is_not_taken_for_granted():
    mapped = match_headings("visits", "f", ["Acheived level"])
    (match,) = mapped.matches
    assert (match.meaning, match.reason) == (None, "close")
    assert match.candidates == (Meaning("visits", "achieved_level"),)
    with pytest.raises(InputError, match=r'achieved_level \("Acheived level" may be it\)'):
        needed_lacking(mapped)


def test_headings_that_read_the_same_are_told_apart_by_a_number():
    assert labels(["Level", "level ", "Goal", "", ""]) == ("Level", "level  (2)", "Goal", "", "")
    declared = {"level": Meaning("visits", "start_level"), "level_2": Meaning("visits", "achieved_level")}
    mapped = match_headings("visits", "f", ["Level", "Level"], declared)
    assert [m.meaning.column for m in mapped.matches] == ["start_level", "achieved_level"]


def test_a_map_may_keep_a_column_out():
    mapped = match_headings("checks", "f", [*CHECKS, "read on"], declared={"read_on": None})
    assert mapped.of("read_on") is None
    assert mapped.notes == ()
