import numpy as np
import pytest
from scipy.stats import norm, t

from outcomes.errors import InputError
from outcomes.predictive.contrasts import against, equivalence, max_abs_t_quantile, pairs, simultaneous


def test_contrasts_by_hand():
    assert against(3, 1).tolist() == [[1, -1, 0], [0, -1, 1]]
    assert pairs(3).tolist() == [[-1, 1, 0], [-1, 0, 1], [0, -1, 1]]


@pytest.mark.parametrize("coverage", [0.5, 0.8, 0.95])
def test_one_contrast_is_the_usual_quantile(coverage):
    one = np.array([[1.0, -1.0]])
    covariance = np.array([[2.0, 0.3], [0.3, 1.0]])
    upto = 0.5 * (1 + coverage)
    assert max_abs_t_quantile(covariance, one, coverage) == pytest.approx(norm.ppf(upto), abs=1e-5)
    for df in (3, 12):
        found = max_abs_t_quantile(covariance, one, coverage, df)
        assert found == pytest.approx(t.ppf(upto, df), abs=1e-5)


def test_independent_contrasts_multiply():
    """Sidak's (1967): 3 independent ones at 95 % need the normal's 1 - (1 - 0.95^(1/3)) / 2."""
    found = max_abs_t_quantile(np.diag([1.0, 4.0, 9.0]), np.eye(3), 0.95)
    assert found == pytest.approx(norm.ppf(0.5 + 0.5 * 0.95 ** (1 / 3)), abs=1e-5)


def test_units_and_repeated_contrasts_change_nothing():
    rng = np.random.default_rng(3)
    half = rng.standard_normal((4, 4))
    covariance, contrasts = half @ half.T, pairs(4)
    plain = max_abs_t_quantile(covariance, contrasts, 0.9)
    # what is integrated first may change, and with it the error of the integral
    assert max_abs_t_quantile(100 * covariance, contrasts, 0.9) == pytest.approx(plain, abs=1e-5)
    twice = np.vstack([contrasts, -3 * contrasts])
    assert max_abs_t_quantile(covariance, twice, 0.9) == pytest.approx(plain, abs=1e-5)


def test_a_covariance_that_is_singular():
    """Two estimates that move as one: a contrast of each is the same one."""
    covariance = np.ones((2, 2))
    assert max_abs_t_quantile(covariance, np.eye(2), 0.95) == pytest.approx(norm.ppf(0.975), abs=1e-5)


def test_simulated():
    """A million draws of 6 correlated contrasts; 4 standard errors of their share inside."""
    rng = np.random.default_rng(11)
    half = rng.standard_normal((4, 4))
    contrasts = pairs(4)
    critical = max_abs_t_quantile(half @ half.T, contrasts, 0.95)
    drawn = rng.standard_normal((1_000_000, 4)) @ half.T @ contrasts.T
    se = np.sqrt(np.einsum("ij,jk,ik->i", contrasts, half @ half.T, contrasts))
    inside = (np.abs(drawn / se) <= critical).all(axis=1).mean()
    assert inside == pytest.approx(0.95, abs=4 * np.sqrt(0.95 * 0.05 / 1_000_000))


def test_bands_are_the_critical_value_wide():
    found = simultaneous(np.array([1.0, 3.0]), np.diag([0.25, 0.25]), against(2), 0.95)
    assert found.value == pytest.approx([2.0])
    assert found.se == pytest.approx([np.sqrt(0.5)])
    assert found.low == pytest.approx([2.0 - norm.ppf(0.975) * np.sqrt(0.5)], abs=1e-5)


def test_equivalence_agrees_with_the_90_percent_interval():
    z = norm.ppf(0.95)
    for value in np.linspace(-0.3, 0.3, 25):
        inside = value - 0.05 * z > -0.2 and value + 0.05 * z < 0.2
        assert equivalence(value, 0.05, 0.2).equivalent == inside


def test_what_can_not_be_compared():
    with pytest.raises(InputError, match="one column for each estimate"):
        max_abs_t_quantile(np.eye(3), np.eye(2), 0.95)
    with pytest.raises(InputError, match="without variance"):
        max_abs_t_quantile(np.eye(2), np.array([[1.0, 0.0], [0.0, 0.0]]), 0.95)
    with pytest.raises(InputError, match="between 0 and 1"):
        max_abs_t_quantile(np.eye(2), np.eye(2), 1.0)
    with pytest.raises(InputError, match="above 0"):
        equivalence(0.1, 0.0, 0.2)
