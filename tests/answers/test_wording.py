import re

import pytest

from outcomes.answers.wording import chance, outside_sentence, percent, sessions_sentence, span


@pytest.mark.parametrize(
    ("p", "said"),
    [
        (0.0, "fewer than 1 in 100"),
        (0.01, "about 1 in 100"),
        (0.02, "about 1 in 50"),
        (0.05, "about 1 in 20"),
        (0.1, "about 1 in 10"),
        (0.15, "about 1 in 7"),
        (0.2, "about 2 in 10"),
        (0.71, "about 7 in 10"),
        (0.92, "about 9 in 10"),
        (0.95, "about 19 in 20"),
        (0.98, "about 49 in 50"),
        (0.99, "about 99 in 100"),
        (1.0, "more than 99 in 100"),
    ],
)
def test_chances_as_people_say_them(p, said):
    assert chance(p) == said


@pytest.mark.parametrize("cents", range(101))
def test_a_said_chance_is_near_the_chance(cents):
    part, whole = map(int, re.findall(r"\d+", chance(cents / 100)))
    assert abs(part / whole - cents / 100) <= 0.051


@pytest.mark.parametrize(
    ("p", "said"), [(0.0, "0 %"), (0.001, "<1 %"), (0.149, "15 %"), (0.999, ">99 %"), (1.0, "100 %")]
)
def test_percent(p, said):
    assert percent(p) == said


@pytest.mark.parametrize(
    ("low", "high", "said"),
    [(1, 3, "1 to 3"), (2, 3, "2 or 3"), (2, 2, "2"), (4, None, "4 or more"), (None, None, "more than 6")],
)
def test_bands(low, high, said):
    assert span(low, high, 6) == said


def test_sentences():
    said = sessions_sentence((0.2, 0.6, 0.15, 0.03, 0.02, 0.0, 0.0), 2, 1, 3, is_edge=False)
    assert (
        said
        == "2 sessions, most likely; about 19 in 20 clients like this need 1 to 3. Done today: about 2 in 10."
    )
    said = sessions_sentence((0.97, 0.03, 0.0), 1, 1, 1, is_edge=True)
    assert said == (
        "1 session, most likely; about 49 in 50 clients like this need just that. "
        "Done today: about 49 in 50. Few logged visits are like this, so take it with care."
    )
    said = sessions_sentence((0.0, 0.1, 0.2, 0.7), None, 3, None, is_edge=False)
    assert said.startswith(
        "More than 3 sessions, most likely; about 3 in 10 clients like this are done within 3."
    )


def test_a_band_that_leaves_nothing_out_is_not_said_to_hold():
    said = sessions_sentence((0.3, 0.3, 0.1, 0.3), 2, 1, None, is_edge=False)
    assert said.startswith(
        "2 sessions, most likely; but anything from 1 to more than 3 sessions may be needed. Done today"
    )


def test_a_median_that_is_not_the_likeliest_is_called_a_middle():
    assert sessions_sentence((0.4, 0.25, 0.35, 0.0), 2, 1, 3, is_edge=False).startswith(
        "2 sessions, as a middle;"
    )


def test_outside_has_no_number():
    assert "outside" in outside_sentence()
    assert not re.search(r"\d", outside_sentence())
