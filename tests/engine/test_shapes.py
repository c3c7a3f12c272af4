"""g(x; theta): values from the formulas, derivatives by log theta against differences."""

import numpy as np
import pytest

from outcomes.engine.shapes import FAMILIES, shape_at
from outcomes.errors import InputError

X = np.array([0.0, 0.02, 0.3, 0.8, 1.0, 1.7, 4.0, 30.0])
THETAS = (0.08, 0.62, 1.0, 3.0, 10.0)


def test_values():
    theta = 0.62
    np.testing.assert_allclose(shape_at("power", X[1:], theta).value, X[1:] ** theta, rtol=1e-14)
    saturating = (1.0 - np.exp(-X / theta)) / (1.0 - np.exp(-1.0 / theta))
    np.testing.assert_allclose(shape_at("saturating", X, theta).value, saturating, rtol=1e-13)


@pytest.mark.parametrize("family", FAMILIES)
@pytest.mark.parametrize("theta", THETAS)
def test_nothing_at_zero_and_one_at_the_reference(family, theta):
    shape = shape_at(family, np.array([0.0, 1.0]), theta)
    np.testing.assert_allclose(shape.value, [0.0, 1.0], atol=1e-15)
    np.testing.assert_allclose(shape.first, 0.0, atol=1e-15)
    np.testing.assert_allclose(shape.second, 0.0, atol=1e-15)


@pytest.mark.parametrize("family", FAMILIES)
@pytest.mark.parametrize("theta", THETAS)
def test_derivatives_by_log_theta(family, theta):
    def difference(step, field):
        up = getattr(shape_at(family, X, theta * np.exp(step)), field)
        down = getattr(shape_at(family, X, theta * np.exp(-step)), field)
        return (up - down) / (2.0 * step)

    x = shape_at(family, X, theta)
    for field, of in (("first", "value"), ("second", "first")):
        numerical = (4.0 * difference(5e-4, of) - difference(1e-3, of)) / 3.0
        scale = np.abs(getattr(x, of)).max()
        np.testing.assert_allclose(getattr(x, field), numerical, rtol=1e-6, atol=1e-10 * min(scale, 1.0))


def test_saturating_becomes_a_straight_line():
    """(1 - exp(-x/t)) / (1 - exp(-1/t)) = x - x (x - 1) / (2 t) + O(1 / t**2)."""
    theta = 1e6
    np.testing.assert_allclose(
        shape_at("saturating", X, theta).value, X - X * (X - 1.0) / (2.0 * theta), rtol=1e-9
    )


def test_unknown_family():
    with pytest.raises(InputError, match=r"'logistic'.*power, saturating"):
        shape_at("logistic", X, 1.0)
