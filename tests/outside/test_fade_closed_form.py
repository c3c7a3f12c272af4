"""Simulated fade against closed forms: first passage of a threshold, and a blend window.

log R normal with mean 0 and sd 0.4, reference 10 washes, threshold 1.5. With a power of theta 0.7 the washes
until the threshold are W = 10 (1.5 / R)^(1 / 0.7), so log-normal; a saturating curve of theta 12 washes has
the ceiling R / (1 - exp(-10 / 12)). Values are those of the normal distribution (scipy 1.17.1).
"""

import numpy as np
import pytest
from scipy.stats import norm

from outcomes.answers.root_shade import root_shade
from outcomes.predictive.washes import fade_rates
from tests.predictive.fades import invented_fade


def _until(**changes):
    fade = invented_fade(sd_client=0.4, intercept=0.0, **changes)
    rates = fade_rates(fade, "roots", [{"root_level": 6.0, "root_tone": "neutral", "shampoo": "plain"}])
    return rates.washes_until(1.5)[0]


def test_washes_until_a_threshold_by_a_power():
    washes = _until(theta=0.7)
    # a lattice of 4,096 clients: quantiles to a fiftieth of an sd
    expected = [8.580617, 17.846742, 37.119266]
    assert np.quantile(washes, [0.1, 0.5, 0.9]) == pytest.approx(expected, rel=0.01)
    assert (washes <= 10).mean() == pytest.approx(0.155371847, abs=0.003)
    assert (washes <= 30).mean() == pytest.approx(0.818300849, abs=0.003)
    assert np.isfinite(washes).all()


def test_share_that_never_gets_there():
    washes = _until(theta=1.2, family="saturating")
    assert np.isinf(washes).mean() == pytest.approx(0.340212264, abs=0.003)
    assert (washes <= 10).mean() == pytest.approx(0.155371847, abs=0.003)
    assert (washes <= 30).mean() == pytest.approx(0.578382672, abs=0.003)
    at_one = fade_rates(
        invented_fade(sd_client=0.0, intercept=0.0, theta=1.2, family="saturating"),
        "roots",
        [{"root_level": 6.0, "root_tone": "neutral", "shampoo": "plain"}],
    )
    assert at_one.washes_until(1.5)[0] == pytest.approx(22.614607, rel=1e-6)


def test_blend_window():
    """Level then of a level 5 shade: 5 + R after 10 washes, inside 5 to 6 while R <= 1.

    R log-normal (0, 0.4): a half; up to 6.5 the chance of R <= 1.5, the normal's at log(1.5) / 0.4.
    """
    fade = invented_fade(sd_client=0.4, intercept=0.0, theta=0.7)
    for limit, chance in ((6.0, 0.5), (6.5, norm.cdf(np.log(1.5) / 0.4))):
        answer = root_shade(fade, 5.0, 9.0, 10, limit, tone="neutral", shampoo="plain")
        first = answer.candidates[0]
        assert (first.root_level, first.root_tone) == (5.0, "neutral")
        assert first.blends == pytest.approx(chance, abs=0.003)
        low, high = np.exp(0.4 * norm.ppf([0.1, 0.9]))
        assert first.level_then.low == pytest.approx(5 + low, abs=0.01)
        assert first.level_then.high == pytest.approx(5 + high, abs=0.02)
