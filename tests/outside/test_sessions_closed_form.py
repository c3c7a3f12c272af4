"""Sessions for a goal against closed forms and a one-dimensional integral (own, by scipy).

Needed gain 6.25 levels; the gain of a session is log-normal(log 4.5, 0.3); readings without error, and
nobody looks before the rinse. P(N = 1) = P(gain >= 6.25) = 0.136755349. Where sessions are independent,
P(N <= 2) is the chance that the sum of two such gains reaches 6.25: 0.964611860. Where all spread is the
client's, k sessions gain k times the same: P(N <= k) = P(gain >= 6.25 / k), 0.887907901 for 2 and
0.994871275 for 3.

Read in half steps a goal is reached from a quarter below it on: 3 to 9.5 needs 6.25. Tolerance: four
Monte Carlo standard errors, from 16 seeds.
"""

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.stats import lognorm, norm

from outcomes.predictive.hazard import ConditionHazard
from outcomes.predictive.plans import Plans
from outcomes.predictive.practice import LookGaps
from outcomes.predictive.simulate import simulate_courses
from outcomes.readings.learn import learn_design

SEEDS = 16
PLAN = Plans(
    np.array([3.0]), np.array([9.5]), ("natural",), np.array([6.0]), ("none",), np.array([45.0]), (None,)
)
ZERO = (
    "sd_client",
    "sd_stylist",
    "sd_product",
    "sd_visit",
    "sd_result",
    "sd_look",
    "look_offset",
    "sd_start",
)


def _chances(make_predictive, **spread):
    """P(N <= 1), P(N <= 2), P(N <= 3) by seed, with only `spread` about log 4.5."""
    word = np.array(["natural"] * 6, dtype=object)
    columns = {"hair": word, "heat": np.array(["none"] * 6, dtype=object)}
    columns |= {"peroxide_pct": np.full(6, 6.0), "start_level": np.full(6, 3.0)}
    design = learn_design(columns, np.zeros(6, dtype=bool))
    assert design.names == ("intercept",)
    draws = {name: np.zeros(1) for name in ZERO} | {name: np.array([sd]) for name, sd in spread.items()}
    predictive = make_predictive(
        **draws,
        shape=np.array([0.6]),
        coefficients=np.array([[np.log(4.5)]]),
        stylist=np.zeros((1, 3)),
        product=np.zeros((1, 2)),
        design=design,
        covariates={},
        look_gaps=LookGaps(np.zeros(0), np.zeros(0), np.zeros((3, 0))),
        hazard=ConditionHazard(np.array([-60.0, 0, 0, 0, 0, 0, 0]), None, None, 0, 6),
    )
    found = [
        simulate_courses(predictive, PLAN, 16384, seed, limit=4, draws=1, per_draw=32).sessions[0]
        for seed in range(SEEDS)
    ]
    return np.cumsum(found, axis=1)[:, :3]


def _agrees(found, exact):
    assert np.abs(found.mean(axis=0) - exact).max() < 1e-3
    assert (np.abs(found.mean(axis=0) - exact) < 4 * found.std(axis=0, ddof=1) / np.sqrt(SEEDS) + 1e-7).all()


def test_stated_values_are_what_scipy_gives():
    gain = lognorm(0.3, scale=4.5)
    assert gain.sf(6.25) == pytest.approx(0.136755349, abs=1e-9)
    assert gain.sf(6.25 / 2) == pytest.approx(0.887907901, abs=1e-9)
    assert gain.sf(6.25 / 3) == pytest.approx(0.994871275, abs=1e-9)
    short = quad(lambda first: gain.pdf(first) * gain.cdf(6.25 - first), 0, 6.25, epsabs=1e-12)[0]
    assert 1 - short == pytest.approx(0.964611860, abs=1e-9)


def test_sessions_independent(make_predictive):
    _agrees(_chances(make_predictive, sd_visit=0.3)[:, :2], [0.136755349, 0.964611860])


def test_all_spread_in_the_client(make_predictive):
    _agrees(_chances(make_predictive, sd_client=0.3), [0.136755349, 0.887907901, 0.994871275])


def test_a_reading_error_spreads_the_first_session(make_predictive):
    found = _chances(make_predictive, sd_client=0.3, sd_result=0.5)[:, 0]
    # level 10 takes in everything lighter: hair isn't stopped there, only readings are
    exact = quad(lambda z: norm.pdf(z) * norm.sf((6.25 - 4.5 * np.exp(0.3 * z)) / 0.5), -8, 8)[0]
    _agrees(found[:, None], [exact])
