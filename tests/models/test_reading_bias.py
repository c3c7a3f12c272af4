"""Eyes compared with a colorimeter: invented levels, L* and stylists, so that every bias is known."""

import numpy as np
import pandas as pd
import pytest
import statsmodels.api as sm

from outcomes.demo.simulate import simulate_log
from outcomes.demo.worlds import world
from outcomes.models.lift import LiftModel
from outcomes.models.reading_bias import FEWEST, reading_bias
from tests.models.logs import as_log

BIAS = {"S1": 0.5, "S2": 0.0, "S3": -0.25, "S4": -0.25}


def measured(n, seed, *, starts=True):
    """First visits whose hair was measured before and after; L* rises by 6.5 a level, give or take 1."""
    rng = np.random.default_rng(seed)
    stylist = rng.choice([*BIAS], n)
    eye = pd.Series(stylist).map(BIAS).to_numpy()

    def read(true, bias):
        return np.clip(np.round(2 * (true + bias + 0.18 * rng.standard_normal(n))) / 2, 1, 10)

    start, end = rng.uniform(2, 5, n), rng.uniform(5, 9.5, n)
    lightness = [14 + 6.5 * true + rng.standard_normal(n) for true in (start, end)]
    return pd.DataFrame(
        {
            "stylist": stylist, "session": 1, "previous": -1, "linked": False,
            "start_level": read(start, 0.0), "achieved_level": read(end, eye),
            "start_L": lightness[0] if starts else np.nan, "achieved_L": lightness[1],
        }
    )  # fmt: skip


def test_known_biases_lie_inside_their_bands():
    found = reading_bias(measured(400, 1)).frame
    results = found[found["reading"] == "result"].set_index("stylist")
    truth = pd.Series(BIAS) - np.mean([*BIAS.values()])
    assert ((results["low"] < truth) & (truth < results["high"])).all()
    assert results.loc["S1", "value"] == pytest.approx(0.5, abs=0.1)
    starts = found[found["reading"] == "start"].set_index("stylist")
    assert starts["value"].abs().max() < 0.08
    assert (results["n"] == measured(400, 1)["stylist"].value_counts()[results.index]).all()


def test_as_least_squares_where_measurements_are_many():
    """With 3,000 of them shrinkage is small: statsmodels' OLS with a dummy for each stylist, centred."""
    visits = measured(3000, 2)
    x = visits["achieved_L"] - visits["achieved_L"].mean()
    dummies = pd.get_dummies(visits["stylist"]).astype(float)
    ols = sm.OLS(visits["achieved_level"], pd.concat([dummies, x, x.rename("square") ** 2], axis=1)).fit()
    plain = ols.params[[*BIAS]] - ols.params[[*BIAS]].mean()
    found = reading_bias(visits).frame
    results = found[found["reading"] == "result"].set_index("stylist")["value"]
    np.testing.assert_allclose(results[[*BIAS]], plain, atol=0.02)


def test_too_few_measurements_say_so():
    visits = measured(FEWEST - 1, 3)
    found = reading_bias(visits)
    assert not len(found.frame)
    assert any(f"{FEWEST} of two or more are needed" in note for note in found.notes)
    alone = reading_bias(measured(100, 3).assign(stylist="S1"))
    assert not len(alone.frame)
    assert "100 visits of 1 stylists" in alone.notes[0]


def test_only_a_difference_between_start_and_result_moves_gains():
    visits = measured(400, 1)
    gain = reading_bias(visits).of_gain(visits)
    by_stylist = pd.Series(gain).groupby(visits["stylist"]).first()
    assert by_stylist["S1"] - by_stylist["S4"] == pytest.approx(0.75, abs=0.15)
    # results alone: the same eye is taken to read starts
    assert not reading_bias(measured(400, 1, starts=False)).of_gain(visits).any()
    # a start that was copied has its result's bias
    chained = visits.assign(previous=[-1, 0] * 200, linked=[False, True] * 200, stylist="S1")
    chained["start_level"] = np.where(chained["linked"], chained["achieved_level"].shift(), 3.0)
    moved = reading_bias(visits).of_gain(chained.assign(previous=np.arange(400) - 1))
    assert np.allclose(moved[1::2], 0.0)


@pytest.mark.slow
def test_a_light_eye_is_told_from_fast_hair():
    """One stylist writes looks and results half a level light; measured hair takes that off the speed."""
    log = as_log(simulate_log(world("plain"), 500, 4)[0])
    visits, checks = log.visits.copy(), log.checks.copy()
    who = visits["stylist"].value_counts().index[0]
    own = (visits["stylist"] == who).to_numpy()
    rng = np.random.default_rng(1)
    noise = rng.standard_normal((2, len(visits)))
    visits["start_L"] = 14 + 6.5 * visits["start_level"] + noise[0]
    visits["achieved_L"] = 14 + 6.5 * visits["achieved_level"] + noise[1]
    visits.loc[own, "achieved_level"] = np.minimum(visits.loc[own, "achieved_level"] + 0.5, 10.0)
    looked = checks["visit"].isin(visits.loc[own, "visit"])
    checks.loc[looked, "level"] = np.minimum(checks.loc[looked, "level"] + 0.5, 10.0)
    tables = {"visits": visits, "checks": checks, "washes": log.washes}
    told = LiftModel(shapes=("power",)).fit(as_log(tables))
    blind = LiftModel(shapes=("power",)).fit(
        as_log(tables | {"visits": visits.assign(start_L=np.nan, achieved_L=np.nan)})
    )
    plain = LiftModel(shapes=("power",)).fit(log)

    def effect(model):
        return float(model.fit_.group_effects["stylist"].loc[who, "effect"])

    assert effect(blind) > effect(plain) + 0.04
    assert abs(effect(told) - effect(plain)) < 0.5 * abs(effect(blind) - effect(plain))
    assert any(f"{who} reads results" in note for note in told.notes_)
    assert told.predictive_.effects["reading_bias"]
    assert "reading_bias" not in blind.predictive_.effects
