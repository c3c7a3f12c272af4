"""Earlier sessions as they are told: every rule on a case that a person can check."""

from __future__ import annotations

import numpy as np
import pytest

from outcomes.answers.earlier import of_the_course, read_past, told_past
from outcomes.answers.question import ask
from outcomes.answers.sessions import sessions
from outcomes.errors import InputError

ONE = "start=3,achieved=6.5,minutes=45,peroxide=6,heat=low,stop=time"


@pytest.fixture
def question(predictive):
    return ask(predictive, 6.5, 9.5, "natural", 6, "low", 45)


def test_a_session_is_an_interval_of_levels_gained(predictive, question):
    past = read_past(predictive, question, [ONE])
    (visit,) = past.visits
    assert (visit.lower.tolist(), visit.upper.tolist(), visit.minutes.tolist()) == ([3.25], [3.75], [45.0])
    assert (visit.hair, visit.goal, visit.is_later, visit.ways) == ("natural", 9.5, False, ())
    assert (past.continues, past.is_copied, past.of_course) == (True, True, 1)


def test_nothing_told_is_a_new_client(predictive, question):
    assert read_past(predictive, question, []) is None


@pytest.mark.parametrize(
    ("told", "continues", "copied"),
    [
        (ONE, True, True),
        (ONE.replace("achieved=6.5", "achieved=6"), True, False),
        (ONE.replace("achieved=6.5", "achieved=4.5"), False, False),  # 2 levels from today's start
        (f"{ONE},goal=8", False, True),  # goals 1.5 apart: another course on the same hair
    ],
)
def test_whether_the_course_goes_on(predictive, question, told, continues, copied):
    past = read_past(predictive, question, [told])
    assert (past.continues, past.is_copied) == (continues, copied)


def test_a_chain_of_sessions(predictive, question):
    second = "start=6.5,achieved=8,minutes=30,peroxide=20 vol,heat=none,stop=condition"
    question = ask(predictive, 8, 9.5, "natural", 6, "low", 45)
    past = read_past(predictive, question, [ONE, second])
    first, later = past.visits
    assert (first.hair, later.hair) == ("natural", None)
    assert (later.is_later, later.is_copied, later.peroxide, past.of_course) == (True, True, 6.0, 2)


def test_a_rinse_at_the_goal_was_looked_at_before(predictive, question):
    told = "start=3,achieved=6.5,minutes=10,peroxide=6,heat=low,stop=target,goal=6.5,stylist=S1"
    (visit,) = read_past(predictive, question, [told]).visits
    # S1 looks every 5 minutes four times in five, every 8 once; nobody reads anew
    assert [(way.chance, way.minutes.tolist()) for way in visit.ways] == [(0.8, [5.0]), (0.2, [2.0])]
    assert (visit.not_yet, visit.stopped_above) == (3.25, 3.25)


def test_a_look_before_the_beginning_was_none(predictive, question):
    told = "start=3,achieved=6.5,minutes=8,peroxide=6,heat=low,stop=target,goal=6.5,stylist=S3"
    (visit,) = read_past(predictive, question, [told]).visits
    assert [(way.chance, way.minutes.tolist()) for way in visit.ways] == [(0.2, []), (0.8, [])]


def test_open_ends_of_the_scale(predictive, question):
    at_top = {"start": 6, "achieved": 10, "minutes": 40, "peroxide": 6, "heat": "low", "stop": "time"}
    unmoved = {**at_top, "achieved": 6}
    first, second = told_past(predictive, question, [at_top, unmoved]).visits
    assert (first.lower[0], first.upper[0]) == (3.75, np.inf)
    assert (second.lower[0], second.upper[0]) == (-np.inf, 0.25)


@pytest.mark.parametrize(
    ("told", "wrong"),
    [
        ("start=3", "past session 1: achieved, minutes, peroxide, heat, stop: not given"),
        (f"{ONE},colour=red", "found 'colour=red'; expected each of start"),
        (f"{ONE},start=4", "found 'start=4'"),
        (ONE.replace("peroxide=6", "peroxide=13"), "expected at most 12 %"),
        (ONE.replace("start=3", "start=3.2"), "levels go in half steps"),
        (ONE.replace("achieved=6.5", "achieved=2"), "darker than the start"),
        (ONE.replace("stop=time", "stop=lunch"), "expected one of target, time, condition, other"),
        (ONE.replace("minutes=45", "minutes=0"), "expected 1 to 180"),
        (f"{ONE},goal=3", "at or below the start"),
        (f"{ONE},stylist=S9", "stylist: found 'S9'"),
    ],
)
def test_what_can_not_be_used_is_named(predictive, question, told, wrong):
    with pytest.raises(InputError, match=wrong):
        read_past(predictive, question, [told])


def test_thirteen_sessions_are_too_many(predictive, question):
    with pytest.raises(InputError, match="found 13 sessions; expected 12 at most"):
        read_past(predictive, question, [ONE] * 13)


def test_a_goal_that_was_reached_far_below_todays_was_another(predictive, question):
    """A level or more below; nearer to it the result may be a reading of today's goal."""
    told = "start=3,achieved={},minutes=20,peroxide=6,heat=low,stop={}"
    for level, stop, goal in (
        (8.5, "target", 8.5),
        (9, "target", 9.5),
        (6.5, "time", 9.5),
        (3, "target", 9.5),
    ):
        (visit,) = read_past(predictive, question, [told.format(level, stop)]).visits
        assert visit.goal == goal
    (visit,) = read_past(predictive, question, [told.format(6.5, "target") + ",goal=9"]).visits
    assert visit.goal == 9.0


def test_a_single_text_is_one_session(predictive, question):
    assert read_past(predictive, question, ONE).visits[0].achieved == 6.5
    assert read_past(predictive, question, None) is None


def test_a_text_that_can_not_be_read_is_named_by_its_place(predictive, question):
    with pytest.raises(InputError, match="past session 2: found 'level=4'; expected each of start"):
        read_past(predictive, question, [ONE, "level=4"])


def test_hair_before_a_course_is_what_was_told_of_its_first_session(predictive, question):
    past = read_past(predictive, question, [f"{ONE},hair=coloured"])
    assert of_the_course(question, past).hair == "coloured"
    assert of_the_course(question, read_past(predictive, question, [ONE])).hair == "natural"
    other = read_past(predictive, question, [f"{ONE},hair=coloured,goal=7"])
    assert of_the_course(question, other).hair == "natural"  # a new course: today's
    assert of_the_course(question, None) is question


@pytest.mark.parametrize(
    ("changed", "note"),
    [
        (
            "peroxide=1.5",
            "earlier session 1: developer of 1.5 % was never logged (the log goes from 3 to 12)",
        ),
        (
            "minutes=170",
            "earlier session 1: a time of 170 minutes was never logged (the log goes from 8 to 75)",
        ),
    ],
)
def test_what_the_log_does_not_cover_of_earlier_sessions_is_said(predictive, changed, note):
    name = changed.split("=")[0]
    told = ",".join(part for part in ONE.split(",") if not part.startswith(name)) + f",{changed}"
    plan = (6.5, 9, "natural", 6, "low", 40)
    covered, found = sessions(predictive, *plan, past=[ONE]), sessions(predictive, *plan, past=[told])
    assert (covered.support, covered.support_notes) == ("inside", ())
    assert found.support == "edge"
    assert note in found.support_notes
