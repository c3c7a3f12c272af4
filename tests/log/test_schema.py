"""The declarative table: what it must hold for everything else to be right."""

from __future__ import annotations

import pytest

from outcomes.log.schema import REASONS, TABLES, column, columns
from outcomes.log.vocabulary import normalise

NEEDED = {
    "visits": {
        "visit", "client", "stylist", "date", "hair", "start_level", "goal_level", "peroxide_pct", "heat",
        "minutes", "achieved_level", "stop",
    },
    "checks": {"visit", "minutes", "level"},
    "washes": {"visit", "washes"},
}  # fmt: skip


@pytest.mark.parametrize("table", TABLES)
def test_needed_columns_are_those_of_the_visit_log(table):
    assert {c.name for c in columns(table) if c.needed} == NEEDED[table]


@pytest.mark.parametrize("table", TABLES)
def test_no_heading_names_two_columns(table):
    owners: dict[str, set[str]] = {}
    for c in columns(table):
        for heading in (c.name, *c.headings, *c.unit_headings):
            owners.setdefault(normalise(heading), set()).add(c.name)
    assert {heading: names for heading, names in owners.items() if len(names) > 1} == {}


@pytest.mark.parametrize("table", TABLES)
def test_spellings_mean_allowed_words(table):
    for c in columns(table):
        assert set(c.spellings.values()) <= set(c.words)
        assert not set(c.spellings) & set(c.words)


def test_levels_go_in_half_steps_from_1_to_10():
    choices = column("visits", "start_level").choices
    assert choices[:3] == (1.0, 1.5, 2.0)
    assert choices[-1] == 10.0
    assert len(choices) == 19


def test_expected_says_range_and_grid():
    assert column("visits", "peroxide_pct").expected == "1.5 to 12 %"
    assert column("visits", "goal_level").expected == "1 to 10 in steps of 0.5"
    assert column("visits", "applications").expected == "1 to 3, a whole number"
    assert column("visits", "toner_minutes").expected == "minutes, 0 or more"
    assert column("visits", "toner_ratio").expected == "a number, 0 or more"
    assert column("visits", "minutes").expected == "1 to 180 minutes"
    assert column("visits", "stop").expected == "one of target, time, condition, other"


def test_every_reason_says_what_to_do():
    assert {reason.kind for reason in REASONS.values()} == {"fault", "warning"}
    assert all(reason.advice and reason.meaning for reason in REASONS.values())
    assert "codes_collide" in REASONS
