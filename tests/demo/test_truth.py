"""True session chances: closed forms, a numerical integral, and the log that the same process made."""

from math import erf, log, sqrt

import numpy as np
import pytest

from outcomes.demo.simulate import simulate_log
from outcomes.demo.truth import Plan, TrueChances, random_plans, true_session_chances
from outcomes.demo.worlds import World, world
from outcomes.errors import InputError

N = 100_000
FLAT = {
    "log_rate": log(4.5),
    "hair": {"natural": 0.0, "coloured": 0.0, "lightened": 0.0},
    "later": 0.0,
    "start_slope": 0.0,
    "texture": {"fine": 0.0, "medium": 0.0, "coarse": 0.0},
    "zone": {"roots": 0.0, "lengths": 0.0, "ends": 0.0, "all": 0.0},
    "wrap": {"foil": 0.0, "open": 0.0, "film": 0.0},
    "mix_exponent": 0.0,
    "colour_history": {"none": 0.0, "one": 0.0, "several": 0.0},
    "second_application": 0.0,
    "sd_stylist": 0.0,
    "sd_product": 0.0,
    "tau_result": 0.0,
    "tau_look": 0.0,
    "look_interval": (500.0, 500.0),
    "condition_hazard": 0.0,
}
# from level 3, goal 9.5 is read at 9.25: the gain needed is 6.25
PLAN = Plan(start=3.0, goal=9.5, hair="natural", peroxide=6.0, heat="none", minutes=45.0)


def cumulative(simple: World, n: int = N) -> np.ndarray:
    _, truth = simulate_log(simple, 200, 1)
    chances = true_session_chances(simple, truth, PLAN, n_courses=n, seed=3, start_is_true=True)
    return np.cumsum(chances.probabilities)


def close(value: float, expected: float, n: int = N) -> bool:
    """Within 4 binomial standard errors."""
    return abs(value - expected) < 4 * sqrt(expected * (1 - expected) / n)


def test_sessions_with_all_spread_in_the_visit():
    """Closed form (one integral for two sessions): gain log-normal(log 4.5, 0.3) a session, independent."""
    done = cumulative(world("plain", **FLAT, sd_client=0.0, sd_visit=0.3))
    assert close(done[0], 0.136755349)
    assert close(done[1], 0.964611860)


def test_sessions_with_all_spread_in_the_client():
    """Closed form: P(N <= k) = P(k gains >= 6.25), one gain for the whole course."""
    done = cumulative(world("plain", **FLAT, sd_client=0.3, sd_visit=0.0))
    assert close(done[0], 0.136755349)
    assert close(done[1], 0.887907901)
    assert close(done[2], 0.994871275)


def test_first_session_with_every_reading_error():
    """Numerical integral: start spread over its half step and read with 0.18, result read with 0.18."""
    noisy = {**FLAT, "tau_result": 0.18, "tau_look": 0.25}
    simple = world("plain", **noisy, sd_client=0.2, sd_visit=0.14)
    _, truth = simulate_log(simple, 200, 1)
    got = true_session_chances(simple, truth, PLAN, n_courses=N, seed=3).probabilities[0]
    z = np.linspace(-6, 6, 2001)
    u = (np.arange(200) + 0.5) / 200 * 0.5 - 0.25
    gain = 6.25 - (u[:, None] + sqrt(2) * 0.18 * z[None, :])
    sd = sqrt(0.2**2 + 0.14**2)
    tail = 0.5 - 0.5 * np.vectorize(erf)((np.log(gain) - log(4.5)) / sd / sqrt(2))
    weight = np.exp(-(z**2) / 2)
    assert close(got, float((tail.mean(axis=0) * weight).sum() / weight.sum()))


def test_chances_agree_with_the_log_that_the_process_made():
    """Mean true chance of 600 logged first sessions against the share that succeeded."""
    plain = world()
    tables, truth = simulate_log(plain, 3000, 8)
    visits = tables["visits"]
    first = visits[(truth.rows["session"] == 1) & visits["start_level"].between(2.5, 6.0)].iloc[:600]
    chances = np.array(
        [
            true_session_chances(plain, truth, Plan(*row), n_courses=1000, seed=i, limit=1).probabilities[0]
            for i, row in enumerate(
                first[
                    ["start_level", "goal_level", "hair", "peroxide_pct", "heat", "planned_minutes"]
                ].to_numpy()
            )
        ]
    )
    success = truth.rows["success"].to_numpy()[first.index]
    error = sqrt(float((chances * (1 - chances)).sum())) / len(first)
    assert abs(success.mean() - chances.mean()) < 4 * error
    # and single plans matter: those thought likely went well more often
    assert success[chances > 0.7].mean() - success[chances < 0.4].mean() > 0.4


def test_harder_plans_take_longer():
    plain = world()
    _, truth = simulate_log(plain, 1600, 1)
    easy = true_session_chances(plain, truth, Plan(6.0, 8.0, "natural", 6.0, "low", 45.0))
    hard = true_session_chances(plain, truth, Plan(2.5, 9.5, "natural", 6.0, "none", 30.0))
    assert easy.median == 1
    assert hard.median >= 2
    assert easy.probabilities.sum() == pytest.approx(1.0)
    assert list(hard.to_dict()) == ["1", "2", "3", "4", "5", "6", "more"]


def test_same_seed_same_chances():
    plain = world()
    _, truth = simulate_log(plain, 500, 1)
    one, same, other = (true_session_chances(plain, truth, PLAN, n_courses=2000, seed=s) for s in (1, 1, 2))
    np.testing.assert_array_equal(one.probabilities, same.probabilities)
    assert (one.probabilities != other.probabilities).any()


def test_median_beyond_the_limit_is_none():
    assert TrueChances(np.array([0.1, 0.2, 0.7]), 10).median is None
    assert TrueChances(np.array([0.5, 0.2, 0.3]), 10).median == 1


def test_random_plans_lie_within_the_log():
    plain = world()
    tables, _ = simulate_log(plain, 1600, 1)
    visits = tables["visits"]
    plans = random_plans(plain, tables, 60, 5)
    assert plans == random_plans(plain, tables, 60, 5)
    assert len(set(plans)) > 40
    for plan in plans:
        assert plan.goal > plan.start
        alike = (visits["peroxide_pct"] == plan.peroxide) & (visits["heat"] == plan.heat)
        assert alike.any()
        for value, column in ((plan.start, "start_level"), (plan.minutes, "planned_minutes")):
            low, high = np.percentile(visits[column], [1, 99])
            assert low <= value <= high
    assert {plan.hair for plan in plans} == {"natural", "coloured", "lightened"}


def test_hair_that_the_log_does_not_have():
    plain = world()
    _, truth = simulate_log(plain, 50, 1)
    with pytest.raises(InputError, match="hair 'grey'"):
        true_session_chances(plain, truth, Plan(3.0, 7.0, "grey", 6.0, "none", 40.0))
