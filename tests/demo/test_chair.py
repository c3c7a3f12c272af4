"""One session at the chair: when it ends, what is read, how the condition wears.

Expected values are closed forms of the stated process; tolerances are 4 standard errors of the simulation.
"""

from dataclasses import replace
from statistics import NormalDist

import numpy as np
import pytest

from outcomes.demo.chair import STOPS, Settings, condition_after, work_session
from outcomes.demo.worlds import World, world

N = 40_000
FINE = 0.001  # a recording step that hides nothing
CALM = {"condition_hazard": 0.0}


def generator(seed: int = 5) -> np.random.Generator:
    return np.random.Generator(np.random.PCG64(seed))


def settings(n: int = N, **given: float) -> Settings:
    values = {"start": 3.0, "goal": 9.5, "rate": 4.0, "limit": 40.0, "interval": 10.0, "peroxide": 6.0}
    values |= {"condition": 4.0, "eye": 0.0} | {k: v for k, v in given.items() if k != "copies"}
    copies = np.full(n, bool(given.get("copies", False)))
    return Settings(**{k: np.full(n, float(v)) for k, v in values.items()}, copies=copies)


def names(stop: np.ndarray) -> set[str]:
    return {str(word) for word in STOPS[np.unique(stop)]}


def test_result_and_look_errors_have_the_stated_sds():
    quiet = world("plain", step=FINE, **CALM)
    given = settings(goal=10.0, rate=2.0)
    session = work_session(quiet, given, generator())
    assert names(session.stop) == {"time"}
    level = 3.0 + 2.0 * (40.0 / 45.0) ** 0.62
    np.testing.assert_allclose(session.level, level)
    result_error = session.achieved - level
    assert abs(result_error.mean()) < 4 * 0.18 / np.sqrt(N)
    assert result_error.std() == pytest.approx(0.18, abs=4 * 0.18 / np.sqrt(2 * N))
    look_error = session.look_level - (3.0 + 2.0 * (session.look_minutes / 45.0) ** 0.62)
    m = len(look_error)
    assert abs(look_error.mean()) < 4 * 0.25 / np.sqrt(m)
    assert look_error.std() == pytest.approx(0.25, abs=4 * 0.25 / np.sqrt(2 * m))


def test_look_bias_shifts_looks_alone():
    dark = world("look_bias", step=FINE, **CALM)
    session = work_session(dark, settings(goal=10.0, rate=2.0), generator())
    look_error = session.look_level - (3.0 + 2.0 * (session.look_minutes / 45.0) ** 0.62)
    assert look_error.mean() == pytest.approx(-0.3, abs=4 * 0.25 / np.sqrt(len(look_error)))
    assert (session.achieved - session.level).mean() == pytest.approx(0.0, abs=4 * 0.18 / np.sqrt(N))


def test_rinsed_at_the_first_look_that_reads_the_goal():
    exact = world("plain", tau_look=0.0, tau_result=0.0, look_interval_spread=0.0, **CALM)
    # levels at 10, 20, 30 minutes: 3 + 4 * (t/45)**0.62 = 4.574, 5.420, 6.111; goal 6 is read from 5.75 on
    session = work_session(exact, settings(n=3, goal=6.0), generator())
    np.testing.assert_array_equal(session.minutes, 30.0)
    assert names(session.stop) == {"target"}
    np.testing.assert_array_equal(session.looks, 2)
    np.testing.assert_array_equal(session.look_level[~session.look_ended], np.repeat([4.5, 5.5], 3))
    np.testing.assert_array_equal(session.achieved, 6.0)


def test_no_look_at_the_longest_time_itself():
    exact = world("plain", look_interval_spread=0.0, **CALM)
    session = work_session(exact, settings(n=100, goal=10.0, rate=1.0, limit=30.0), generator())
    np.testing.assert_array_equal(session.minutes, 30.0)
    np.testing.assert_array_equal(np.unique(session.look_minutes), [10.0, 20.0])


def test_chance_of_reading_the_goal_at_the_end():
    blind = world("plain", look_interval_spread=0.0, **CALM)
    # level 3 + 4 * 1 at 45 minutes; goal 7.5 is read when level + error >= 7.25
    session = work_session(blind, settings(goal=7.5, limit=45.0, interval=500.0), generator())
    expected = 1 - NormalDist().cdf(0.25 / 0.18)
    assert session.success.mean() == pytest.approx(expected, abs=4 * np.sqrt(expected * (1 - expected) / N))
    np.testing.assert_array_equal(session.success, session.achieved >= 7.5)


def test_target_results_copied_read_anew_or_heaped():
    plain = world("plain", **CALM)
    copied = work_session(plain, settings(goal=6.0, limit=180.0, copies=True), generator())
    assert names(copied.stop) == {"target"}
    at = np.argsort(copied.look_section[copied.look_ended])
    np.testing.assert_array_equal(copied.achieved, copied.look_level[copied.look_ended][at])
    assert (copied.achieved >= 6.0).all()
    anew = work_session(plain, settings(goal=6.0, limit=180.0), generator())
    assert 0.02 < (anew.achieved < 6.0).mean() < 0.4
    assert anew.success.all()
    heaped = work_session(world("heaped_results", **CALM), settings(goal=6.0, limit=180.0), generator())
    at_goal = (anew.achieved == 6.0).mean()
    assert (heaped.achieved == 6.0).mean() == pytest.approx(0.8 + 0.2 * at_goal, abs=0.015)


def test_condition_hazard_at_one_look():
    steady = replace(World(), look_interval_spread=0.0, condition_hazard=0.01)
    given = settings(goal=10.0, rate=1.0, limit=15.0, peroxide=12.0, condition=3.0)
    session = work_session(steady, given, generator())
    # one look at 10 minutes; hazard 0.01 exp(0.7 + 0.6 log 2 + 0.8 * 10/45)
    expected = 1 - np.exp(-10 * 0.01 * np.exp(0.7 + 0.6 * np.log(2) + 0.8 * 10 / 45))
    stopped = STOPS[session.stop] == "condition"
    assert stopped.mean() == pytest.approx(expected, abs=4 * np.sqrt(expected * (1 - expected) / N))
    np.testing.assert_array_equal(session.minutes[stopped], 10.0)
    after = condition_after(steady, given, session, generator())
    np.testing.assert_array_equal(after[stopped], 2.0)


def test_condition_wears_by_a_logistic_chance():
    calm = world("plain", **CALM)
    given = settings(goal=10.0, rate=1.0, limit=30.0)
    session = work_session(calm, given, generator())
    worn = (condition_after(calm, given, session, generator(6)) == 3.0).mean()
    assert worn == pytest.approx(1 / (1 + np.exp(1.4)), abs=4 * 0.4 / np.sqrt(N))


def test_broken_off_for_other_reasons():
    restless = world("plain", other_share=0.1, **CALM)
    session = work_session(restless, settings(goal=10.0, rate=1.0), generator())
    other = STOPS[session.stop] == "other"
    assert other.mean() == pytest.approx(0.1, abs=4 * 0.3 / np.sqrt(N))
    assert (session.minutes[other] <= 40.0).all()
    assert (session.look_minutes <= session.minutes[session.look_section]).all()


def test_nobody_at_the_chair():
    session = work_session(World(), settings(n=0), generator())
    assert len(session.minutes) == len(session.look_minutes) == 0
