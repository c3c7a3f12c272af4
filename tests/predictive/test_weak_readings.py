"""What weak readings say, against a search for the likeliest deviation by scipy."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import minimize_scalar
from scipy.stats import norm

from outcomes.predictive.read_off import LineOf
from outcomes.predictive.weak_readings import WeakReading, aim_at_weak

OWN, CENTRE, FACTOR, VARIANCE, SHARE = 1.7, 1.6, 1.1, 0.09, 0.9


def _likeliest(side, bound, sd):
    def minus_log(w):
        gained = SHARE * np.exp(CENTRE + FACTOR * (OWN + w - CENTRE))
        z = (bound - gained) / sd
        chance = norm.logcdf(side * z) if side else norm.logpdf(z)
        return w**2 / (2 * VARIANCE) - chance

    found = minimize_scalar(minus_log, bounds=(-5, 3), method="bounded", options={"xatol": 1e-10})
    step = 1e-4
    bend = (minus_log(found.x + step) + minus_log(found.x - step) - 2 * found.fun) / step**2
    return found.x, bend


@pytest.mark.parametrize(
    ("side", "bound"), [(1.0, 0.25), (1.0, 3.0), (-1.0, 6.75), (-1.0, 2.0), (0.0, 0.5), (0.0, 4.0)]
)
def test_it_is_the_likeliest_deviation(side, bound):
    n = np.ones(1)
    one = WeakReading(side, bound * n, 0.25 * n, SHARE * n)
    aim, precision, _ = aim_at_weak([one], OWN * n, CENTRE * n, FACTOR * n, VARIANCE * n, 0.0, np.zeros(1))
    likeliest, bend = _likeliest(side, bound, 0.25)
    # a normal about the aim, times that of all deviations, has its middle there
    assert (aim * precision / (precision + 1.0 / VARIANCE))[0] == pytest.approx(likeliest, abs=2e-4)
    if side == 1.0:
        assert precision[0] + 1.0 / VARIANCE == pytest.approx(bend, rel=2e-3)


def test_the_start_s_doubt_widens_the_error():
    n = np.ones(1)
    narrow = WeakReading(1.0, 0.25 * n, 0.5 * n, SHARE * n)
    wide = WeakReading(1.0, 0.25 * n, 0.3 * n, SHARE * n)
    given = (OWN * n, CENTRE * n, FACTOR * n, VARIANCE * n, 0.0)
    first = aim_at_weak([narrow], *given, np.zeros(1))
    second = aim_at_weak([wide], *given, np.array([0.4**2]))
    for one, other in zip(first, second, strict=True):
        assert one == pytest.approx(other, abs=1e-12)


def test_where_nothing_else_is_known_a_value_is_a_line():
    """A wide distribution of deviations leaves the reading alone: what a line through it says."""
    n = np.ones(1)
    gain, sd = 4.0 * n, 0.25 * n
    line = LineOf([gain], [1.0 / sd**2], [SHARE * n]).line(np.zeros(1))
    aim, precision, log_fit = aim_at_weak(
        [WeakReading(0.0, gain, sd, SHARE * n)], 0.0 * n, 0.0 * n, n, 1e6 * n, 0.0, np.zeros(1)
    )
    assert aim == pytest.approx(line.log_rate, abs=1e-6)
    assert precision == pytest.approx(line.precision, rel=1e-6)
    assert log_fit == pytest.approx(line.log_fit, abs=1e-6)


def test_how_far_a_start_would_have_to_be_off():
    n = np.ones(3)
    rates = np.array([0.1, 0.5, 2.0])
    assert WeakReading(1.0, 0.25 * n, n, n).short(rates) == pytest.approx([0.0, -0.25, -1.75])
    assert WeakReading(-1.0, 1.0 * n, n, n).short(rates) == pytest.approx([0.9, 0.5, 0.0])
    assert WeakReading(0.0, 1.0 * n, n, n).short(rates) == pytest.approx([0.9, 0.5, -1.0])
