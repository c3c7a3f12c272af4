"""Log probabilities between bounds and their derivatives, against differences and closed forms."""

import numpy as np
import pytest
from scipy.special import log_ndtr
from scipy.stats import norm

from outcomes.engine.terms import OPEN, all_terms, mean_terms

# lower, upper, mean, sd: rounded, wide, open below and above, exact, narrow for its sd, far in both tails
ROWS = np.array(
    [
        [-0.25, 0.25, 0.1, 0.3],
        [-0.25, 0.25, 1.4, 0.3],
        [-3.0, 4.0, 0.2, 1.1],
        [-np.inf, 0.5, 0.9, 0.4],
        [0.5, np.inf, 0.1, 0.4],
        [-np.inf, np.inf, 0.3, 0.5],
        [0.7, 0.7, 0.2, 0.6],
        [0.7, 0.7, -2.0, 0.3],
        [0.0, 0.01, 0.3, 2.0],
        [5.75, 6.25, 1.0, 0.35],
        [-6.25, -5.75, 1.0, 0.35],
        [12.0, np.inf, 1.0, 0.25],
        [-np.inf, -12.0, 1.0, 0.25],
        [12.0, 12.5, 1.0, 0.25],
    ]
)


def _split(rows=ROWS):
    lower, upper, mean, sd = rows.T
    exact = lower == upper
    low = np.where(np.isneginf(lower), -OPEN, lower)
    high = np.where(exact | np.isposinf(upper), OPEN, upper)
    return low[:, None], high[:, None], exact, mean[:, None], sd[:, None]


def _at(move_mean=0.0, move_log_sd=0.0):
    low, high, exact, mean, sd = _split()
    return all_terms(low, high, exact, mean + move_mean, sd * np.exp(move_log_sd))


# 44 sds out the terms of a third derivative are a million times what is left of them
NEAR = np.where(np.arange(len(ROWS)) < 11, 1e-7, 2e-4)[:, None]


def _agree(found, numerical):
    assert (np.abs(found - numerical) <= 1e-6 * np.abs(numerical) + NEAR).all(), (found - numerical).ravel()


def _slope(field, **direction):
    """Central differences, extrapolated: error of fourth order."""
    (name,) = direction
    h = 1e-3

    def difference(step):
        return (getattr(_at(**{name: step}), field) - getattr(_at(**{name: -step}), field)) / (2.0 * step)

    return (4.0 * difference(h / 2) - difference(h)) / 3.0


@pytest.mark.parametrize(("field", "of"), [("m", "value"), ("mm", "m"), ("mmm", "mm"), ("mw", "w")])
def test_derivatives_by_the_mean(field, of):
    found = np.broadcast_to(getattr(_at(), field), (len(ROWS), 1))
    _agree(found, _slope(of, move_mean=1.0))


@pytest.mark.parametrize(("field", "of"), [("w", "value"), ("ww", "w"), ("mw", "m"), ("mmw", "mm")])
def test_derivatives_by_the_log_sd(field, of):
    found = np.broadcast_to(getattr(_at(), field), (len(ROWS), 1))
    _agree(found, _slope(of, move_log_sd=1.0))


def test_newton_terms_are_the_first_of_all_terms():
    every, few = _at(), mean_terms(*_split())
    for field in ("value", "m", "mm"):
        np.testing.assert_allclose(getattr(few, field), getattr(every, field), rtol=1e-12, atol=1e-300)
    exact_only = _split(ROWS[[6, 7]])
    for field in ("value", "m", "mm"):
        np.testing.assert_allclose(
            getattr(mean_terms(*exact_only), field), getattr(every, field)[[6, 7]], rtol=1e-14
        )
    whole = all_terms(*_split())
    for field in whole._fields:
        np.testing.assert_allclose(
            getattr(all_terms(*exact_only), field), getattr(whole, field)[[6, 7]], rtol=1e-14
        )


