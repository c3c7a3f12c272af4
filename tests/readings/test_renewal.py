"""Times of the last look, against plain simulation of the same looks."""

from __future__ import annotations

import numpy as np
import pytest

from outcomes.readings.renewal import LONGEST, gaps_about, last_look


def _simulated(usual: float, log_sd: float, rinse: int, at_look: bool) -> np.ndarray:
    """Last looks before the rinse of 400,000 rows of looks, those without a look at it dropped if need be."""
    rng = np.random.default_rng(5)
    n, kept = 400_000, []
    clock, last = np.zeros(n), np.zeros(n)
    while len(clock):
        gap = np.maximum(1.0, np.round(usual * np.exp(log_sd * rng.standard_normal(len(clock)))))
        clock = clock + gap
        over = clock >= rinse
        kept.append(last[over & ((clock == rinse) | (not at_look))])
        clock, last = clock[~over], clock[~over]
    return np.concatenate(kept)


@pytest.mark.parametrize(("usual", "rinse"), [(10.0, 12), (10.0, 45), (6.5, 30), (14.0, 50)])
@pytest.mark.parametrize("at_look", [True, False])
def test_times_are_those_of_looks_that_follow_each_other(usual, rinse, at_look):
    found, weight = last_look(gaps_about(np.array([usual]), np.ones(1), 0.2), rinse, at_look=at_look)
    seen = _simulated(usual, 0.2, rinse, at_look)
    tolerance = 5.0 / np.sqrt(len(seen))
    assert weight.sum() == pytest.approx(1.0)
    assert weight[found == 0].sum() == pytest.approx((seen == 0).mean(), abs=tolerance)
    assert weight @ found == pytest.approx(seen.mean(), abs=tolerance * rinse)
    # five times stand for many, at the means of their parts: the spread is a little smaller
    assert np.sqrt(weight @ (found - weight @ found) ** 2) == pytest.approx(seen.std(), rel=0.08, abs=0.1)


def test_gaps_that_never_vary_fall_on_their_multiples():
    gaps = gaps_about(np.array([10.0]), np.ones(1), 0.0)
    assert [part.tolist() for part in last_look(gaps, 50, at_look=True)] == [[40.0], [1.0]]
    assert [part.tolist() for part in last_look(gaps, 45, at_look=False)] == [[40.0], [1.0]]
    # no look can have been at 45
    assert [len(part) for part in last_look(gaps, 45, at_look=True)] == [0, 0]


def test_several_usual_gaps_share_the_chance():
    gaps = gaps_about(np.array([5.0, 20.0]), np.array([0.25, 0.75]), 0.0)
    assert gaps.chance[5] == 0.25
    assert gaps.chance[20] == 0.75
    # to 20 by one gap, or by four of five minutes: the chance of a look there adds up
    assert gaps.looked[20] == pytest.approx(0.75 + 0.25**4)
    assert gaps.chance.sum() == pytest.approx(1.0)
    assert gaps.longer[LONGEST] == pytest.approx(0.0, abs=1e-12)
