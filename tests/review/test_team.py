"""A quarter's review of invented teams whose stylists are known."""

from __future__ import annotations

import json
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from outcomes.calibration.ahead import of_visits
from outcomes.demo.simulate import simulate_log
from outcomes.demo.worlds import world
from outcomes.errors import InputError
from outcomes.models.lift import LiftModel
from outcomes.review.findings import FALSE_DISCOVERIES
from outcomes.review.funnel import binomial_limits
from outcomes.review.measures import goals
from outcomes.review.team import NEVER_RECORDED, team_review
from tests.models.logs import as_log

QUARTER = "2024Q2"


@pytest.fixture(scope="module")
def small():
    """Six stylists, some 330 visits."""
    tables, truth = simulate_log(replace(world("plain"), n_stylists=6), 330, 11)
    return as_log(tables), truth


@pytest.fixture(scope="module")
def by_model(small):
    """The distribution of a model that knows visits up to the end of the quarter alone."""
    log = of_visits(small[0], small[0].visits["date"] < "2024-07-01")
    return LiftModel(shapes=("power",)).fit(log).predictive_


@pytest.fixture(scope="module")
def review(team):
    return team_review(team.log, QUARTER)


def of_quarter(log):
    return log.visits[log.visits["date"].dt.to_period("Q") == pd.Period(QUARTER)]


def test_every_stylist_of_the_quarter_has_a_row_with_its_counts(team, review):
    visits = of_quarter(team.log)
    groups = visits.groupby("stylist")
    rows = review.stylists.set_index("stylist")
    assert list(rows.index) == sorted(visits["stylist"].unique())
    assert not rows["suppressed"].any()
    assert (rows["visits"] == groups.size()).all()
    assert (rows["clients"] == groups["client"].nunique()).all()
    came = (visits["stop"] == "target") | (visits["achieved_level"] >= visits["goal_level"])
    assert (rows["goal_observed"] == came.groupby(visits["stylist"]).sum()).all()
    assert review.team["goal"]["observed"] == came.sum()
    assert rows["goal_expected"].sum() == pytest.approx(review.team["goal"]["expected"])


def test_bands_of_rates_hold_the_simulators_stylists(team, review):
    effect = team.truth.stylists.set_index("stylist")["effect"].reindex(review.stylists["stylist"])
    true = np.exp(effect - effect.mean()).to_numpy()
    held = (review.stylists["rate_low"] <= true) & (true <= review.stylists["rate_high"])
    assert held.sum() >= 6  # of eight, nine in ten on average
    raw, shrunk = (np.log(review.stylists[name]) for name in ("rate_raw", "rate"))
    assert np.ptp(shrunk) < np.ptp(raw)


def test_chances_of_thirds_add_up_to_the_places_there_are(review):
    third = round(len(review.stylists) / 3)
    assert review.stylists["best_third"].sum() == pytest.approx(third)
    assert review.stylists["lowest_third"].sum() == pytest.approx(third)


def test_the_quarters_bands_are_checked_out_of_fold(review):
    assert review.calibration["of"] == "quarter"
    assert (
        review.calibration["low"] <= 0.8 <= review.calibration["high"]
    )  # the simulator's world is the model's
    assert review.calibration["readings"] > review.calibration["clients"] >= 100


def test_findings_pass_the_rule_and_say_their_numbers(review):
    assert 1 <= len(review.findings) <= 5
    assert review.compared >= len(review.stylists)
    for one in review.findings:
        assert one.p <= FALSE_DISCOVERIES
        assert f"{one.n} " in one.sentence or f"{one.n:,} " in one.sentence
        assert "90 % band" in one.sentence


def test_json_has_the_names_that_were_agreed_on(review):
    told = json.loads(json.dumps(review.to_dict(), allow_nan=False))
    assert {"quarter", "stylists", "team", "calibration", "findings"} <= set(told)
    assert told["quarter"] == QUARTER
    first = told["stylists"][0]
    assert set(first) == {
        *("stylist", "visits", "clients", "rate_ratio", "goal", "promise", "condition_loss", "fade_ratio"),
        *("change", "thirds", "data_quality", "suppressed"),
    }
    assert set(first["rate_ratio"]) == {"raw", "value", "low", "high"}
    assert set(first["goal"]) == {"observed", "expected", "n"}
    assert set(first["promise"]) == {"quoted", "needed", "within", "n"}
    assert set(first["fade_ratio"]) == set(first["change"]) == {"value", "low", "high"}
    assert set(first["thirds"]) == {"best", "lowest"}
    assert first["visits"] == int(review.stylists["visits"][0])


def test_what_came_after_the_quarter_changes_nothing(small, by_model):
    log = small[0]
    later = team_review(log, "2024Q1", predictive=_until(by_model, "2024-03"))
    cut = of_visits(log, log.visits["date"] < "2024-04-01")
    alone = team_review(cut, "2024Q1", predictive=_until(by_model, "2024-03"))
    pd.testing.assert_frame_equal(later.stylists, alone.stylists)
    assert later.to_dict()["findings"] == alone.to_dict()["findings"]


