"""The truths of an invented world: the curve of time, rounding, variants by name."""

import numpy as np
import pytest

from outcomes.demo.worlds import WORLD_NAMES, World, world
from outcomes.errors import InputError


def test_power_curve():
    # 0.5 ** 0.62 and 1
    np.testing.assert_allclose(World().progress(np.array([22.5, 45.0])), [0.650670927, 1.0], rtol=1e-8)


def test_saturating_curve():
    # (1 - exp(-20/40)) / (1 - exp(-45/40)) = 0.3934693 / 0.6753475
    curve = world("saturating").progress(np.array([20.0, 45.0]))
    np.testing.assert_allclose(curve, [0.58261756, 1.0], rtol=1e-6)


def test_saturating_is_near_the_power_curve():
    minutes = np.arange(10.0, 61.0)
    gap = world("saturating").progress(minutes) - World().progress(minutes)
    assert 0.03 < np.abs(gap).max() < 0.07


def test_expected_rate_at_the_references():
    one = np.ones(1)
    rate = World().expected_log_rate(
        peroxide=6 * one, heat=0 * one, hair=0 * one, later=0 * one, true_start=5 * one
    )
    assert np.exp(rate[0]) == pytest.approx(4.3)


def test_expected_rate_with_everything():
    one = np.ones(1)
    rate = World().expected_log_rate(
        peroxide=12 * one, heat=0.22 * one, hair=-0.1 * one, later=one, true_start=8 * one
    )
    # log 4.3 + 0.42 log 2 + 0.22 - 0.10 - 0.12 - 0.02 * 3
    assert rate[0] == pytest.approx(1.458615023 + 0.291121816 + 0.22 - 0.10 - 0.12 - 0.06)


def test_readings_are_half_steps_within_the_scale():
    levels = World().rounded(np.array([0.2, 3.24, 3.25, 9.74, 9.75, 11.3]))
    np.testing.assert_array_equal(levels, [1.0, 3.0, 3.5, 9.5, 10.0, 10.0])


def test_variants_change_what_they_say():
    assert set(WORLD_NAMES) == {
        "plain", "no_looks", "look_bias", "heaped_results", "heavy_tails", "saturating", "reread_starts",
        "left_to_clock",
    }  # fmt: skip
    assert world("look_bias").look_bias == -0.3
    assert world("heaped_results").heaped_share == 0.8
    assert not world("no_looks").looks_recorded
    assert not world("left_to_clock").looks_recorded
    assert world("left_to_clock").clock_share == 0.4
    assert world("plain", tau_look=0.3).tau_look == 0.3


def test_unknown_names_are_refused():
    with pytest.raises(InputError, match="expected one of plain"):
        world("sunny")
    with pytest.raises(InputError, match="expected 'power' or 'saturating'"):
        World(shape="straight").progress(np.ones(1))
