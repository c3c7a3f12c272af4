import numpy as np
import pytest
from scipy.stats import norm, t

from outcomes.errors import InputError
from outcomes.predictive.contrasts import against, pairs
from outcomes.predictive.largest import max_abs_t_quantile


@pytest.mark.parametrize("coverage", [0.5, 0.8, 0.95])
def test_one_contrast_is_the_usual_quantile(coverage):
    one = np.array([[1.0, -1.0]])
    covariance = np.array([[2.0, 0.3], [0.3, 1.0]])
    upto = 0.5 * (1 + coverage)
    assert max_abs_t_quantile(covariance, one, coverage) == pytest.approx(norm.ppf(upto), abs=1e-5)
    for df in (1, 2.5, 3, 12, 400):
        found = max_abs_t_quantile(covariance, one, coverage, df)
        assert found == pytest.approx(t.ppf(upto, df), rel=1e-6)


def test_far_quantiles():
    """One at 99.9 % and a single degree of freedom lies beyond 600."""
    found = max_abs_t_quantile(np.eye(1), np.eye(1), 0.999, 1)
    assert found == pytest.approx(t.ppf(0.9995, 1), rel=1e-6)
    several = max_abs_t_quantile(np.eye(3), np.eye(3), 0.999, 1)
    assert found < several < t.ppf(1 - 0.0005 / 3, 1)  # Bonferroni's


def test_independent_contrasts_multiply():
    """Sidak's (1967): 3 independent ones at 95 % need the normal's 1 - (1 - 0.95^(1/3)) / 2."""
    found = max_abs_t_quantile(np.diag([1.0, 4.0, 9.0]), np.eye(3), 0.95)
    assert found == pytest.approx(norm.ppf(0.5 + 0.5 * 0.95 ** (1 / 3)), abs=1e-5)


@pytest.mark.parametrize("coverage", [0.01, 0.3, 0.999])
def test_any_coverage(coverage):
    for k in (2, 4):
        found = max_abs_t_quantile(np.eye(k), np.eye(k), coverage)
        assert found == pytest.approx(norm.ppf(0.5 + 0.5 * coverage ** (1 / k)), abs=1e-5)


def test_hardly_any_chance_left():
    """Between one contrast's and Bonferroni's even where rounding is all that the integral shows."""
    for outside in (1e-10, 1e-12, 1e-14):
        for df, law in ((None, norm), (5, t(5))):
            found = max_abs_t_quantile(np.eye(4), pairs(4), 1.0 - outside, df)
            assert law.isf(0.45 * outside) < found < law.isf(0.45 * outside / 6)  # 1 - outside is rounded
    for coverage in (1e-20, 1e-100):
        assert 0.0 <= max_abs_t_quantile(np.eye(4), pairs(4), coverage) < 1e-3


def test_what_all_estimates_share_leaves_their_pairs_alone():
    """All pairs of four have rank three, whatever moves all of them."""
    plain = max_abs_t_quantile(np.eye(4), pairs(4), 0.95, 20)
    assert max_abs_t_quantile(np.eye(4) + 3.0, pairs(4), 0.95, 20) == pytest.approx(plain, abs=1e-5)


def test_two_groups_that_are_one_count_once():
    """A third estimate that always equals the second adds no comparison with the first."""
    same = np.array([[1.0, 0.0, 0.0], [0.0, 1.0, 1.0], [0.0, 1.0, 1.0]])
    assert max_abs_t_quantile(same, against(3), 0.95) == pytest.approx(norm.ppf(0.975), abs=1e-6)
    with pytest.raises(InputError, match="without variance, row 3"):
        max_abs_t_quantile(same, pairs(3), 0.95)


def test_the_seed_decides():
    first, again, other = (max_abs_t_quantile(np.eye(5), pairs(5), 0.95, 20, seed=seed) for seed in (4, 4, 5))
    assert first == again
    assert first != other
    assert first == pytest.approx(other, abs=2e-3)


@pytest.mark.parametrize(("points", "within"), [(32, 0.2), (512, 2e-2), (1024, 1e-2), (16384, 5e-4)])
def test_any_number_of_points(points, within):
    settled = max_abs_t_quantile(np.eye(4), pairs(4), 0.9, 20)
    found = max_abs_t_quantile(np.eye(4), pairs(4), 0.9, 20, points)
    assert found == pytest.approx(settled, abs=within)


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


def test_what_has_no_quantile():
    with pytest.raises(InputError, match="one column for each estimate"):
        max_abs_t_quantile(np.eye(3), np.eye(2), 0.95)
    for contrasts, covariance in (
        (np.empty((0, 3)), np.eye(3)),
        (np.eye(3), np.ones((3, 2))),
        (np.eye(3), np.ones(3)),
        (np.ones((2, 2, 3)), np.eye(3)),
        (np.eye(1), np.float64(1.0)),
    ):
        with pytest.raises(InputError, match="one row or more and one column for each estimate"):
            max_abs_t_quantile(covariance, contrasts, 0.95)
    with pytest.raises(InputError, match="isn't a finite number"):
        max_abs_t_quantile(np.diag([1.0, np.nan]), np.eye(2), 0.95)
    with pytest.raises(InputError, match="without variance"):
        max_abs_t_quantile(np.eye(2), np.array([[1.0, 0.0], [0.0, 0.0]]), 0.95)
    with pytest.raises(InputError, match="between 0 and 1"):
        max_abs_t_quantile(np.eye(2), np.eye(2), 1.0)
    for df in (0.5, -3, np.inf, np.nan):
        with pytest.raises(InputError, match="degrees of freedom"):
            max_abs_t_quantile(np.eye(2), np.eye(2), 0.95, df)
