"""Chair time, price and calendar: by hand, what they rest on, and no middle outside the log."""

from dataclasses import replace

import numpy as np
import pytest

from outcomes.answers.costs import course_costs
from outcomes.answers.sessions import sessions
from outcomes.demo.finish import chair_minutes
from outcomes.demo.truth import Plan, true_session_chances
from outcomes.demo.worlds import world
from outcomes.errors import InputError
from outcomes.predictive.tally import Tally
from outcomes.predictive.visit_times import VisitTimes

PLAN = (3, 9.5, "natural", 6, "low", 45)


@pytest.fixture(scope="module")
def answer(costed):
    found = sessions(costed, *PLAN, limit=3)
    return replace(found, sessions=(0.2, 0.5, 0.25, 0.05), median=2, band_low=1, band_high=3)


def ends(total):
    return total["low"], total["median"], total["high"]


def test_entered_minutes_are_multiplied_by_the_sessions(costed, answer):
    found = course_costs(costed, answer, minutes_per_visit=47).to_dict()["chair_time"]
    assert ends(found) == (47.0, 94.0, 141.0)
    assert found["entered"] == ["minutes_per_visit"]
    assert found["rests_on"] == "your 47 minutes a visit"
    assert (found["unit"], found["coverage"]) == ("minutes", 0.8)


def test_the_log_s_visits_add_up(costed, answer):
    """By hand, 45 minutes of processing a session on top: 165 or 225 (0.1 each), 310 or 370 (0.25), 455 or
    515 (0.125), 0.05 beyond.
    """
    found = course_costs(costed, answer).to_dict()["chair_time"]
    assert ends(found) == (165.0, 370.0, 515.0)
    assert found["entered"] == []
    assert found["rests_on"] == (
        "80 first and 40 later visits with chair minutes in the log, and 45 minutes of processing a "
        "session (the last may end earlier)"
    )


def test_the_last_session_ends_as_those_that_read_the_goal(costed, answer):
    """By hand: the last takes 20 or 45 minutes more, each in half; 140, 165, 200, 225 (0.05 each), then 285,
    310, 345, 370 (0.125), then 430, 455, 490, 515 (0.0625), 0.8875 of all at 490.
    """
    ends_at = np.zeros(13)
    ends_at[[4, 12]] = 0.5  # 20 and 60, which is longer than the plan
    times = replace(costed.visit_times, last=Tally(5.0, ends_at, 60))
    found = course_costs(replace(costed, visit_times=times), answer).to_dict()["chair_time"]
    assert ends(found) == (165.0, 345.0, 515.0)
    assert found["rests_on"].endswith(
        "and 45 minutes of processing a session (fewer in the last, as in 60 visits that read the goal)"
    )


@pytest.mark.parametrize(
    ("minutes", "wanted"),
    [(15.0, (135.0, 310.0, 425.0)), (58.0, (180.0, 400.0, 555.0)), (1.0, (120.0, 280.0, 380.0))],
)
def test_longer_processing_takes_longer(costed, answer, minutes, wanted):
    """By hand, to the nearest 5 minutes before the last and in it: 58 takes 60, 60 + 60, 115 + 60; 1 none."""
    asked = replace(answer, question=replace(answer.question, minutes=minutes))
    found = course_costs(costed, asked).to_dict()["chair_time"]
    assert ends(found) == wanted
    assert f"{minutes:g} minute{'' if minutes == 1 else 's'} of processing" in found["rests_on"]


def test_entered_minutes_are_the_whole_time_whatever_the_processing(costed, answer):
    asked = replace(answer, question=replace(answer.question, minutes=15.0))
    found = course_costs(costed, asked, minutes_per_visit=47).to_dict()["chair_time"]
    assert ends(found) == (47.0, 94.0, 141.0)


def test_a_visit_is_not_shorter_than_its_processing(costed, answer):
    with pytest.raises(
        InputError, match="minutes_per_visit: found 44, fewer than the 45 minutes of processing"
    ):
        course_costs(costed, answer, minutes_per_visit=44)
    assert course_costs(costed, answer, minutes_per_visit=45).totals


def test_a_course_that_was_begun_goes_on_with_a_later_visit(costed):
    past = ["start=3,achieved=6.5,minutes=45,peroxide=6,heat=low,stop=time"]
    begun = sessions(costed, 6.5, *PLAN[1:], past=past, limit=3)
    found = course_costs(costed, begun).to_dict()["chair_time"]
    assert ends(found) == (145.0, 145.0 * begun.median, 145.0 * begun.band_high)


def test_price_of_a_visit(costed, answer):
    found = course_costs(costed, answer, price="92,5").to_dict()["cost"]
    assert ends(found) == (92.5, 185.0, 277.5)
    assert found["entered"] == ["price"]
    assert found["unit"] == "currency of the price"


