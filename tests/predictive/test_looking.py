"""Looks of one session to come: closed forms where nothing but the eye errs, other routes elsewhere."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest
from scipy.stats import norm

from outcomes.predictive.looking import looks_ahead
from outcomes.predictive.plans import Plans
from outcomes.predictive.practice import LookGaps, Practice
from outcomes.predictive.simulate import simulate_courses

PLAN = Plans(
    np.array([3.0]), np.array([6.0]), ("natural",), np.array([6.0]), ("low",), np.array([40.0]), ("S2",)
)
NOTHING = dict.fromkeys(("sd_client", "sd_stylist", "sd_product", "sd_visit", "sd_start"), np.zeros(1))


@pytest.fixture(scope="module")
def certain(make_predictive):
    """Hair that everything is known of: 3 levels in 45 minutes, a power of 0.6, and the errors of the eye."""
    design = make_predictive().design
    values = {"intercept": math.log(3.0)}
    return make_predictive(
        **NOTHING,
        coefficients=np.array([[values.get(name, 0.0) for name in design.names]]),
        shape=np.array([0.6]),
        sd_result=np.array([0.2]),
        sd_look=np.array([0.3]),
        look_offset=np.array([-0.1]),
        stylist=np.zeros((1, 3)),
        product=np.zeros((1, 2)),
        hazard=dataclasses.replace(make_predictive().hazard, coefficients=np.array([-50.0, *[0.0] * 6])),
    )


def test_where_only_the_eye_errs(certain):
    minutes = np.array([20.0, 30.0, 40.0])
    found = looks_ahead(certain, PLAN, minutes, 1024, 1, worth=0.05)
    true = 3.0 + 3.0 * (minutes / 45.0) ** 0.6
    mean, sd = true + np.array([-0.1, -0.1, 0.0]), np.array([0.3, 0.3, 0.2])
    at_goal = norm.sf((5.75 - mean) / sd)
    assert found.at_goal == pytest.approx(at_goal, abs=1e-6)
    # errors of single looks are independent
    assert found.reached == pytest.approx(1.0 - np.cumprod(1.0 - at_goal), abs=1e-6)
    edges = np.arange(1.25, 10.0, 0.5)
    shares = np.diff(norm.cdf((edges - mean[:, None]) / sd[:, None]), prepend=0.0, append=1.0, axis=1)
    assert found.levels == pytest.approx(shares, abs=1e-6)
    # the first whole minute at which a look reads 6 for 1 in 20
    minute = np.arange(1, 40)
    chance = norm.sf((5.75 - (2.9 + 3.0 * (minute / 45.0) ** 0.6)) / 0.3)
    assert found.worth_from == minute[np.flatnonzero(chance >= 0.05)[0]]


def test_a_look_that_never_is_worth_taking(certain):
    plan = dataclasses.replace(PLAN, goal=np.array([9.0]))
    assert looks_ahead(certain, plan, np.array([40.0]), 1024, 1, worth=0.05).worth_from is None


def test_condition_ends_some_sessions_before_the_goal(certain, make_predictive):
    # odds of 1 in five minutes: half of what is left each time
    hazard = dataclasses.replace(make_predictive().hazard, coefficients=np.zeros(7))
    worn = dataclasses.replace(certain, hazard=hazard)
    found = looks_ahead(worn, PLAN, np.array([10.0, 40.0]), 16384, 1, worth=0.05)
    whole = looks_ahead(certain, PLAN, np.array([10.0, 40.0]), 16384, 1, worth=0.05)
    assert found.levels == pytest.approx(whole.levels, abs=1e-9)
    # rinsed anywhere in each five minutes with the same chance, and read then
    ends = (np.arange(8000) + 0.5) / 200
    at_rinse = norm.sf((5.75 - (3.0 + 3.0 * (ends / 45.0) ** 0.6)) / 0.2)
    share = np.repeat(0.5 ** np.arange(1, 9), 1000) / 1000
    looked = 1.0 - np.where(ends > 10.0, 1.0 - whole.at_goal[0], 1.0) * (1.0 - at_rinse)
    assert found.reached[1] == pytest.approx(share @ looked + whole.reached[1] * 0.5**8, abs=2e-3)


def test_at_the_rinse_it_is_what_a_simulated_session_comes_to(predictive):
    """Nobody looking before, both read the same hair once."""
    blind = dataclasses.replace(
        predictive, look_gaps=LookGaps(np.zeros(0), np.zeros(0), np.zeros((3, 0))), practice=Practice()
    )
    found = looks_ahead(blind, PLAN, np.array([40.0]), 16384, 1, worth=0.05)
    course = simulate_courses(blind, PLAN, 16384, 1, limit=1, draws=1, per_draw=32)
    assert found.reached[0] == pytest.approx(course.sessions[0, 0], abs=0.004)
    assert (np.diff(found.levels[0].cumsum()) >= 0).all()
    assert found.levels.sum() == pytest.approx(1.0, abs=1e-9)
