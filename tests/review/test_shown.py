"""Suppression by measure, of what rests on fewer clients than the visits do; and what is compared."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from outcomes.review.charts import funnel_limits
from outcomes.review.funnel import Overdispersion, binomial_limits, widened
from outcomes.review.measures import Measured, changes, promises, rates
from outcomes.review.promise import kept_promises
from outcomes.review.shown import Shown


def visits_of(counts):
    """So many visits of each stylist, each of a client of its own."""
    rows = [(code, f"{code} {i}") for code, n in counts.items() for i in range(n)]
    return pd.DataFrame(rows, columns=["stylist", "client"])


def measured(clients, value=1.0, **team):
    own = {code: frozenset(f"{code} {i}" for i in range(n)) for code, n in clients.items()}
    table = pd.DataFrame({"loss_observed": value}, index=list(clients))
    return Measured(table, own, sum(clients.values()), (), team)


@pytest.fixture
def shown():
    return Shown.of(visits_of({"S1": 20, "S2": 15, "S3": 9, "S4": 12}), 5)


def test_everybody_may_be_shown_of_their_visits(shown):
    assert shown.stylists == ("S1", "S2", "S3", "S4")
    assert shown.team


def test_a_measure_of_fewer_clients_is_hidden_by_itself_and_takes_the_next_along(shown):
    part = measured({"S1": 20, "S2": 3, "S3": 8, "S4": 12})
    assert shown.hides(part) == {"S2", "S3"}
    table = shown.table([part], pd.DataFrame(index=["S1", "S2", "S3", "S4"])).set_index("stylist")
    assert table["loss_observed"].isna().to_dict() == {"S1": False, "S2": True, "S3": True, "S4": False}
    assert not table["suppressed"].any()
    assert table["visits"].to_dict() == {"S1": 20, "S2": 15, "S3": 9, "S4": 12}


def test_who_is_hidden_is_so_in_every_measure():
    few = Shown.of(visits_of({"S1": 20, "S2": 2, "S3": 9, "S4": 12}), 5)
    assert few.hidden == {"S2", "S3"}
    assert few.hides(measured({"S1": 20, "S2": 30, "S3": 30, "S4": 12})) == {"S2", "S3"}


def test_who_quoted_without_a_visit_in_the_quarter_is_never_shown(shown):
    part = measured({"S1": 20, "S2": 15, "S3": 9, "S4": 12, "S9": 7})
    assert {"S9"} < shown.hides(part)  # with somebody beside, or the total would tell
    assert "S9" not in set(shown.table([part], pd.DataFrame())["stylist"])


def test_the_teams_own_numbers_need_as_many_clients(shown):
    assert shown.of_team(measured({"S1": 3, "S2": 1}, n=4)) is None
    assert shown.of_team(measured({"S1": 3, "S2": 2}, n=5)) == {"n": 5}
    assert shown.of_team(measured({"S1": 9})) is None  # nothing was measured


def test_promises_by_number_count_the_clients_of_settled_courses(shown):
    """Quoted 3: one settled course, five open ones of other clients."""
    courses = pd.DataFrame(
        {
            "course": range(18),
            "stylist": "S1",
            "client": [f"C{i}" for i in range(18)],
            "quoted": [1.0] * 12 + [3.0] * 6,
            "sessions": [1.0] * 12 + [5.0] + [1.0] * 5,
            "reached": [True] * 13 + [False] * 5,
            "settled": [True] * 13 + [False] * 5,
            "within": [True] * 12 + [False] * 6,
        }
    )
    kept = kept_promises(courses, "quoted")
    assert kept.set_index("quoted").loc[3.0, "n"] == 1
    told = shown.promises(kept, courses).set_index("quoted")
    assert told[["needed", "within", "n"]].isna().all(axis=None)  # the other number would tell it
    assert told.loc[3.0, "unsettled"] == 5


def test_limits_are_widened_where_stylists_differ_beyond_chance():
    alone = funnel_limits(60, 0.8, Overdispersion(1.0, 0.0, 9)).set_index("n")
    wide = funnel_limits(60, 0.8, Overdispersion(2.5, 0.07, 9)).set_index("n")
    exact = binomial_limits(0.8, [50], (0.025, 0.975, 0.001, 0.999))
    at = alone.index[np.abs(alone.index - 50).argmin()]
    assert list(alone.loc[at, ["low_95", "high_95"]]) == pytest.approx(
        list(binomial_limits(0.8, [at], (0.025, 0.975))[0])
    )
    expected = widened(binomial_limits(0.8, [at], (0.025, 0.975)), 0.8, [0.16 / at], 0.07)[0]
    assert list(wide.loc[at, ["low_95", "high_95"]]) == pytest.approx(list(expected))
    assert wide.loc[at, "low_95"] < alone.loc[at, "low_95"] - 0.03
    assert exact.shape == (1, 4)
    assert alone.index.max() == 69  # 15 % beyond the busiest


class Rates:
    """Draws of two stylists, as `StylistRates` has them."""

    stylists = ("S1", "S2")
    rng = np.random.default_rng(1)
    log_ratio = rng.normal([0.1, -0.1], [0.04, 0.4], (4000, 2))
    change = rng.normal([0.2, 0.0], [0.05, 0.05], (4000, 2))

    def table(self, coverage):
        low, value, high = np.exp(np.quantile(self.log_ratio, [0.05, 0.5, 0.95], axis=0))
        ends = np.exp(np.quantile(self.change, [0.05, 0.5, 0.95], axis=0))
        return pd.DataFrame(
            {
                "stylist": self.stylists, "raw": 1.0, "value": value, "low": low, "high": high,
                "change": ends[1], "change_low": ends[0], "change_high": ends[2],
                "best_third": np.nan, "lowest_third": np.nan,
            }
        )  # fmt: skip


def test_what_is_compared_is_what_the_band_shows():
    """Twice the normal tail of 0.1 / 0.04 and 0.1 / 0.4: 0.0124 and 0.803."""
    one, other = rates(Rates(), visits_of({"S1": 9, "S2": 9})).comparisons
    assert one.p == pytest.approx(0.0124, abs=0.003)
    assert one.low > 1.0
    assert other.p == pytest.approx(0.803, abs=0.03)
    assert other.low < 1.0 < other.high


def test_a_change_needs_the_clients_of_both_quarters():
    part = changes(Rates(), visits_of({"S1": 9, "S2": 9}), visits_of({"S1": 2, "S2": 30}))
    assert {code: len(own) for code, own in part.clients.items()} == {"S1": 2, "S2": 9}
    assert part.comparisons[0].p < 0.001


def test_promises_are_means_over_settled_courses():
    courses = pd.DataFrame(
        {
            "course": range(6), "stylist": ["A"] * 6, "client": list("abcdef"), "quoted": 2.0,
            "sessions": [1, 2, 2, 3, 3, 1], "reached": [True] * 5 + [False], "settled": [True] * 5 + [False],
            "within": [True, True, True, False, False, False],
        }
    )  # fmt: skip
    found = promises(courses)
    assert found.team == {"quoted": 2.0, "needed": 2.2, "within": 3, "n": 5}
    assert [one.who for one in found.comparisons] == ["", "A"]
    assert found.comparisons[0].value == pytest.approx(0.2)
