import numpy as np
import pytest

from outcomes import lift_curve
from outcomes.answers.wording import CAUTIONS
from outcomes.errors import InputError

PLAN = (3, 9.5, "natural", 6, "low", 45)
SPREADS = ("sd_client", "sd_stylist", "sd_product", "sd_visit", "sd_start")


def _without_spread(make_predictive, **changes):
    """Every draw the same, nobody different from anybody: the curve is a formula."""
    zero = {name: np.zeros(400) for name in SPREADS}
    zero |= {"stylist": np.zeros((400, 3)), "product": np.zeros((400, 2)), "shape": np.full(400, 0.62)}
    sample = make_predictive()
    centre = np.zeros(len(sample.design.names))
    centre[sample.design.names.index("intercept")] = np.log(4.0)
    zero["coefficients"] = np.tile(centre, (400, 1))
    return make_predictive(**(zero | changes))


def test_without_spread_it_is_the_power_curve(make_predictive):
    found = lift_curve(_without_spread(make_predictive), *PLAN)
    assert found.minutes[[0, -1]].tolist() == [0.0, 45.0]
    expected = 3 + 4.0 * (found.minutes / 45) ** 0.62
    for curve in (found.median, found.low, found.high):
        np.testing.assert_allclose(curve, expected, atol=1e-12)


def test_the_band_is_that_of_the_log_normal_rate(make_predictive):
    # Only clients differ: ends of the 80 % band are those of exp(0.2 z) at z = -+1.2816.
    found = lift_curve(_without_spread(make_predictive, sd_client=np.full(400, 0.2)), *PLAN)
    assert found.coverage == 0.8
    ends = 3 + 4.0 * np.exp(0.2 * np.array([-1.2815516, 0.0, 1.2815516]))
    np.testing.assert_allclose([found.low[-1], found.median[-1], found.high[-1]], ends, atol=0.01)


def test_never_lighter_than_the_scale(predictive):
    found = lift_curve(predictive, 8, 9.5, "natural", 12, "medium", 60)
    assert found.high[-1] == 10.0
    assert (np.diff(found.median) >= 0).all()


def test_it_says_its_numbers(predictive):
    found = lift_curve(predictive, *PLAN)
    assert found.support == "inside"
    assert str(found).startswith(f"After 45 minutes: level {found.median[-1]:.1f}; 8 in 10 clients like this")
    assert found.to_dict()["median"][-1] == pytest.approx(found.median[-1], abs=1e-4)
    assert found.to_dict()["cautions"] == list(CAUTIONS)
    assert found.to_dict()["basis"]["visits"] == 1600
    assert "outside" in str(lift_curve(predictive, *PLAN[:-1], 120))


def test_the_same_seed_gives_the_same_curve(predictive):
    first, again, other = (lift_curve(predictive, *PLAN, seed=seed).low for seed in (1, 1, 2))
    assert (first == again).all()
    assert (first != other).any()
    np.testing.assert_allclose(first, other, atol=0.06)


def test_a_plan_that_cannot_be_asked(predictive):
    with pytest.raises(InputError, match="12 %"):
        lift_curve(predictive, 3, 9, "natural", 14, "low", 45)
