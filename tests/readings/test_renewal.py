"""Times of the last looks, against plain simulation of the same looks."""

from __future__ import annotations

import numpy as np
import pytest

from outcomes.readings.renewal import LONGEST, Gaps, gaps_about, last_looks


def _simulated(usual: float, log_sd: float, rinse: int, at_look: bool) -> np.ndarray:
    """The last two looks before the rinse of 400,000 rows of looks; without one at it dropped if need be.

    (n, 2): the one before last and the last; 0 where there was none.
    """
    rng = np.random.default_rng(5)
    n, kept = 400_000, []
    clock, last, before = np.zeros(n), np.zeros(n), np.zeros(n)
    while len(clock):
        gap = np.maximum(1.0, np.round(usual * np.exp(log_sd * rng.standard_normal(len(clock)))))
        clock = clock + gap
        over = clock >= rinse
        kept.append(np.c_[before, last][over & ((clock == rinse) | (not at_look))])
        clock, last, before = clock[~over], clock[~over], last[~over]
    return np.concatenate(kept)


def _ways(gaps: Gaps, rinse: int, at_look: bool) -> tuple[np.ndarray, np.ndarray]:
    """Times (ways, 2) as `_simulated` has them, and the chance of each way."""
    found = last_looks(gaps, rinse, at_look=at_look)
    assert found is not None
    minutes, way, chance = found
    times = np.array([[0.0, *minutes[way == k].tolist()][-2:] for k in range(way[-1] + 1)])
    return times, chance[np.unique(way, return_index=True)[1]]


@pytest.mark.parametrize(("usual", "rinse"), [(10.0, 12), (10.0, 22), (10.0, 45), (6.5, 30), (14.0, 50)])
@pytest.mark.parametrize("at_look", [True, False])
def test_times_are_those_of_looks_that_follow_each_other(usual, rinse, at_look):
    times, chance = _ways(gaps_about(np.array([usual]), np.ones(1), 0.2), rinse, at_look)
    seen = _simulated(usual, 0.2, rinse, at_look)
    tolerance = 5.0 / np.sqrt(len(seen))
    assert chance.sum() == pytest.approx(1.0)
    for which in (0, 1):
        found, true = times[:, which], seen[:, which]
        # a way seldomer than 1 in 50 of its third isn't told apart
        assert chance[found == 0].sum() == pytest.approx((true == 0).mean(), abs=0.02 + tolerance)
        assert chance @ found == pytest.approx(true.mean(), abs=tolerance * rinse + 0.02 * usual)
    # Times stand at the means of thirds: of a normal distribution 0.891 of the spread is left so, of a flat
    # one 0.943, the square root of 8/9.
    last, scale = times[:, 1], seen[:, 1].std()
    left = np.sqrt(chance @ (last - chance @ last) ** 2)
    assert 0.87 * scale - 0.1 < left < scale + 0.1
    # a late last look had a late one before it
    several, both = times[:, 0] > 0, seen[:, 0] > 0
    if both.mean() > 0.5:
        slope = np.cov(times[several].T, aweights=chance[several])
        expected = np.cov(seen[both].T)
        assert slope[0, 1] / slope[1, 1] == pytest.approx(expected[0, 1] / expected[1, 1], abs=0.1)


def test_gaps_that_never_vary_fall_on_their_multiples():
    gaps = gaps_about(np.array([10.0]), np.ones(1), 0.0)
    for rinse, at_look in ((50, True), (45, False)):
        assert [part.tolist() for part in last_looks(gaps, rinse, at_look=at_look)] == [
            [30.0, 40.0], [0, 0], [1.0, 1.0]
        ]  # fmt: skip
    assert [part.tolist() for part in last_looks(gaps, 15, at_look=False)] == [[10.0], [0], [1.0]]
    # nobody looked before 10 minutes
    assert [part.tolist() for part in last_looks(gaps, 8, at_look=False)] == [[0.0], [0], [1.0]]
    # no look can have been at 45
    assert last_looks(gaps, 45, at_look=True) is None


def test_several_usual_gaps_share_the_chance():
    gaps = gaps_about(np.array([5.0, 20.0]), np.array([0.25, 0.75]), 0.0)
    assert gaps.chance[5] == 0.25
    assert gaps.chance[20] == 0.75
    # to 20 by one gap, or by four of five minutes: the chance of a look there adds up
    assert gaps.looked[20] == pytest.approx(0.75 + 0.25**4)
    assert gaps.chance.sum() == pytest.approx(1.0)
    assert gaps.longer[LONGEST] == pytest.approx(0.0, abs=1e-12)
