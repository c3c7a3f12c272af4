import numpy as np
import pytest
from scipy.stats import norm

from outcomes.predictive.normal import normal_cdf, normal_quantile


def test_cdf_agrees_with_scipy_to_1e_7():
    z = np.concatenate([np.linspace(-9.0, 9.0, 200_001), [np.inf, -np.inf, 0.0]])
    assert np.abs(normal_cdf(z) - norm.cdf(z)).max() < 1e-7


def test_cdf_never_falls():
    assert (np.diff(normal_cdf(np.linspace(-8.5, 8.5, 300_001))) >= 0).all()


def test_quantile_agrees_with_scipy():
    tails = 10.0 ** -np.arange(1, 15)
    p = np.concatenate([tails, np.linspace(0.001, 0.999, 1999), 1.0 - tails[:10]])
    assert np.allclose(normal_quantile(p), norm.ppf(p), rtol=1e-10, atol=1e-12)


def test_quantile_of_nothing_and_of_everything_is_finite():
    low, high = normal_quantile(np.array([0.0, 1.0]))
    assert -9 < low < -8 < 8 < high < 9


def test_a_single_number_has_a_quantile_of_its_own():
    for p in (0.001, 0.4, 0.975):
        found = normal_quantile(p)
        assert found.shape == ()
        assert float(found) == pytest.approx(norm.ppf(p), rel=1e-12)
