"""How stylists look and write: shares turned into courses, by hand."""

from __future__ import annotations

import numpy as np
import pytest

from outcomes.predictive.practice import LookGaps, look_times, shares_of

GAPS = LookGaps(np.array([5.0, 10.0]), np.array([0.5, 0.5]), np.array([[1.0, 0.0], [0.25, 0.75]]))


def test_shares_by_stylist_and_for_one_unknown() -> None:
    found = shares_of(np.array([1.0, 0.0]), np.array([30, 10]), np.array([1, 0, -1]))
    assert found.tolist() == [0.0, 1.0, 0.75]
    assert shares_of(np.zeros(0), np.array([30, 10]), np.array([1, -1])).tolist() == [0.0, 0.0]
    assert shares_of(np.array([1.0, 0.0]), np.zeros(2, dtype=int), np.array([-1])).tolist() == [0.5]


def test_unseen_sessions_come_before_the_usual_intervals() -> None:
    uniform = (np.arange(1000) + 0.5) / 1000
    stylist, rinse = np.ones(1000, dtype=int), np.full(1000, 12.0)
    first, second = look_times(GAPS, np.full(1000, 0.2), stylist, uniform, rinse)
    assert np.isinf(first).sum() == 200
    # of the other 800, a quarter look first after five minutes, and a quarter of those again after ten
    assert (first == 5).sum() == pytest.approx(200, abs=1)
    assert (first == 10).sum() == pytest.approx(600, abs=1)
    assert (second == 10).sum() == pytest.approx(50, abs=12)
    assert np.isinf(second).sum() == 1000 - (second == 10).sum()


def test_every_interval_is_drawn_anew_and_none_lasts_beyond_the_rinse() -> None:
    uniform = (np.arange(4096) + 0.5) / 4096
    rinse = np.full(4096, 38.0)
    times = look_times(GAPS, np.zeros(4096), np.full(4096, -1), uniform, rinse)
    assert times.shape == (7, 4096)
    assert (times[np.isfinite(times)] < 38).all()
    gaps = np.diff(times[:3], axis=0, prepend=0.0)
    assert ((gaps == 5) | (gaps == 10)).all()
    assert (gaps == 5).mean(axis=1) == pytest.approx([0.5] * 3, abs=0.01)
    # one tells nothing of the next
    assert np.corrcoef(gaps)[np.triu_indices(3, 1)] == pytest.approx([0.0] * 3, abs=0.05)


def test_certainly_unseen_and_certainly_seen() -> None:
    uniform, nobody, rinse = np.array([0.0, 0.5, 0.999]), np.full(3, -1), np.full(3, 11.0)
    assert look_times(GAPS, np.ones(3), nobody, uniform, rinse).shape == (0, 3)
    assert look_times(GAPS, np.zeros(3), nobody, uniform, rinse)[0].tolist() == [5.0, 10.0, 10.0]
    none = LookGaps(np.zeros(0), np.zeros(0), np.zeros((2, 0)))
    assert look_times(none, np.zeros(3), nobody, uniform, rinse).shape == (0, 3)
