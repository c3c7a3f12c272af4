"""Loss of condition: what is expected is what is written on average, and a stylist's own is told apart."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from outcomes.models.condition_loss import condition_loss


def invented(n=1200, harsh=0.0, seed=1):
    """Losses of 0.3 points with an sd of 0.4, more with strong developer, and more with stylist S0."""
    rng = np.random.default_rng(seed)
    peroxide = rng.choice([3.0, 6.0, 9.0], n)
    stylist = rng.integers(0, 4, n)
    before = rng.integers(3, 6, n).astype(float)
    loss = 0.3 + 0.4 * np.log(peroxide / 6) + harsh * (stylist == 0) + 0.4 * rng.standard_normal(n)
    return pd.DataFrame(
        {
            "client": [f"C{i}" for i in rng.integers(0, n // 2, n)],
            "stylist": [f"S{i}" for i in stylist],
            "minutes": rng.uniform(20, 50, n),
            "peroxide_pct": peroxide,
            "heat": rng.choice(["none", "low"], n),
            "hair": rng.choice(["natural", "coloured"], n),
            "later_session": rng.random(n) < 0.3,
            "condition_before": before,
            "condition_after": np.clip(np.round(before - loss), 1, 5),
        }
    )


def test_what_is_expected_is_what_is_written_on_average():
    visits = invented()
    found = condition_loss(visits)
    for strong in (3.0, 6.0, 9.0):
        rows = (visits["peroxide_pct"] == strong).to_numpy()
        error = found.observed[rows].std() / np.sqrt(rows.sum())
        assert abs(found.observed[rows].mean() - found.expected[rows].mean()) < 3.0 * error
    by_hand = visits["condition_before"] - visits["condition_after"]
    assert (found.observed == by_hand).all()
    assert found.fit.coefficients["peroxide"] == pytest.approx(0.4, abs=0.1)


def test_a_stylist_who_costs_more_is_told_apart_and_not_expected_to():
    visits = invented(harsh=0.4)
    found = condition_loss(visits)
    hers = (visits["stylist"] == "S0").to_numpy()
    assert (found.observed[hers] - found.expected[hers]).mean() > 0.15
    assert (found.observed[~hers] - found.expected[~hers]).mean() < 0.0
    others = [found.effects[f"S{i}"] for i in (1, 2, 3)]
    assert found.effects["S0"] - np.mean(others) == pytest.approx(0.4, abs=0.15)
    assert all(error > 0 for error in found.errors.values())


def test_rows_without_conditions_are_passed_over():
    visits = invented(200)
    visits.loc[::3, "condition_after"] = np.nan
    found = condition_loss(visits)
    assert np.isnan(found.observed).tolist() == visits["condition_after"].isna().tolist()
    assert np.isnan(found.expected).tolist() == np.isnan(found.observed).tolist()


def test_too_little_to_expect_anything_of():
    assert condition_loss(invented(39)) is None
    assert condition_loss(invented(300).assign(stylist="S1")) is None
