"""What headings of one sheet say of looks and washes, and the words of a map file."""

from __future__ import annotations

import pytest

from outcomes.log.meaning import Meaning, meaning_of_words, spoken_in
from outcomes.log.vocabulary import normalise


@pytest.mark.parametrize(
    ("heading", "words"),
    [
        ("20 min", "level at 20 minutes"),
        ("20'", None),
        ("Level at 30 minutes", "level at 30 minutes"),
        ("look 45 min", "level at 45 minutes"),
        ("after 20 min", "level at 20 minutes"),
        ("35min", "level at 35 minutes"),
        ("Look 1 min", "minutes of look 1|level at 1 minutes"),
        ("Look 20 min", "level at 20 minutes"),
        ("look 2 level", "level of look 2"),
        ("Time of look 3", "minutes of look 3"),
        ("level after 10 washes", "level after 10 washes"),
        ("Roots after 10 washes", "level after 10 washes at roots|tone_left after 10 washes at roots"),
        ("tone after 5 washes (%)", "tone_left after 5 washes"),
        ("L* after 12 washes", "L after 12 washes"),
        ("after 10 washes", "level after 10 washes|tone_left after 10 washes"),
        ("10 washes %", "tone_left after 10 washes"),
        ("ends level after 8 washes", "level after 8 washes at ends"),
        ("level after washes", "level after washes"),
        ("200 min", None),
        ("0 min", None),
        ("after 201 washes", None),
        ("20 vol", None),
        ("minutes", None),
        ("washes", None),
    ],
)
def test_headings_that_say_when_hair_was_read(heading, words):
    expected = [] if words is None else words.split("|")
    assert [str(meaning) for meaning in spoken_in(normalise(heading))] == expected


@pytest.mark.parametrize(
    "meaning",
    [
        Meaning("visits", "start_level"),
        Meaning("visits", "peroxide_pct", unit="volume"),
        Meaning("checks", "level", at=20.0),
        Meaning("checks", "minutes", look=2),
        Meaning("checks", "level", look=2),
        Meaning("washes", "level", at=10.0),
        Meaning("washes", "tone_left", at=10.0, zone="roots"),
        Meaning("washes", "L"),
        Meaning("washes", "washes"),
        Meaning("washes", "shampoo"),
    ],
)
def test_words_say_the_same_again(meaning):
    assert meaning_of_words("visits", str(meaning)) == meaning


@pytest.mark.parametrize(
    ("table", "words"),
    [
        ("visits", "Start level"),
        ("visits", "level"),
        ("visits", "start_level in volume"),
        ("visits", "peroxide_pct in litres"),
        ("visits", "level at 20"),
        ("checks", "level at 20 minutes"),
        ("checks", "start_level"),
        ("washes", "level after 10 washes"),
        ("visits", "level after 10 washes at fringe"),
    ],
)
def test_words_that_mean_nothing_there(table, words):
    assert meaning_of_words(table, words) is None
