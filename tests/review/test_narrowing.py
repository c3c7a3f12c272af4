"""What readings tell of a rate, against least squares written out; and what habits would narrow."""

from __future__ import annotations

import numpy as np
import pytest

from outcomes.review.narrowing import heaped_to, told_of_rate


@pytest.mark.parametrize("start", [0.0, 0.04, 4.0])
def test_information_is_that_of_least_squares(start):
    """Readings y = d + gained * delta + error: the inverse variance of delta by generalised least squares."""
    gained, variance = np.array([1.0, 2.0, 2.5, 3.0]), np.array([0.05, 0.05, 0.03, 0.05])
    visit = np.array([0, 0, 0, 1])
    found = told_of_rate(gained, visit, variance, start, 3)
    for number in (0, 1):
        mine = visit == number
        covariance = np.diag(variance[mine]) + start
        assert found[number] == pytest.approx(gained[mine] @ np.linalg.solve(covariance, gained[mine]))
    assert found[2] == 0.0  # a visit without readings


@pytest.mark.parametrize(
    ("minutes", "step"),
    [
        ([30, 45, 60, 45, 30], 15.0),
        ([30, 40, 50, 20, 45], 10.0),
        ([35, 40, 25, 45, 50], 5.0),
        ([31, 42, 37, 45, 50], 0.0),
        ([], 0.0),
    ],
)
def test_rounded_minutes(minutes, step):
    assert heaped_to(minutes) == step
