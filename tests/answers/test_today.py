"""One session look by look."""

from __future__ import annotations

import numpy as np
import pytest

from outcomes.answers.sessions import sessions
from outcomes.answers.today import today
from outcomes.answers.wording import CAUTIONS
from outcomes.errors import InputError
from outcomes.predictive.practice import LookGaps

PLAN = (3, 9, "natural", 6, "low", 40)


def test_looks_come_at_the_usual_interval_and_end_with_the_rinse(predictive):
    found = today(predictive, *PLAN)
    assert found.every == 8.0  # the middle of 5, 8 and 12 minutes
    assert [look.minutes for look in found.looks] == [8.0, 16.0, 24.0, 32.0, 40.0]
    assert [look.minutes for look in today(predictive, *PLAN, every=15).looks] == [15.0, 30.0, 40.0]
    reached = [look.reached for look in found.looks]
    assert reached == sorted(reached)
    # looks at fixed minutes instead of the stylists' own
    assert reached[-1] == pytest.approx(sessions(predictive, *PLAN).today, abs=0.03)


def test_where_nobody_looks(make_predictive):
    blind = make_predictive(look_gaps=LookGaps(np.zeros(0), np.zeros(0), np.zeros((3, 0))))
    assert today(blind, *PLAN).every == 10.0


def test_a_look_is_worth_taking_from_a_minute_on(predictive):
    found = today(predictive, *PLAN, every=1)
    worth = [look.minutes for look in found.looks[:-1] if look.is_worth]
    assert found.worth_from == worth[0]
    assert worth == [float(minute) for minute in range(int(worth[0]), 40)]
    assert f"from {found.worth_from} minutes on" in found.sentence


def test_a_goal_out_of_reach_is_not_worth_a_look(predictive):
    found = today(predictive, 2.5, 9.5, "natural", 3, "low", 12)
    assert found.worth_from is None
    assert "A look before the rinse would hardly find level 9.5" in found.sentence


def test_a_slow_client_is_looked_at_later(predictive):
    told = "start=3,achieved={},minutes=40,peroxide=6,heat=low,stop=time,goal=9"
    slow, fast = (
        today(predictive, 6, 9, "natural", 6, "low", 40, past=[told.format(level)]) for level in (5, 7.5)
    )
    assert slow.worth_from > fast.worth_from
    assert slow.looks[-1].reached < fast.looks[-1].reached
    assert "clients with such sessions behind them" in slow.sentence


def test_outside_the_log_there_is_no_number(predictive):
    found = today(predictive, 3, 9, "natural", 6, "low", 150)
    assert found.support == "outside"
    assert not any(letter.isdigit() for letter in found.sentence)
    told = found.to_dict()
    assert told["worth_from"] is None
    assert {(look["median"], look["reached"], look["worth"]) for look in told["looks"]} == {
        (None, None, None)
    }
    assert told["cautions"] == list(CAUTIONS)


def test_an_interval_that_can_not_be(predictive):
    with pytest.raises(InputError, match="every: found 0; expected 1 to 60 minutes"):
        today(predictive, *PLAN, every=0)


def test_outside_the_log_the_band_is_wide(predictive):
    """95 % and half a level more at both ends, within the scale."""
    inside = today(predictive, 3, 9, "natural", 6, "low", 60).looks[-1].level
    outside = today(predictive, 3, 9, "natural", 6, "low", 80).looks[-1].level
    assert outside.low < outside.high
    assert outside.high - outside.low >= inside.high - inside.low
    assert outside.low <= inside.low + 0.5


def test_what_was_told_can_not_be(predictive):
    told = "start=3,achieved=8,minutes=1,peroxide=6,heat=low,stop=time"
    found = today(predictive, *PLAN, past=[told])
    assert found.support == "outside"
    assert "can hardly be of such hair" in found.support_notes[-1]
    # of the hair nothing is known, not even that it moves
    new = today(predictive, *PLAN)
    for look, other in zip(found.looks, new.looks, strict=True):
        assert look.level.low == 3.0
        assert look.level.high >= other.level.high
        assert look.level.holds >= other.level.holds
    assert found.to_dict()["client"] is None
    answer = sessions(predictive, *PLAN, past=[told])
    assert (answer.support, answer.median) == ("outside", None)
    assert (answer.band_high, answer.rate, answer.to_dict()["client"]) == (None, None, None)
    assert answer.sessions == pytest.approx(sessions(predictive, *PLAN).sessions, abs=1e-9)
    assert not any(letter.isdigit() for letter in answer.sentence)


def test_hair_that_stood_still_under_strong_developer_is_not_told_to_be_fast(predictive):
    """No course of the model does that, so nothing may be taken over from those that seem to."""
    told = "start=3,achieved=3,minutes=60,peroxide=12,heat=high,stop=time"
    found = today(predictive, *PLAN, past=[told])
    assert (found.support, found.rate) == ("outside", None)
    assert found.looks[-1].level.low == 3.0
    assert sessions(predictive, *PLAN, past=[told]).band_high is None


def test_the_clients_rate_stands_beside(predictive):
    told = "start=3,achieved=6.5,minutes=40,peroxide=6,heat=low,stop=time"
    plan = (6.5, *PLAN[1:])
    found = today(predictive, *plan, past=[told])
    assert found.is_later
    assert found.to_dict()["client"] == sessions(predictive, *plan, past=[told]).to_dict()["client"]
