import numpy as np
import pytest

from outcomes.calibration.ahead import quarter_ahead
from outcomes.calibration.audit import BINS, audit
from outcomes.calibration.calibrate import calibrate
from outcomes.calibration.peers import MODEL, first_levels, scores_table
from outcomes.demo.simulate import simulate_log
from outcomes.demo.worlds import world
from outcomes.models.lift import LiftModel
from outcomes.predictive.distribution import Recalibration
from tests.models.logs import as_log

pytestmark = pytest.mark.slow


def test_an_honest_log_covers_what_it_says(small):
    rows = small.audit.coverage
    new = rows[(rows["group"] == "new clients") & (rows["reading"] == "first")].set_index("nominal")
    for nominal, row in new.iterrows():
        assert row["low"] - 0.02 <= nominal <= row["high"] + 0.02
    assert new.loc[0.8, "printed"] > new.loc[0.8, "observed"]
    for height in small.audit.heights.values():
        assert len(height) == BINS
        assert np.mean(height) == pytest.approx(1.0)


def test_a_spread_that_is_too_small_is_found_out(small):
    own = small.calibrated.predictive_.recalibration
    narrow = Recalibration(0.6 * own.spread, own.reading, own.df, own.later)
    forced = audit(small.model, small.calibrated, peers=False, recalibration=narrow)
    flags = forced.flags
    assert ("all", "coverage") in set(zip(flags["group"], flags["what"], strict=True))
    assert (flags.loc[flags["what"] == "coverage", "observed"] < 0.8).all()
    assert not len(audit(small.model, small.calibrated, peers=False).flags)


def test_groups_are_those_of_the_log(small):
    groups = set(small.audit.coverage["group"])
    visits = small.log.visits
    assert {"all", "new clients", "known clients, given earlier visits"} <= groups
    assert "later sessions, given the earlier ones" in groups
    busiest = visits.groupby("stylist")["client"].nunique()
    assert {f"stylist {code}" for code, n in busiest.items() if n >= 20} <= groups
    strength = visits.groupby("peroxide_pct")["client"].nunique()
    assert {f"peroxide {value:g} %" for value, n in strength.items() if n >= 20} <= groups


def test_the_last_quarter_is_told_by_those_before(small):
    readings, reason = quarter_ahead(small.log, small.model)
    assert reason == ""
    quarter = readings["group ahead"].iloc[0].split(",")[0].removeprefix("quarter ")
    dates = small.log.visits["date"].dt.to_period("Q").astype(str)
    here = small.log.visits[dates == quarter]
    assert readings["client"].nunique() == here["client"].nunique()
    assert readings["visit"].nunique() == len(here)
    group = f"quarter {quarter}, told by those before"
    assert group in set(small.audit.coverage["group"])


def test_one_quarter_can_not_be_told_by_those_before(small):
    import dataclasses

    visits = small.log.visits.assign(date=small.log.visits["date"].iloc[0])
    readings, reason = quarter_ahead(dataclasses.replace(small.log, visits=visits), small.model)
    assert readings is None
    assert "two quarters" in reason


def test_peers_are_scored_on_the_same_clients(small):
    table = small.audit.scores.set_index("model")
    assert list(table.index) == [MODEL, "team average", "least squares", "boosted quantiles"]
    assert table["n"].nunique() == 1
    assert table["crps"].idxmin() == MODEL
    assert table.loc["team average", "crps"] == table["crps"].max()
    assert np.isnan(table.loc["boosted quantiles", "log_score"])


def test_team_average_by_hand(small):
    """CRPS of a normal with the mean and sd of the other folds' gains (Gneiting & Raftery 2007)."""
    from scipy.stats import norm

    held = small.calibrated.held_out
    told = held.told
    usable, gain, _ = first_levels(held)
    fold = np.repeat(held.fold, told.n_visits)
    at = told.first_visit[usable[told.first_visit]]
    scores = []
    for visit in at:
        others = gain[usable & (fold != fold[visit])]
        sd = others.std(ddof=1)
        z = (gain[visit] - others.mean()) / sd
        scores.append(sd * (z * (2 * norm.cdf(z) - 1) + 2 * norm.pdf(z) - 1 / np.sqrt(np.pi)))
    table = scores_table(small.checked, held).set_index("model")
    assert table.loc["team average", "crps"] == pytest.approx(np.mean(scores))
    assert table.loc["team average", "n"] == len(at)


@pytest.mark.slow
@pytest.mark.parametrize(("visits", "seed"), [(45, 0), (100, 2)])
def test_a_small_honest_log_isnt_called_off(visits, seed):
    """Fits of four fifths of it, cut short, once had draws of a reading's error of hundreds of levels."""
    model = LiftModel(shapes=("power",)).fit(as_log(simulate_log(world("plain"), visits, seed)[0]))
    calibrated = calibrate(model)
    for predictive in calibrated.held_out.predictives:
        assert np.quantile(predictive.draws["sd_result"], 0.95) < 1.0
        assert np.quantile(predictive.draws["sd_visit"], 0.95) < 1.0
    found = audit(model, calibrated, peers=False)
    assert found.scores["crps"].iloc[0] < 0.5
    assert not len(found.flags)
    assert 0.9 < calibrated.predictive_.recalibration.spread < 1.1
