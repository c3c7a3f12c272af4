import pytest
from scipy.stats import norm, t

from outcomes.predictive.student import student_scales, upper_tail


@pytest.mark.parametrize("df", [1, 1.5, 2, 3, 4, 9, 51, 500, 1e5, 1e7])
def test_upper_tail(df):
    for at in (-3.0, 0.0, 0.3, 1.0, 3.0, 7.0, 20.0):
        assert upper_tail(at, df) == pytest.approx(t.sf(at, df), rel=1e-6)
    assert upper_tail(2.0) == pytest.approx(norm.sf(2.0), rel=1e-12)


@pytest.mark.parametrize("df", [2, 5, 30, 1e4])
def test_scales_have_the_moments_of_chi_squared(df):
    scales, weights = student_scales(df)
    assert weights.sum() == pytest.approx(1.0)
    assert weights @ scales**2 == pytest.approx(1.0, abs=1e-6)
    assert weights @ scales**4 == pytest.approx(1.0 + 2.0 / df, rel=1e-6)
