"""Means of clustered values against statsmodels."""

from __future__ import annotations

import numpy as np
import pytest
import statsmodels.api as sm
from scipy.stats import t

from outcomes.review.clustered import clustered_mean
from outcomes.review.funnel import binomial_band


def test_as_statsmodels_has_it():
    rng = np.random.default_rng(3)
    client = rng.integers(0, 20, 70)
    values = rng.normal(0.4, 1.0, 70) + rng.normal(0, 1.0, 20)[client]
    found = clustered_mean(values, client, 0.9)
    fit = sm.OLS(values, np.ones(70)).fit(cov_type="cluster", cov_kwds={"groups": client})
    clients = len(np.unique(client))
    # statsmodels multiplies by (n - 1) / (n - k) as well, which is 1 for one column
    reach = t.ppf(0.95, clients - 1) * fit.bse[0]
    assert found.value == pytest.approx(values.mean())
    assert (found.low, found.high) == pytest.approx((found.value - reach, found.value + reach))
    assert found.p == pytest.approx(2 * t.sf(found.value / fit.bse[0], clients - 1))


def test_values_all_alike_are_known_within_their_step():
    found = clustered_mean([1.0] * 6, list("abcdef"), 0.9, step=1.0)
    assert found.high - found.low == pytest.approx(2 * t.ppf(0.95, 5) / np.sqrt(12 * 6))
    assert clustered_mean([1.0, 1.0], ["a", "a"], 0.9).p == 1.0
    assert np.isnan(clustered_mean([1.0, 1.0], ["a", "a"], 0.9).low)


@pytest.mark.parametrize(("count", "n"), [(0, 8), (3, 8), (8, 8), (45, 60)])
def test_exact_bands_are_those_of_statsmodels(count, n):
    from statsmodels.stats.proportion import proportion_confint

    low, high = binomial_band([count], [n], 0.9)
    assert (low[0], high[0]) == pytest.approx(proportion_confint(count, n, alpha=0.1, method="beta"))
