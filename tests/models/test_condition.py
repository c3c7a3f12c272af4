import numpy as np
import pandas as pd
import pytest
import statsmodels.api as sm

from outcomes.errors import FitError
from outcomes.models.condition import fit_condition_hazard
from outcomes.predictive.hazard import HAZARD_TERMS, ConditionHazard, hazard_features


def _visits(n=3000, level=-5.0, seed=5):
    """Visits of known hazard: `level` + 0.4 (end - 30) / 15 + 0.8 log(peroxide / 6), per five minutes."""
    rng = np.random.default_rng(seed)
    planned, peroxide = rng.choice([25.0, 40.0, 55.0, 70.0], n), rng.choice([3.0, 6.0, 9.0, 12.0], n)
    ends = np.arange(5.0, 75.0, 5.0)
    odds = level + 0.4 * (ends - 30) / 15 + 0.8 * np.log(peroxide / 6)[:, None]
    hit = rng.random(odds.shape) < 1 / (1 + np.exp(-odds))
    stop_at = np.where(hit.any(axis=1), ends[hit.argmax(axis=1)], np.inf)
    stopped = stop_at <= planned
    return pd.DataFrame(
        {
            "minutes": np.where(stopped, stop_at - rng.uniform(0, 4.9, n), planned),
            "stop": np.where(stopped, "condition", rng.choice(["target", "time"], n)),
            "peroxide_pct": peroxide,
            "heat": rng.choice(["none", "low", "medium", "high"], n),
            "hair": rng.choice(["natural", "coloured", "lightened"], n),
            "condition_before": 4.0,
            "condition_after": np.where(stopped, 3.0, np.nan),
        }
    )


def test_finds_the_hazard_that_made_the_log():
    visits = _visits()
    fit = fit_condition_hazard(visits, np.zeros(len(visits), bool))
    true = dict.fromkeys(HAZARD_TERMS, 0.0) | {"intercept": -5.0, "minutes": 0.4, "peroxide": 0.8}
    z = (fit.hazard.coefficients - np.array(list(true.values()))) / fit.se
    assert np.abs(z).max() < 3.5
    assert fit.hazard.stops == (visits["stop"] == "condition").sum()


def test_with_a_flat_prior_it_is_the_logistic_regression_of_statsmodels():
    visits = _visits(800)
    later = np.arange(800) % 3 == 0
    flat = {term: (0.0, 1e4) for term in HAZARD_TERMS}
    fit = fit_condition_hazard(visits, later, priors=flat)
    rows, events = [], []
    for i, visit in enumerate(visits.itertuples()):  # one period after the other, by plain counting
        periods = int(np.ceil(visit.minutes / 5))
        for k in range(1, periods + 1):
            rows.append((5.0 * k, visit.peroxide_pct, visit.heat, visit.hair, later[i]))
            events.append(visit.stop == "condition" and k == periods)
    table = pd.DataFrame(rows)
    features = hazard_features(
        *(table[c].to_numpy(dtype=float) for c in (0, 1)), *(table[c].to_numpy() for c in (2, 3, 4))
    )
    outside = sm.Logit(np.array(events, float), features).fit(disp=0, method="newton", maxiter=100)
    assert fit.hazard.coefficients == pytest.approx(outside.params, abs=1e-4)
    assert fit.se == pytest.approx(outside.bse, rel=1e-3)


def test_without_a_stop_the_chance_is_small_and_said_so():
    visits = _visits(300).assign(stop="time")
    fit = fit_condition_hazard(visits, np.zeros(300, bool))
    chance = fit.hazard.cumulative(45.0, np.array([6.0]), np.array(["low"]), np.array(["natural"]), False)[
        0, -1
    ]
    assert 0 < chance < 0.02
    assert any("No visit was stopped for condition" in note for note in fit.notes)
    assert np.isfinite(fit.se).all()


def test_cumulative_chance_is_one_minus_the_product_of_staying():
    hazard = ConditionHazard(np.array([-3.0, 0.5, 1.0, 0.2, 0.1, 0.4, 0.3]), None, None, 1, 1)
    found = hazard.cumulative(12.0, np.array([9.0]), np.array(["high"]), np.array(["lightened"]), True)[0]
    stay = 1.0
    for k, end in enumerate((5, 10, 15)):
        odds = -3 + 0.5 * (end - 30) / 15 + np.log(1.5) + 0.2 * 3 + 0.4 + 0.3
        stay /= 1 + np.exp(odds)
        assert found[k] == pytest.approx(1 - stay)


def test_mean_drop_of_condition_by_session():
    visits = _visits(4).assign(stop="time", condition_before=4.0, condition_after=[3.0, 4.0, 2.0, np.nan])
    hazard = fit_condition_hazard(visits, np.array([False, False, True, True])).hazard
    assert (hazard.drop_first, hazard.drop_later) == (0.5, 2.0)


def test_condition_that_is_not_logged_is_noted():
    visits = _visits(50).drop(columns=["condition_before", "condition_after"])
    fit = fit_condition_hazard(visits, np.zeros(50, bool))
    assert fit.hazard.drop_first is None
    assert any("isn't logged" in note for note in fit.notes)


def test_no_visits():
    with pytest.raises(FitError, match="no visits"):
        fit_condition_hazard(_visits(5).iloc[:0], np.zeros(0, bool))
