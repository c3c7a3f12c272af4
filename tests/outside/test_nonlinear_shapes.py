"""The two shapes on certified nonlinear regressions: exact readings, log link, no random effects, ml.

Source: NIST Statistical Reference Datasets, nonlinear regression: BoxBOD, Misra1a (certified values read in
public copies of the files) and DanWood (data and values from memory, checked by scipy's curve_fit, which
reproduces all estimates to 8 digits and residual sums of squares to 11). The saturating form there is
b1 (1 - exp(-b2 x)); here rate / (1 - exp(-x0 / theta)) = b1 and theta = 1 / b2. Whatever the reference
exposure x0, b1 and b2 must come out. Tolerance 1e-6 relative: the climb stops a ten-thousandth of a
standard error short at most.
"""

import numpy as np
import pandas as pd
import pytest

from outcomes.engine import fit_interval_mixed


def _numbers(text):
    return np.array([float(word) for word in text.split()])


BOX_BOD = (_numbers("1 2 3 5 7 10"), _numbers("109 149 149 191 213 224"))
MISRA = (
    _numbers("77.6 114.9 141.1 190.8 239.9 289.0 332.8 378.4 434.8 477.3 536.8 593.1 689.1 760.0"),
    _numbers("10.07 14.73 17.94 23.93 29.61 35.18 40.02 44.82 50.76 55.05 61.01 66.40 75.47 81.78"),
)
DAN_WOOD = (
    _numbers("1.309 1.471 1.490 1.565 1.611 1.680"),
    _numbers("2.138 3.421 3.597 4.340 4.882 5.660"),
)


def _fit(data, shape, x0, *, link="log", criterion="ml"):
    x, y = data
    return fit_interval_mixed(
        y, y, pd.DataFrame({"rate": np.ones(len(y))}), {},
        link=link, exposure=x / x0, shape=shape, criterion=criterion,
    )  # fmt: skip


def _original(fit, x0):
    """b1 and b2 as the certified models have them."""
    rate, theta = np.exp(fit.coefficients["rate"]), fit.shape.value
    if fit.shape.family == "power":
        return rate * x0**-theta, theta
    return rate / -np.expm1(-1.0 / theta), 1.0 / (theta * x0)


def _rss(data, fit):
    return fit.reading_sd**2 * len(data[0])


@pytest.mark.parametrize(
    ("data", "shape", "references", "b1", "b2", "rss"),
    [
        pytest.param(
            BOX_BOD,
            "saturating",
            (1.0, 10.0),
            2.1380940889e02,
            5.4723748542e-01,
            1.1680088766e03,
            id="BoxBOD",
        ),
        pytest.param(
            MISRA,
            "saturating",
            (100.0, 400.0),
            2.3894212918e02,
            5.5015643181e-04,
            1.2455138894e-01,
            id="Misra1a",
        ),
        pytest.param(
            DAN_WOOD, "power", (1.0, 1.5), 7.6886226e-01, 3.8604056e00, 4.3173084083e-03, id="DanWood"
        ),
    ],
)
def test_certified_estimates_at_any_reference_exposure(data, shape, references, b1, b2, rss):
    for x0 in references:
        fit = _fit(data, shape, x0)
        assert fit.converged
        assert _original(fit, x0) == pytest.approx((b1, b2), rel=1e-6)
        assert _rss(data, fit) == pytest.approx(rss, rel=1e-6)


def test_integrated_criterion_leaves_a_log_link_estimate_where_it_is():
    """RSS / (n - 1) for one integrated coefficient, the same shape; whatever the reference exposure."""
    for x0 in (1.0, 10.0):
        fit = _fit(BOX_BOD, "saturating", x0, criterion="integrated")
        assert _original(fit, x0) == pytest.approx((2.1380940889e02, 5.4723748542e-01), rel=1e-6)
        assert fit.reading_sd**2 * 5.0 == pytest.approx(1.1680088766e03, rel=1e-6)


def test_identity_link_with_flat_coefficients_depends_on_the_reference():
    """Why a shape goes with the log link. Own, by maximising the integrated likelihood: 5 digits."""
    for x0, theta in ((10.0, 1.8408), (1.0, 1.7915)):
        fit = _fit(BOX_BOD, "saturating", x0, link="identity", criterion="integrated")
        assert fit.shape.value * x0 == pytest.approx(theta, abs=1e-4)


def test_likelier_shape_wins():
    """Residual sums of squares by least squares (run with scipy): the certified model loses BoxBOD."""
    power = _fit(BOX_BOD, "power", 10.0)
    assert _rss(BOX_BOD, power) == pytest.approx(302.206468, rel=1e-6)
    assert _original(power, 10.0) == pytest.approx((113.459869, 0.307217), rel=2e-6)
    assert power.loglik > _fit(BOX_BOD, "saturating", 10.0).loglik
    power = _fit(MISRA, "power", 400.0)
    assert _rss(MISRA, power) == pytest.approx(3.081383, rel=1e-6)
    assert power.loglik < _fit(MISRA, "saturating", 400.0).loglik


def test_saturating_shape_at_its_straight_line_limit():
    """DanWood curves upwards: theta runs off, and what is left is a line through 0. It must be said."""
    x, y = DAN_WOOD
    line = float(((y - x * (x @ y) / (x @ x)) ** 2).sum())
    fit = _fit(DAN_WOOD, "saturating", 1.5)
    assert _rss(DAN_WOOD, fit) == pytest.approx(line, rel=1e-3)
    assert any("shape" in note for note in fit.notes)
    assert _fit(DAN_WOOD, "power", 1.5).loglik > fit.loglik
