"""Strand condition over a course: bands, floors, what is refused, and the truth of invented salons."""

from dataclasses import replace
from statistics import NormalDist

import numpy as np
import pytest

import outcomes
from outcomes.answers.condition import course_condition
from outcomes.answers.sessions import sessions
from outcomes.demo.truth import Plan, true_session_chances
from outcomes.demo.worlds import world
from outcomes.errors import InputError

PLAN = (3, 9.5, "natural", 6, "low", 45)


@pytest.fixture(scope="module")
def answer(costed):
    found = sessions(costed, *PLAN, limit=3)
    return replace(found, sessions=(0.2, 0.5, 0.25, 0.05))


@pytest.fixture(scope="module")
def found(costed, answer):
    return course_condition(costed, answer, 4, 3)


def test_bands_hold_as_much_as_they_must(found):
    for band in (*found.sessions, found.end):
        assert 1 <= band.low <= band.median <= band.high <= 4
        assert band.holds >= 0.8
    assert len(found.sessions) == 3


def test_one_session_by_hand(found):
    """A loss of 0.35 with an sd of 0.4: more than 1.5 points is beyond z = 2.875, with chance 0.0020201."""
    first = found.sessions[0]
    assert first.below == pytest.approx(1 - NormalDist(0.35, 0.4).cdf(1.5), abs=1e-6)
    assert first.holds == pytest.approx(1 - 0.0020201, abs=1e-6)
    assert (first.median, first.low, first.high) == (4, 3, 4)


def test_hair_wears_with_every_session(found):
    below = [band.below for band in found.sessions]
    assert below == sorted(below)
    assert found.stops_first < below[-1]


def test_a_higher_floor_is_crossed_sooner_and_strong_hair_later(costed, answer):
    by_floor = [course_condition(costed, answer, 4, floor).stops_first for floor in (2, 3, 4)]
    assert 0.0 < by_floor[0] < by_floor[1] < by_floor[2]
    by_condition = [course_condition(costed, answer, before, 3).stops_first for before in (3, 4, 5)]
    assert by_condition == sorted(by_condition, reverse=True)


def test_json(costed, answer, found):
    told = found.to_dict()
    assert {"median", "low", "high", "coverage", "entered", "rests_on"} <= set(told)
    assert told["entered"] == ["condition", "floor"]
    assert [one["session"] for one in told["sessions"]] == [1, 2, 3]
    assert told["rests_on"] == "120 visits with strand condition before and after, 35 pauses between sessions"
    assert told["notes"][1].startswith("lift and strand condition are independent")
    assert (
        told["notes"][0] == "the chances of sessions leave the floor out, as if condition stopped no course"
    )
    assert told["stops_within_sessions"] == 3
    assert course_condition(costed, answer, "4").to_dict()["entered"] == ["condition"]
    assert course_condition(costed, answer, "4").floor == 2


def test_outside_the_log_there_is_a_wide_band_alone(costed, answer):
    outside = replace(answer, support="outside", median=None, band_coverage=0.95)
    told = course_condition(costed, outside, 4, 3).to_dict()
    assert (told["median"], told["stops_first"], told["below"], told["coverage"]) == (None, None, None, 0.95)
    assert (told["low"], told["high"]) == (1, 5)
    assert all(one["median"] is None and one["below"] is None for one in told["sessions"])


def test_pauses_that_nobody_logged_are_said(costed, answer):
    losses = replace(costed.condition_losses, pauses=0)
    told = course_condition(replace(costed, condition_losses=losses), answer, 4)
    assert told.notes[-1] == "hair stays as it is between sessions, of which the log doesn't tell"
    assert told.rests_on == "120 visits with strand condition before and after"


def test_a_course_that_was_begun_goes_on_as_a_later_session(costed):
    """Later sessions take off 0.35 + 0.5 points: with an sd of 0.4 more than 1.5 with chance 0.0521."""
    harder = np.where(np.arange(8) == 6, 0.5, costed.condition_losses.coefficients)
    model = replace(costed, condition_losses=replace(costed.condition_losses, coefficients=harder))
    past = ["start=3,achieved=6.5,minutes=45,peroxide=6,heat=low,stop=time"]
    begun = course_condition(model, sessions(model, 6.5, *PLAN[1:], past=past, limit=3), 4, 3)
    assert begun.sessions[0].below == pytest.approx(1 - NormalDist(0.85, 0.4).cdf(1.5), abs=1e-6)
    fresh = course_condition(model, sessions(model, *PLAN, limit=3), 4, 3)
    assert fresh.sessions[0].below == pytest.approx(1 - NormalDist(0.35, 0.4).cdf(1.5), abs=1e-6)


@pytest.mark.parametrize(
    ("condition", "floor", "said"),
    [
        (6, None, "condition: found 6; expected 2 to 5"),
        (3.5, None, "condition: found 3.5; expected a whole number"),
        ("good", None, "condition: found 'good'"),
        (3, 0, "floor: found 0; expected 2 to 5"),
        (3, 1, "floor: found 1; expected 2 to 5"),
        (2, 3, "floor: found 3, and condition 2 is below it already"),
        (1, None, "condition: found 1, breaking; expected 2 to 5: no sessions are forecast"),
        (1, 1, "condition: found 1, breaking"),
    ],
)
def test_what_cannot_be_used(costed, answer, condition, floor, said):
    with pytest.raises(InputError, match=said):
        course_condition(costed, answer, condition, floor)


def test_a_model_that_was_not_told_of_condition(predictive, answer):
    with pytest.raises(InputError, match="doesn't know what sessions take off it; expected one of 40 visits"):
        course_condition(predictive, answer, 4)


def test_the_truth_of_invented_salons(team):
    """A log of 900 visits; three plans, condition 3 and 4 at the floor. Measured: 0.024, 0.065 at most."""
    errors = []
    for plan in (
        (3.0, 9.0, "natural", 6.0, "none", 45.0),
        (4.5, 9.5, "coloured", 6.0, "low", 35.0),
        (4.0, 8.0, "natural", 9.0, "low", 30.0),
    ):
        found = sessions(team.model, *plan)
        assert found.support != "outside"
        for before in (3, 4):
            truth = true_session_chances(
                world("plain"), team.truth, Plan(*plan), n_courses=20_000, condition=float(before)
            )
            stated = course_condition(team.model, found, before, before).stops_first
            errors.append(stated - truth.stops_first(before))
    assert np.mean(np.abs(errors)) < 0.05
    assert np.max(np.abs(errors)) < 0.12


def test_they_are_public_names(costed, answer, found):
    assert outcomes.course_condition(costed, answer, 4, 3) == found
    assert outcomes.course_costs(costed, answer, price=95).to_dict()["cost"]["median"] == 190.0


def test_an_open_end_is_as_low_as_any_session_leaves_it(costed, answer):
    opened = replace(answer, support="outside", median=None, band_high=None, band_coverage=0.95)
    found = course_condition(costed, opened, 4)
    assert found.end.low == min(band.low for band in found.sessions) == 1
    closed = course_condition(costed, replace(opened, band_high=3), 4)
    assert closed.end.low >= found.end.low
