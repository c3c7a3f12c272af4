"""Visits of a simulated quarter beside what was expected: fair on average, and by whom they were worked."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from outcomes.predictive.reach import goal_chances
from outcomes.review.expected import expected_visits
from outcomes.review.narrowing import narrowing

QUARTER = pd.Period("2024Q2")


@pytest.fixture(scope="module")
def expected(team):
    found = expected_visits(team.model, team.model.predictive_)
    of_told = team.model.told_rows_["visit"].to_numpy()[found.place]
    assert (of_told == found.visits["visit"]).all()
    return replace(found, visits=found.visits[found.visits["quarter"] == QUARTER])


@pytest.fixture(scope="module")
def chances(team):
    rows = team.model.told_rows_
    goal = rows["goal_level"].to_numpy(dtype=float)
    minutes = np.where(rows["planned_minutes"].isna(), rows["minutes"], rows["planned_minutes"])
    return goal_chances(team.model.predictive_, team.model.told_, goal, minutes.astype(float), 256, 1)[0]


def test_the_visits_are_those_of_the_quarter_in_order(team, expected):
    visits = expected.visits
    when = team.log.visits["date"].dt.to_period("Q") == QUARTER
    assert len(visits) == when.sum()
    assert visits["date"].is_monotonic_increasing
    assert visits["chance"].between(0, 1).all()
    assert visits["reached"].dtype == bool


def test_as_many_goals_are_reached_as_expected(expected):
    """Within three standard errors of the sum of unlike chances."""
    visits = expected.visits
    error = np.sqrt((visits["chance"] * (1 - visits["chance"])).sum())
    assert abs(visits["reached"].sum() - visits["chance"].sum()) < 3.0 * error


def test_residuals_are_standard_normal_while_nobody_changes(expected):
    residual = expected.visits["residual"].dropna()
    n = len(residual)
    assert n > 150
    assert abs(residual.mean()) < 3.0 / np.sqrt(n)
    assert residual.std() == pytest.approx(1.0, abs=4.0 / np.sqrt(2 * n))


def test_a_chance_does_not_hang_on_who_worked_the_visit(team):
    """All visits given to a stylist of the same look habits: expectations of the first visits stay."""
    told, predictive = team.model.told_, team.model.predictive_
    rows = team.model.told_rows_
    goal, minutes = rows["goal_level"].to_numpy(dtype=float), rows["minutes"].to_numpy(dtype=float)
    first = told.first_visit
    one_way = _without_look_habits(predictive)
    as_it_was = goal_chances(one_way, told, goal, minutes, 128, 1)[0][first]
    others = replace(told, stylist=(told.stylist + 1) % len(predictive.stylists))
    moved = goal_chances(one_way, others, goal, minutes, 128, 1)[0][first]
    assert np.abs(moved - as_it_was).mean() < 0.02  # particles are aimed by the stylist's own term


def _without_look_habits(predictive):
    """Everybody looks as the whole log does."""
    gaps = predictive.look_gaps
    same = replace(gaps, by_stylist=np.broadcast_to(gaps.share, gaps.by_stylist.shape).copy())
    return replace(predictive, look_gaps=same)


def test_what_earlier_visits_told_counts(team, chances):
    """Of clients who come again, those whose hair proved fast are expected to reach more."""
    told, rows = team.model.told_, team.model.told_rows_
    effect = team.truth.clients.set_index("client")["effect"]
    true = rows["client"].map(effect).to_numpy(dtype=float)
    later = np.setdiff1d(np.arange(len(rows)), told.first_visit)
    reached = ((rows["stop"] == "target") | (rows["achieved_level"] >= rows["goal_level"])).to_numpy()
    assert len(later) > 100
    wanted = (rows["goal_level"] - rows["start_level"]).to_numpy(dtype=float)
    minutes = rows["minutes"].to_numpy(dtype=float)

    def told_of_hair(at):
        """Rank correlation with the client's own rate, levels wanted and minutes taken out."""
        left = [_residuals(values[at], wanted[at], minutes[at]) for values in (chances, true)]
        return np.corrcoef(*left)[0, 1]

    assert told_of_hair(later) > 0.1
    assert abs(told_of_hair(told.first_visit)) < 0.1
    assert reached[later].mean() == pytest.approx(chances[later].mean(), abs=0.12)


def _residuals(values, *others):
    matrix = np.column_stack([np.ones(len(values)), *others])
    return values - matrix @ np.linalg.lstsq(matrix, values, rcond=None)[0]


def test_narrowing_by_rows_is_that_of_more_visits(team):
    """20 of 120 rows set aside: with them the band is sqrt(100 / 120) as wide."""
    told = team.model.told_
    here = np.ones(len(told.start), dtype=bool)
    found = narrowing(team.model.predictive_, told, here, 20, 100).set_index("habit")
    assert found.loc["rows", "narrower"] == pytest.approx(1 - np.sqrt(100 / 120))
    assert found.loc["looks", "narrower"] >= 0.0
    assert 0.0 <= found.loc["looks", "now"] <= 1.0
    assert found["narrower"].is_monotonic_decreasing


def test_looks_and_true_minutes_would_narrow_where_they_lack(team):
    told = team.model.told_
    here = np.ones(len(told.start), dtype=bool)
    unlooked = replace(told, is_look=np.zeros_like(told.is_look), n_readings=np.minimum(told.n_readings, 1))
    rounded = replace(unlooked, rinse=np.maximum(15.0 * np.round(told.rinse / 15.0), 15.0))
    as_now = narrowing(team.model.predictive_, told, here, 0, 1).set_index("habit")["narrower"]
    found = narrowing(team.model.predictive_, rounded, here, 0, 1).set_index("habit")
    assert found.loc["looks", "narrower"] > as_now["looks"]
    assert found.loc["minutes", "now"] == 15.0
    assert found.loc["minutes", "narrower"] > 0.0