def _until(predictive, month):
    return replace(predictive, basis=replace(predictive.basis, until=month))


def test_a_model_that_knows_later_visits_is_refused(small, by_model):
    with pytest.raises(InputError, match="visits up to 2024-06 in it, and the quarter 2024Q1 ended before"):
        team_review(small[0], "2024Q1", predictive=by_model)
    with pytest.raises(InputError, match="doesn't say up to when"):
        team_review(small[0], QUARTER, predictive=_until(by_model, ""))


def test_a_stylist_with_hard_cases_alone_is_not_marked_down():
    """Of one stylist the longer half of ways to go stays: fewer goals come, as expected."""
    tables, truth = simulate_log(replace(world("plain"), n_stylists=3), 480, 4)
    log = as_log(tables)
    visits = log.visits
    effect = truth.stylists.set_index("stylist")["effect"]
    code = str((effect - effect.mean()).abs().idxmin())  # who lifts as the team does
    way = visits["goal_level"] - visits["start_level"]
    kept = (visits["stylist"] != code) | (way > way.median())
    hard = of_visits(log, kept & (visits["date"] < "2024-07-01"))
    review = team_review(hard, QUARTER, predictive=LiftModel(shapes=("power",)).fit(hard).predictive_)
    row = review.stylists.set_index("stylist").loc[code]
    others = review.stylists[review.stylists["stylist"] != code]
    usual = others["goal_observed"].sum() / others["goal_n"].sum()
    assert row["goal_n"] >= 10
    assert row["goal_observed"] / row["goal_n"] < usual - 0.1  # fewer goals came
    target = review.team["goal"]["expected"] / review.team["goal"]["n"]
    low, high = binomial_limits(target, [int(row["goal_n"])], (0.025, 0.975))[0]
    assert low <= row["goal_share"] <= high
    assert not [one for one in review.findings if one.who == code and one.kind in ("goal", "rate")]
    assert row["rate_low"] < 1.0 < row["rate_high"]


def test_a_quarter_with_one_stylist_compares_no_rates(small, by_model):
    log = small[0]
    code = of_quarter(log)["stylist"].value_counts().index[0]
    when = log.visits["date"].dt.to_period("Q")
    alone = of_visits(log, (when != pd.Period(QUARTER)) | (log.visits["stylist"] == code))
    review = team_review(alone, QUARTER, predictive=by_model)
    (row,) = review.stylists.to_dict("records")
    assert row["stylist"] == code
    assert not row["suppressed"]
    assert np.isnan(row["rate"])
    assert np.isnan(row["best_third"])
    assert row["goal_n"] == len(of_quarter(alone))
    assert "nobody to compare" in review.notes[0]


def test_a_quarter_with_no_visits_is_refused_with_those_that_have_some(small):
    with pytest.raises(
        InputError, match="2026Q3: the log has no visit in it; its visits are of 2023Q1 to 2024Q"
    ):
        team_review(small[0], "2026Q3")
    for wrong in ("2024", "2024Q5", "Q2 2024", ""):
        with pytest.raises(InputError, match="as 2026Q3"):
            team_review(small[0], wrong)


def test_all_suppressed_shows_the_team_alone(small, by_model):
    review = team_review(small[0], QUARTER, predictive=by_model, min_clients=200)
    assert review.stylists["suppressed"].all()
    assert review.stylists.drop(columns=["stylist", "suppressed"]).isna().all(axis=None)
    assert review.team["visits"] is None  # fewer than 200 clients in all
    assert review.chart.empty
    assert review.funnel.empty
    assert not review.findings
    assert review.promises[["needed", "within", "n"]].isna().all(axis=None)
    assert review.narrowing.empty
    json.dumps(review.to_dict(), allow_nan=False)


def test_one_stylist_of_few_clients_takes_another_along(small, by_model):
    """The totals less all others would tell what the one hides."""
    log = small[0]
    visits = of_quarter(log)
    code = visits["stylist"].value_counts().index[0]
    keep = visits[visits["stylist"] == code].drop_duplicates("client")["visit"].head(3)
    gone = log.visits["visit"].isin(visits.loc[visits["stylist"] == code, "visit"]) & ~log.visits[
        "visit"
    ].isin(keep)
    few = of_visits(log, ~gone)
    review = team_review(few, QUARTER, predictive=by_model)
    rows = review.stylists.set_index("stylist")
    hidden = set(rows.index[rows["suppressed"]])
    assert code in hidden
    assert len(hidden) >= 2
    clients = of_quarter(few).groupby("stylist")["client"].nunique()
    assert clients[list(hidden)].sum() >= 5
    assert rows.loc[list(hidden)].drop(columns="suppressed").isna().all(axis=None)
    left = review.team["goal"]["n"] - rows["goal_n"].sum()
    assert left == of_quarter(few)["stylist"].isin(hidden).sum()
    assert set(review.chart["stylist"]).isdisjoint(hidden)
    assert not {*review.habits["lowest_stylist"], *review.habits["highest_stylist"]} & hidden
    assert not {one.who for one in review.findings} & hidden


