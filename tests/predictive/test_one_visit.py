import math
from statistics import NormalDist

import numpy as np
import pytest

from outcomes import lift_curve, sessions
from outcomes.predictive.hazard import ConditionHazard
from outcomes.predictive.one_visit import READINGS, simulate_readings
from outcomes.predictive.plans import Plans
from outcomes.predictive.practice import LookGaps
from outcomes.predictive.simulate import simulate_courses


def _row(predictive, later=False):
    columns = {"hair": "natural", "heat": "low", "texture": "medium"}
    made = {name: np.array([word], dtype=object) for name, word in columns.items()}
    made |= {"peroxide_pct": np.array([6.0]), "start_level": np.array([3.0])}
    return predictive.design.encode(made, np.array([later]))


def test_readings_without_spread_of_rates_are_rounded_normal(make_predictive):
    one = {name: np.zeros(1) for name in ("sd_client", "sd_stylist", "sd_product", "sd_visit")}
    one |= {"shape": np.array([0.5]), "sd_result": np.array([0.3]), "sd_start": np.array([0.4])}
    one |= {"sd_look": np.array([0.3]), "look_offset": np.zeros(1)}
    one |= {"stylist": np.zeros((1, 3)), "product": np.zeros((1, 2))}
    mean = make_predictive().draws["coefficients"].mean(axis=0)[None]
    predictive = make_predictive(**one, coefficients=mean)
    row = _row(predictive)
    found = simulate_readings(predictive, row, np.array([3.0]), np.array([20.0]), seed=3)[0]
    middle = 3.0 + math.exp(float((row @ mean[0])[0])) * (20.0 / 45.0) ** 0.5
    reading = NormalDist(middle, math.hypot(0.3, 0.4))
    for level in np.arange(4.5, 8.0, 0.5):
        share = reading.cdf(level + 0.25) - reading.cdf(level - 0.25)
        assert np.mean(found == level) == pytest.approx(share, abs=0.01)


def test_where_nobody_looks_the_goal_is_read_as_often_as_in_a_simulated_first_session(make_predictive):
    words = ("natural", "coloured", "lightened")
    predictive = make_predictive(
        look_gaps=LookGaps(np.array([500.0]), np.ones(1), np.ones((3, 1))),
        covariates={hair: {"texture": (("medium", 1.0),)} for hair in words},
        hazard=ConditionHazard(np.array([-60.0, 0, 0, 0, 0, 0, 0]), None, None, 0, 10),
    )
    read = simulate_readings(predictive, _row(predictive), np.array([3.0]), np.array([40.0]), seed=1)[0]
    for goal in (6.0, 7.0, 8.0):
        plan = Plans(
            np.array([3.0]),
            np.array([goal]),
            ("natural",),
            np.array([6.0]),
            ("low",),
            np.array([40.0]),
            (None,),
        )
        found = simulate_courses(predictive, plan, READINGS, 1, limit=1, draws=1, per_draw=32)
        # of a share of 4,096 readings 0.008 is the largest standard error
        assert np.mean(read >= goal) == pytest.approx(found.sessions[0, 0], abs=0.016)


def test_visits_together_or_alone(predictive):
    rows = np.vstack([_row(predictive), _row(predictive, later=True)])
    read = simulate_readings(predictive, rows, np.array([3.0, 5.0]), np.array([10.0, 45.0]), seed=1)
    assert read.shape == (2, READINGS)
    assert (read >= 1.0).all()
    assert (read <= 10.0).all()
    alone = simulate_readings(predictive, rows[1:], np.array([5.0]), np.array([45.0]), seed=1)
    assert (read[1] == alone[0]).all()


@pytest.mark.parametrize("family", ["power", "saturating"])
def test_a_log_that_tells_nothing_still_gives_levels(make_predictive, family):
    """Draws as wide as a failed fit leaves them; RuntimeWarnings are errors in these tests."""
    rng = np.random.default_rng(3)
    wild = {name: np.exp(20.0 * rng.standard_normal(400)) for name in ("sd_client", "sd_visit", "shape")}
    sample = make_predictive()
    coefficients = 50.0 * rng.standard_normal(sample.draws["coefficients"].shape)
    predictive = make_predictive(**wild, coefficients=coefficients, family=family)
    read = simulate_readings(predictive, _row(predictive), np.array([3.0]), np.array([40.0]), seed=1)
    assert ((read >= 1.0) & (read <= 10.0)).all()
    curve = lift_curve(predictive, 3, 8, "natural", 6, "low", 90)
    for line in (curve.low, curve.median, curve.high):
        assert ((line >= 1.0) & (line <= 10.0)).all()
        assert (np.diff(line) >= 0).all()
    assert sum(sessions(predictive, 3, 8, "natural", 6, "low", 90).sessions) == pytest.approx(1.0)
