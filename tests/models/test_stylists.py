"""Stylists of a quarter against what the simulator made them: rates, bands, changes."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from outcomes.calibration.ahead import of_visits
from outcomes.demo.simulate import simulate_log
from outcomes.demo.worlds import world
from outcomes.errors import InputError
from outcomes.models.lift import LiftModel
from outcomes.models.stylists import stylist_rates
from tests.models.logs import as_log

QUARTER = pd.Period("2024Q2")


@pytest.fixture(scope="module")
def rates(team):
    return stylist_rates(team.model, QUARTER)


def true_logs(team, stylists):
    effect = team.truth.stylists.set_index("stylist")["effect"].reindex(stylists).to_numpy()
    return effect - effect.mean()


def test_raw_rates_lie_about_the_truth_as_far_as_their_errors_say(team, rates):
    z = (rates.raw - true_logs(team, rates.stylists)) / rates.raw_error
    assert len(z) == 8
    assert np.sqrt((z**2).mean()) == pytest.approx(1.0, abs=0.6)
    assert rates.raw.sum() == pytest.approx(0.0, abs=1e-9)  # against the middle of the team
    assert rates.converged


def test_shrunken_rates_are_nearer_to_the_truth_and_their_bands_hold_it(team, rates):
    true, table = np.exp(true_logs(team, rates.stylists)), rates.table()
    assert np.abs(table["value"] - true).mean() < np.abs(table["raw"] - true).mean()
    held = (table["low"] <= true) & (true <= table["high"])
    assert held.sum() >= 6  # of eight, nine in ten on average
    assert (table["low"] < table["value"]).all()
    assert (table["value"] < table["high"]).all()


def test_nobody_changed_and_nobody_is_said_to_have(rates):
    table = rates.table()
    assert ((table["change_low"] < 1.0) & (table["change_high"] > 1.0)).sum() >= 7
    assert rates.sd_quarter < 0.05


def test_thirds_are_shared_out(rates):
    table = rates.table()
    assert table["best_third"].sum() == pytest.approx(3.0)  # of eight
    assert table["lowest_third"].sum() == pytest.approx(3.0)
    assert table["best_third"].between(0, 1).all()


def test_who_was_not_there_before_has_not_changed(team):
    visits = team.log.visits
    before = visits["date"].dt.to_period("Q") == QUARTER - 1
    kept = ~(before & (visits["stylist"] == "S01"))
    part = replace(team.log, visits=visits[kept].reset_index(drop=True))
    rows = stylist_rates(LiftModel(shapes=("power",)).fit(part), QUARTER).table().set_index("stylist")
    assert np.isnan(rows.loc["S01", "change"])
    assert rows["change"].drop("S01").notna().all()


def test_a_faster_quarter_of_one_stylist_shows_as_a_change(team):
    """Her levels gained in the last quarter made a quarter more, looks and results alike."""
    visits, checks = team.log.visits.copy(), team.log.checks.copy()
    hers = (visits["stylist"] == "S05") & (visits["date"].dt.to_period("Q") == QUARTER)
    start = visits["start_level"]

    def more(level, since):
        return np.clip(np.round(2 * (since + 1.25 * (level - since))) / 2, 1.0, 10.0)

    visits.loc[hers, "achieved_level"] = more(visits["achieved_level"], start)[hers]
    known = visits.loc[hers].set_index("visit")["start_level"]
    known = known[~known.index.duplicated()]
    looked = checks["visit"].isin(known.index)
    since = checks.loc[looked, "visit"].map(known)
    checks.loc[looked, "level"] = more(checks.loc[looked, "level"], since)
    faster = replace(team.log, visits=visits, checks=checks)
    found = stylist_rates(LiftModel(shapes=("power",)).fit(faster), QUARTER).table().set_index("stylist")
    assert found.loc["S05", "change_low"] > 1.0
    assert found["change"].idxmax() == "S05"


def test_one_stylist_has_nobody_to_be_compared_with(team):
    visits = team.log.visits[team.log.visits["stylist"] == "S03"].reset_index(drop=True)
    alone = LiftModel(shapes=("power",)).fit(replace(team.log, visits=visits))
    assert stylist_rates(alone, QUARTER) is None


def test_a_quarter_without_visits(team):
    with pytest.raises(InputError, match="quarter 2019Q1: the log has no visit in it"):
        stylist_rates(team.model, pd.Period("2019Q1"))


def test_a_log_of_one_quarter(team):
    visits = team.log.visits
    here = (visits["date"].dt.to_period("Q") == QUARTER).to_numpy()
    only = replace(team.log, visits=visits[here].reset_index(drop=True))
    found = stylist_rates(LiftModel(shapes=("power",)).fit(only), QUARTER)
    assert np.isnan(found.change).all()
    assert found.sd_quarter == 0.0
    assert np.isfinite(found.raw).all()
    assert found.table()["value"].between(0.5, 2.0).all()


def test_a_change_is_against_the_quarter_before():
    """Stylists who move by an sd of 0.3 from quarter to quarter: what is told follows both quarters."""
    tables, truth = simulate_log(world("plain", n_stylists=6, sd_quarter=0.3), 700, 21)
    log = as_log(tables)
    log = of_visits(log, log.visits["date"] < "2024-07-01")
    found = stylist_rates(LiftModel(shapes=("power",)).fit(log), QUARTER)
    moved = truth.stylists.set_index("stylist").reindex(found.stylists)
    true = (moved["quarter_5"] - moved["quarter_4"]).to_numpy()
    told = np.median(found.change, axis=0)
    assert np.sqrt(np.mean((told - true) ** 2)) < 0.1
    assert np.sqrt(np.mean((told - moved["quarter_5"].to_numpy()) ** 2)) > 0.15
    low, high = np.quantile(found.change, [0.05, 0.95], axis=0)
    assert ((low <= true) & (true <= high)).sum() >= 4


def test_fits_that_do_not_settle_are_told(team, monkeypatch):
    from outcomes.models import stylists

    real = stylists.fit_arranged
    monkeypatch.setattr(stylists, "fit_arranged", lambda *a, **k: replace(real(*a, **k), converged=False))
    assert not stylist_rates(team.model, QUARTER).converged
