"""How stylists look and write: shares turned into courses, by hand."""

from __future__ import annotations

import numpy as np
import pytest

from outcomes.predictive.practice import LookGaps, look_intervals, shares_of

GAPS = LookGaps(np.array([5.0, 10.0]), np.array([0.5, 0.5]), np.array([[1.0, 0.0], [0.25, 0.75]]))


def test_shares_by_stylist_and_for_one_unknown() -> None:
    found = shares_of(np.array([1.0, 0.0]), np.array([30, 10]), np.array([1, 0, -1]))
    assert found.tolist() == [0.0, 1.0, 0.75]
    assert shares_of(np.zeros(0), np.array([30, 10]), np.array([1, -1])).tolist() == [0.0, 0.0]
    assert shares_of(np.array([1.0, 0.0]), np.zeros(2, dtype=int), np.array([-1])).tolist() == [0.5]


def test_unseen_sessions_come_before_the_usual_intervals() -> None:
    uniform = (np.arange(1000) + 0.5) / 1000
    stylist = np.ones(1000, dtype=int)
    minutes = look_intervals(GAPS, np.full(1000, 0.2), stylist, uniform)
    assert np.isinf(minutes).sum() == 200
    # of the other 800, a quarter look every five minutes
    assert (minutes == 5).sum() == pytest.approx(200, abs=1)
    assert (minutes == 10).sum() == pytest.approx(600, abs=1)


def test_certainly_unseen_and_certainly_seen() -> None:
    uniform, nobody = np.array([0.0, 0.5, 1.0]), np.full(3, -1)
    assert np.isinf(look_intervals(GAPS, np.ones(3), nobody, uniform * 0.999)).all()
    assert look_intervals(GAPS, np.zeros(3), nobody, uniform).tolist() == [5.0, 10.0, 10.0]
