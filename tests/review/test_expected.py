"""Counts of visits with unlike chances against the binomial and against counting out."""

from __future__ import annotations

from itertools import product

import numpy as np
import pytest
from scipy.stats import binom

from outcomes.review.expected import chance_of_count


@pytest.mark.parametrize("count", [0, 3, 9, 12])
def test_like_chances_are_binomial(count):
    at = binom.pmf(count, 12, 0.6)
    below, above = binom.cdf(count - 1, 12, 0.6) + at / 2, binom.sf(count, 12, 0.6) + at / 2
    assert chance_of_count(np.full(12, 0.6), count) == pytest.approx(min(1.0, 2 * min(below, above)))


def test_unlike_chances_counted_out():
    chances = np.array([0.1, 0.5, 0.9, 0.3])
    ways = np.array(list(product([0, 1], repeat=4)))
    shares = np.prod(np.where(ways == 1, chances, 1 - chances), axis=1)
    at = shares[ways.sum(axis=1) == 3].sum()
    above = shares[ways.sum(axis=1) == 4].sum() + at / 2
    assert chance_of_count(chances, 3) == pytest.approx(2 * above)


def test_chances_are_even_on_average():
    """Over counts as they come, the chance is below a tenth about a tenth of the time."""
    rng = np.random.default_rng(1)
    chances = rng.uniform(0.2, 0.95, 60)
    counts = (rng.random((4000, 60)) < chances).sum(axis=1)
    found = np.array([chance_of_count(chances, n) for n in range(61)])[counts]
    assert (found < 0.1).mean() == pytest.approx(0.1, abs=0.03)
    assert found.mean() == pytest.approx(0.5, abs=0.03)