def test_fewer_than_five_cannot_be_asked_for(small):
    with pytest.raises(InputError, match="--min-clients 4: 5 or more"):
        team_review(small[0], QUARTER, min_clients=4)


def test_one_salon_is_its_own_team(small, by_model):
    log = small[0]
    visits = of_quarter(log)
    salon = str(visits["salon"].value_counts().index[0])
    review = team_review(log, QUARTER, predictive=by_model, salon=salon)
    mine = visits[visits["salon"] == salon]
    assert list(review.stylists["stylist"]) == sorted(mine["stylist"].unique())
    assert review.team["visits"] == len(mine)
    shown = review.stylists.dropna(subset="rate_raw")
    if len(shown) == mine["stylist"].nunique():
        assert np.log(shown["rate_raw"]).sum() == pytest.approx(0.0, abs=1e-9)  # against its own middle
    with pytest.raises(InputError, match="no such salon; it has L1, L2, L3"):
        team_review(log, QUARTER, salon="X")


def test_what_was_never_written_is_said(small, by_model):
    log = small[0]
    bare = replace(
        log, visits=log.visits.assign(texture=None, quoted_sessions=np.nan, condition_after=np.nan)
    )
    review = team_review(bare, QUARTER)
    assert "texture" in review.not_recorded
    assert "texture" not in review.adjusted
    assert set(NEVER_RECORDED) <= set(review.not_recorded)
    assert review.team["promise"] is None
    assert review.team["condition_loss"] is None
    assert (review.stylists["no_quote"] == 1.0).all()
    assert review.stylists["promise_n"].isna().all()


def test_shares_are_put_at_the_teams_mix_by_the_difference():
    """Two stylists, both as expected: 2 of 4 easy visits at 1/2 each, 1 of 4 hard ones at 1/4."""
    visits = pd.DataFrame(
        {
            "stylist": ["A"] * 4 + ["B"] * 4,
            "client": list("abcdefgh"),
            "reached": [True, True, False, False, True, False, False, False],
            "chance": [0.5] * 4 + [0.25] * 4,
        }
    )
    found, beyond = goals(visits)
    assert list(found.table["goal_share"]) == pytest.approx([0.375, 0.375])
    assert beyond.between == 0.0
    assert found.team == {"observed": 3, "expected": 3.0, "n": 8, "target": 0.375}
    assert all(one.p > 0.9 for one in found.comparisons)


def test_one_far_out_does_not_hide_itself():
    """Five stylists as expected, one who reached 2 of 20 where 16 were expected."""
    rng = np.random.default_rng(5)
    parts = []
    for code, count in zip("ABCDEF", (16, 15, 17, 16, 16, 2), strict=True):
        reached = np.arange(20) < count
        parts.append(pd.DataFrame({"stylist": code, "client": rng.permutation(20), "reached": reached}))
    found, _ = goals(pd.concat(parts, ignore_index=True).assign(chance=0.8))
    p = {one.who: one.p for one in found.comparisons}
    # binomial: P(2 or fewer of 20 at 0.8) is about 1e-10
    assert p["F"] < 1e-6
    assert min(p[code] for code in "ABCDE") > 0.2


def test_rates_that_did_not_settle_are_not_shown(small, by_model, monkeypatch):
    from outcomes.review import team as module

    real = module.stylist_rates
    monkeypatch.setattr(module, "stylist_rates", lambda *a, **k: replace(real(*a, **k), converged=False))
    review = team_review(small[0], QUARTER, predictive=by_model)
    assert review.stylists[["rate", "rate_raw", "change", "best_third"]].isna().all(axis=None)
    assert "didn't settle" in review.notes[0]
    assert not [one for one in review.findings if one.kind in ("rate", "change")]


def test_the_funnel_reaches_no_further_than_those_shown(small, by_model):
    """Who is hidden may have most visits; the funnel's end would tell."""
    log = small[0]
    visits = of_quarter(log)
    code = visits["stylist"].value_counts().index[0]
    one = visits.loc[visits["stylist"] == code, "client"].iloc[0]
    same = log.visits.assign(client=log.visits["client"].where(log.visits["stylist"] != code, one))
    review = team_review(replace(log, visits=same), QUARTER, predictive=by_model)
    shown = review.stylists[~review.stylists["suppressed"]]
    assert code not in set(shown["stylist"])
    assert review.funnel["n"].max() == max(10, int(np.ceil(1.15 * shown["visits"].max())))