def test_values_are_those_of_the_normal_distribution():
    value = _at().value[:, 0]
    for row, found in zip(ROWS[:9], value[:9], strict=True):
        lower, upper, mean, sd = row
        if lower == upper:
            expected = norm.logpdf(lower, mean, sd)
        else:
            expected = np.log(norm.cdf(upper, mean, sd) - norm.cdf(lower, mean, sd))
        assert found == pytest.approx(expected, rel=1e-9, abs=1e-12)


def test_far_tails_keep_their_digits():
    """44 sds out, where the probability itself underflows: log P = log Phi(-44) + log(1 - ratio)."""
    value = _at().value[:, 0]
    assert value[11] == pytest.approx(float(log_ndtr(-44.0)), rel=1e-12)
    assert value[12] == pytest.approx(float(log_ndtr(-52.0)), rel=1e-12)
    ratio = np.exp(log_ndtr(-46.0) - log_ndtr(-44.0))
    assert value[13] == pytest.approx(float(log_ndtr(-44.0) + np.log1p(-ratio)), rel=1e-12)


def test_a_thousand_sds_away_stays_finite():
    rows = np.array([[1000.0, 1000.5, 0.0, 0.2], [-np.inf, -900.0, 0.0, 0.2], [5e4, np.inf, 0.0, 1.0]])
    for term in all_terms(*_split(rows)):
        assert np.isfinite(term).all()
    assert (all_terms(*_split(rows)).m[[0, 2]] > 0).all()


@pytest.mark.parametrize("z", [1e3, 1e5, 1e8, 1e12, 1e25])
def test_limits_far_from_the_interval(z):
    """There a bound acts like an exact reading at the near bound: slope z / sd, curvature -1 / sd**2.

    A trial step under the log link does get there, and has to find its way back by these.
    """
    rows = np.array([[z, z + 0.5, 0.0, 0.5], [z, np.inf, 0.0, 0.5], [-np.inf, -z, 0.0, 0.5]])
    few, every = mean_terms(*_split(rows)), all_terms(*_split(rows))
    for terms in (few, every):
        np.testing.assert_allclose(terms.m[:, 0] * 0.5, np.array([2.0, 2.0, -2.0]) * z, rtol=1e-4)
        np.testing.assert_allclose(np.broadcast_to(terms.mm, (3, 1))[:, 0], -4.0, rtol=1e-4)
    np.testing.assert_allclose(every.w[:, 0], 4.0 * z * z, rtol=1e-4)


def test_mirror_image():
    """P(l < y <= u) at mean m is P(-u < y <= -l) at -m; odd derivatives by the mean change sign."""
    low, high, exact, mean, sd = _split()
    here = all_terms(low, high, exact, mean, sd)
    mirrored = all_terms(
        np.where(exact[:, None], -low, -high), np.where(exact[:, None], OPEN, -low), exact, -mean, sd
    )
    for field in ("value", "mm", "w", "ww", "mmw"):
        np.testing.assert_allclose(getattr(mirrored, field), getattr(here, field), rtol=1e-10, atol=1e-12)
    for field in ("m", "mmm", "mw"):
        np.testing.assert_allclose(getattr(mirrored, field), -getattr(here, field), rtol=1e-10, atol=1e-12)


def test_narrow_interval_is_density_times_width():
    width = 1e-4
    low = np.array([[0.3 - width / 2]])
    inside = all_terms(low, low + width, np.array([False]), np.zeros((1, 1)), np.full((1, 1), 0.5))
    density = all_terms(
        np.array([[0.3]]), np.array([[OPEN]]), np.array([True]), np.zeros((1, 1)), np.full((1, 1), 0.5)
    )
    assert inside.value[0, 0] == pytest.approx(density.value[0, 0] + np.log(width), abs=1e-7)
    assert inside.m[0, 0] == pytest.approx(density.m[0, 0], rel=1e-6)
    assert inside.mm[0, 0] == pytest.approx(density.mm[0, 0], rel=1e-4)
