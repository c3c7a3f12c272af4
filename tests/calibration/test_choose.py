import numpy as np
import pytest
from scipy.optimize import minimize_scalar

from outcomes.calibration.choose import compare, stacking_share


def test_by_hand():
    # differences 3, 1, 2: sum 6; sd 1, so the standard error of the sum is sqrt(3)
    found = compare({"power": np.array([-1.0, -2.0, -1.0]), "saturating": np.array([-4.0, -3.0, -3.0])})
    assert (found.better, found.other, found.clients) == ("power", "saturating", 3)
    assert found.difference == pytest.approx(6.0)
    assert found.se == pytest.approx(np.sqrt(3.0))
    assert found.is_decided
    assert found.share == 0.0


def test_the_order_of_the_two_does_not_matter():
    rng = np.random.default_rng(1)
    one, two = rng.normal(-4, 1, 50), rng.normal(-4, 1, 50)
    first = compare({"power": one, "saturating": two})
    second = compare({"saturating": two, "power": one})
    assert first.better == second.better
    assert first.share == pytest.approx(second.share)


def test_below_two_standard_errors_both_are_used():
    # differences 1 and -1 in turn and one of 2 more: sum 2; the standard error is nearly sqrt(41)
    gap = np.array([1.0, -1.0] * 20 + [2.0])
    found = compare({"power": gap, "saturating": np.zeros(41)})
    assert found.difference == pytest.approx(2.0)
    assert not found.is_decided
    assert 0 < found.share < 0.5


def test_stacking_share_is_where_the_mixture_scores_best():
    rng = np.random.default_rng(2)
    first, second = rng.normal(-4, 1.5, 300), rng.normal(-4.2, 1.5, 300)

    def worse(share):
        mixture = np.log((1 - share) * np.exp(first) + share * np.exp(second)).sum()
        # one more client for either of the two
        return -(mixture + np.log(share) + np.log(1 - share))

    best = minimize_scalar(worse, bounds=(1e-6, 1 - 1e-6), method="bounded", options={"xatol": 1e-9})
    assert stacking_share(first, second) == pytest.approx(best.x, abs=1e-4)
