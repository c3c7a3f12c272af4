"""Habits of work: adjusted means as least squares has them, associations that were put in."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
import statsmodels.formula.api as smf

from outcomes.review.habits import habits


def invented(n=3000, seed=1):
    """Odds of the goal 3 times for 3 % more developer; S0 uses more of it, and has longer ways to go."""
    rng = np.random.default_rng(seed)
    stylist = rng.integers(0, 4, n)
    start = rng.integers(6, 14, n) / 2
    wanted = rng.integers(2, 9, n) / 2 + (stylist == 0)
    peroxide = rng.choice([3.0, 6.0, 9.0], n) + 1.5 * (stylist == 0)
    log_odds = 1.5 - 0.8 * (wanted - 3) + np.log(3) / 3 * (peroxide - 6)
    return pd.DataFrame(
        {
            "client": [f"C{i}" for i in rng.integers(0, n, n)],
            "stylist": [f"S{i}" for i in stylist],
            "start_level": start,
            "goal_level": start + wanted,
            "hair": rng.choice(["natural", "coloured", "lightened"], n),
            "later_session": rng.random(n) < 0.3,
            "longest": rng.uniform(30, 50, n),
            "minutes": 40.0,
            "peroxide_pct": peroxide,
            "heat": rng.choice(["none", "low", "medium"], n),
            "n_looks": np.nan,
            "reached": rng.random(n) < 1 / (1 + np.exp(-log_odds)),
        }
    )


@pytest.fixture(scope="module")
def visits():
    return invented()


EVERYBODY = frozenset(f"S{i}" for i in range(4))
EVERY = pd.Series(np.ones(3000, dtype=bool))


def test_an_association_that_is_there_and_those_that_are_not(visits):
    found = habits(visits, EVERY, EVERYBODY).set_index("habit")
    assert found.loc["peroxide", "low"] < 3.0 < found.loc["peroxide", "high"]
    assert found.loc["peroxide", "p"] < 1e-6
    assert found.loc[["minutes", "heat"], "p"].min() > 0.01
    assert found["n"].tolist() == [3000] * 3
    assert "looks" not in found.index  # nobody wrote any down


def test_means_are_those_of_least_squares(visits):
    row = habits(visits, EVERY, EVERYBODY).set_index("habit").loc["peroxide"]
    frame = visits.assign(wanted=visits["goal_level"] - visits["start_level"])
    formula = "peroxide_pct ~ 0 + C(stylist) + wanted + start_level + C(hair) + C(later_session)"
    fit = smf.ols(formula, frame).fit()
    of = {code: fit.params[f"C(stylist)[{code}]"] for code in sorted(EVERYBODY)}
    assert row["highest_stylist"] == "S0"
    assert row["highest"] - row["lowest"] == pytest.approx(max(of.values()) - min(of.values()))
    assert row["lowest_stylist"] == min(of, key=of.get)


def test_who_is_not_shown_is_not_named(visits):
    found = habits(visits, EVERY, EVERYBODY - {"S0"})
    assert "S0" not in set(found["highest_stylist"]) | set(found["lowest_stylist"])
    alone = habits(visits, EVERY, frozenset({"S1"}))
    assert alone["highest"].isna().all()
    assert alone["odds_ratio"].notna().any()  # the team's


def test_the_quarter_s_means_and_everybody_s_association(visits):
    here = pd.Series(np.arange(3000) < 500)
    part, whole = habits(visits, here, EVERYBODY), habits(visits, EVERY, EVERYBODY)
    assert part["odds_ratio"].tolist() == whole["odds_ratio"].tolist()
    assert part["highest"].tolist() != whole["highest"].tolist()


@pytest.mark.parametrize("n", [0, 30])
def test_too_little_tells_nothing(n):
    few = invented(n) if n else invented(10).iloc[:0]
    found = habits(few, pd.Series(np.ones(len(few), dtype=bool), index=few.index), EVERYBODY)
    assert found["odds_ratio"].isna().all()


def test_goals_that_all_are_reached_tell_no_association(visits):
    assert habits(visits.assign(reached=True), EVERY, EVERYBODY)["odds_ratio"].isna().all()