def test_price_of_hours_goes_with_chair_time(costed, answer):
    both = course_costs(costed, answer, price=60, hours=2).to_dict()
    assert ends(both["cost"]) == tuple(round(minutes / 2, 2) for minutes in ends(both["chair_time"]))
    entered = course_costs(costed, answer, price=60, hours=2, minutes_per_visit=90).to_dict()["cost"]
    assert ends(entered) == (45.0, 90.0, 135.0)
    assert entered["entered"] == ["price", "hours", "minutes_per_visit"]
    assert entered["rests_on"] == "your price of 60 for 2 hours in the chair and your 90 minutes a visit"


def test_weeks_lie_between_sessions(costed, answer):
    """One session takes none (0.2); two take 6 or 8 (0.375, 0.125); three 12, 14 or 16."""
    found = course_costs(costed, answer).to_dict()["calendar"]
    assert ends(found) == (0.0, 6.0, 14.0)
    assert found["rests_on"] == "30 pauses between sessions in the log"
    entered = course_costs(costed, answer, weeks_between=5).to_dict()["calendar"]
    assert ends(entered) == (0.0, 5.0, 10.0)
    assert entered["entered"] == ["weeks_between"]


def test_beyond_the_sessions_followed_the_end_is_open(costed, answer):
    slow = replace(answer, sessions=(0.05, 0.1, 0.3, 0.55), median=None, band_high=None)
    found = course_costs(costed, slow, price=95).to_dict()
    for name in ("chair_time", "cost", "calendar"):
        assert found[name]["median"] is None
        assert found[name]["high"] is None
        assert found[name]["low"] > 0


def test_outside_the_log_there_is_a_wide_band_alone(costed, answer):
    outside = replace(answer, support="outside", median=None, band_low=1, band_high=3, band_coverage=0.95)
    found = course_costs(costed, outside, price=95).to_dict()
    assert ends(found["chair_time"]) == (165.0, None, 515.0)
    assert ends(found["cost"]) == (95.0, None, 285.0)
    assert ends(found["calendar"]) == (0.0, None, 16.0)
    assert {total["coverage"] for total in found.values()} == {0.95}
    open_ended = course_costs(costed, replace(outside, band_high=None)).to_dict()
    assert ends(open_ended["chair_time"]) == (165.0, None, None)


def test_what_neither_log_nor_figure_tells_is_left_out(predictive, answer):
    assert course_costs(predictive, answer).to_dict() == {}
    assert list(course_costs(predictive, answer, price=95).to_dict()) == ["cost"]
    with pytest.raises(InputError, match="hours: found too few visits with chair_minutes"):
        course_costs(predictive, answer, price=95, hours=1)


def test_visits_told_together_say_so(costed, answer):
    both = Tally(5.0, np.eye(21)[20], 33)
    alike = replace(costed, visit_times=VisitTimes(both, both, together=True))
    found = course_costs(alike, answer).to_dict()
    assert found["chair_time"]["rests_on"].startswith("33 visits with chair minutes in the log, and")
    assert "calendar" not in found


def test_more_sessions_take_more(costed, answer):
    totals = []
    for done in (0.6, 0.4, 0.2):
        courses = (done, 1 - done - 0.1, 0.1, 0.0)
        found = course_costs(costed, replace(answer, sessions=courses), price=95).to_dict()
        totals.append([found[name]["median"] for name in ("chair_time", "cost", "calendar")])
    assert np.all(np.diff(totals, axis=0) >= 0)
    assert totals[0][1] == 95.0
    assert totals[2][1] == 190.0


def test_the_truth_of_an_invented_salon(team):
    """Plans of 15 and 35 minutes; at most 15 minutes off, and 30 at the long end.

    Processing on average over the log, which plans of 15 minutes got before, is some 20 minutes too long.
    """
    for minutes in (15.0, 35.0):
        plan = (4.0, 8.0, "natural", 6.0, "low", minutes)
        played = true_session_chances(world("plain"), team.truth, Plan(*plan), n_courses=20_000)
        rng = np.random.default_rng(3)
        taken = sum(np.nan_to_num(chair_minutes(of, rng)) for of in played.processed.T)
        taken[played.needed > 6] = np.inf
        low, median, high = np.quantile(taken, [0.1, 0.5, 0.9], method="inverted_cdf")
        found = course_costs(team.model, sessions(team.model, *plan)).to_dict()["chair_time"]
        assert abs(found["median"] - median) <= 15
        assert abs(found["low"] - low) <= 15
        assert abs(found["high"] - high) <= 30
