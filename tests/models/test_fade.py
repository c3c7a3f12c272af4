"""The fade model: recovers what an invented world put in, and agrees with another program where it can."""

import dataclasses

import numpy as np
import pandas as pd
import pytest
from statsmodels.regression.mixed_linear_model import MixedLM

from outcomes.demo.fading import FADE_THETA, LOG_ROOT_RATE, ROOT_TONE, SHAMPOO, TONER_TONE
from outcomes.demo.simulate import simulate_log
from outcomes.demo.worlds import world
from outcomes.errors import InputError, NotFittedError
from outcomes.models.arrange import arrange_fade, fit_arranged
from outcomes.models.fade import FadeModel
from outcomes.readings.covariates import FADE, design_columns
from outcomes.readings.fade import fade_readings
from outcomes.readings.learn import learn_design
from tests.models.logs import as_log
from tests.readings.conftest import build_log, canonical


@pytest.fixture(scope="module")
def log():
    return as_log(simulate_log(world("plain", wash_share=0.7), 1500, 31)[0])


@pytest.fixture(scope="module")
def by_level(log):
    return FadeModel("level", shapes=("power",)).fit(log)


def test_what_the_world_put_in_comes_out(by_level):
    """Within 3 of the errors that the fit states, 12 parameters."""
    assert by_level.fit_.converged
    effects = by_level.effects().set_index("term")
    for column, truth in (("root_tone", ROOT_TONE), ("shampoo", SHAMPOO)):
        for word, log_ratio in truth.items():
            if log_ratio == 0.0:
                continue
            row = effects.loc[f"{column}[{word}]"]
            se = np.log(row["high"] / row["low"]) / 3.92
            assert np.log(row["ratio"]) == pytest.approx(log_ratio, abs=3 * se)
    intercept = by_level.fit_.coefficients["intercept"]
    se = np.sqrt(by_level.fit_.covariance.loc["intercept", "intercept"])
    assert intercept == pytest.approx(LOG_ROOT_RATE, abs=3 * se)
    shape = by_level.fit_.shape
    assert shape.low < FADE_THETA < shape.high
    assert by_level.fit_.group_sd["client"] == pytest.approx(0.25, abs=0.06)
    assert by_level.fit_.reading_sd["result"] == pytest.approx(0.2, abs=0.03)
    # a level more is no faster in that world
    assert effects.loc["root_level", "low"] < 1.0 < effects.loc["root_level", "high"]


def test_terms_are_named_as_the_log_names_them(by_level, log):
    terms = set(by_level.effects()["term"])
    assert {"root_level", "root_tone[ash]", "shampoo[pigmented]", "hair[coloured]", "condition"} <= terms
    kept = by_level.predictive_.effects
    assert set(kept) == {"shape", "terms", "coverage", "sd"}
    assert set(kept["sd"]) == {"stylist", "client", "product", "visit", "reading"}
    toner = FadeModel("tone_left", shapes=("power",)).fit(log)
    toned = toner.effects().set_index("term")
    # the world has no neutral toner: the commonest stands in
    against, *others = toner.design_.categories("toner_tone")
    assert {against, *others} == set(TONER_TONE)
    for word in others:
        row, truth = toned.loc[f"toner_tone[{word}]"], TONER_TONE[word] - TONER_TONE[against]
        se = np.log(row["high"] / row["low"]) / 3.92
        assert np.log(row["ratio"]) == pytest.approx(truth, abs=3.5 * se)


def _returning_by_fade(seed: int, clients: int = 700):
    """Root shades that are read until they have visibly gone: fast hair is read early, and then no more.

    R log-normal (log 0.6, 0.35 between clients), theta 0.8, errors of 0.2. A client comes back every 4 washes
    and is read; having read a drift of 1 level or more they have it done anew. None stays longer than 40.
    """
    rng = np.random.default_rng(seed)
    visits, washes = [], []
    for number in range(clients):
        rate = 0.6 * np.exp(0.35 * rng.standard_normal())
        shade = {"root_level": 5.0, "root_tone": "neutral", "hair": "natural"}
        visits.append({"visit": f"V{number}", "client": f"C{number}", "zone": "roots", **shade})
        for after in range(4, 41, 4):
            level = 5.0 + rate * (after / 10.0) ** 0.8 + 0.2 * rng.standard_normal()
            level = float(np.clip(np.floor(2 * level + 0.5) / 2, 1, 10))
            row = {"visit": f"V{number}", "zone": "roots", "washes": after, "level": level}
            washes.append({**row, "shampoo": "plain"})
            if level >= 6.0:
                break
    return dataclasses.replace(build_log(visits), washes=canonical("washes", washes))


def test_return_times_that_depend_on_the_fade_are_no_matter():
    """The likelihood finds the rate, its spread and the shape; least squares on log drift doesn't."""
    log = _returning_by_fade(3)
    fit = FadeModel("level", shapes=("power",), use_prior=False).fit(log).fit_
    assert fit.converged
    se = np.sqrt(fit.covariance.loc["intercept", "intercept"])
    assert se < 0.03
    assert fit.coefficients["intercept"] == pytest.approx(np.log(0.6), abs=3 * se)
    assert fit.shape.low < 0.8 < fit.shape.high
    assert fit.shape.high - fit.shape.low < 0.15
    spread = np.hypot(fit.group_sd.get("client", 0.0), fit.group_sd.get("visit", 0.0))
    assert spread == pytest.approx(0.35, abs=0.04)
    # what a plain regression of the last reading makes of it: fast hair has few washes, so the slope is lost
    last = log.washes.groupby("visit").last()
    drift = np.maximum(last["level"].to_numpy(float) - 5.0, 0.25)
    slope, _ = np.polyfit(np.log(last["washes"].to_numpy(float) / 10.0), np.log(drift), 1)
    assert slope < 0.4


def test_exact_readings_agree_with_a_linear_mixed_model():
    """log progress is linear where readings have hardly any error: statsmodels MixedLM (REML) agrees."""
    rng = np.random.default_rng(8)
    visits, washes = [], []
    for number in range(60):
        tone = ("neutral", "ash")[number % 2]
        own = 0.3 * rng.standard_normal() + (0.2 if tone == "ash" else 0.0)
        visits.append({"visit": f"V{number}", "client": f"C{number}", "root_level": 2.0, "root_tone": tone})
        washes += [{"visit": f"V{number}", "washes": after, "own": own} for after in (4, 9, 17)]
    log = build_log(visits)
    frame = pd.DataFrame(washes)
    table = canonical("washes", [{"visit": r.visit, "zone": "roots", "washes": r.washes, "level": 5.0,
                                  "shampoo": "plain"} for r in frame.itertuples()])  # fmt: skip
    readings = fade_readings(dataclasses.replace(log, washes=table), "level")
    order = readings.visits["visit"].to_numpy()[readings.visit]
    own = frame.drop_duplicates("visit").set_index("visit")["own"].loc[order].to_numpy()
    progress = np.exp(-0.5 + own + 0.8 * np.log(readings.exposure)) + 0.002 * rng.standard_normal(len(own))
    exact = dataclasses.replace(readings, lower=progress, upper=progress)
    design = learn_design(design_columns(exact.visits, FADE["level"]), covariates=FADE["level"])
    arranged = arrange_fade(exact, design)
    one_group = dataclasses.replace(arranged, groups={"visit": arranged.groups["visit"]})
    ours = fit_arranged(one_group, "power", use_prior=False)
    x = pd.DataFrame(
        {"intercept": 1.0, "ash": one_group.design["root_tone[ash]"], "w": np.log(exact.exposure)}
    )
    theirs = MixedLM(np.log(progress), x, groups=order).fit(reml=True)
    assert ours.coefficients["intercept"] == pytest.approx(theirs.fe_params["intercept"], abs=2e-3)
    assert ours.coefficients["root_tone[ash]"] == pytest.approx(theirs.fe_params["ash"], abs=2e-3)
    assert ours.shape.value == pytest.approx(theirs.fe_params["w"], abs=2e-3)
    assert ours.group_sd["visit"] == pytest.approx(np.sqrt(float(theirs.cov_re.iloc[0, 0])), rel=0.01)


def test_a_log_too_thin_says_so():
    log = build_log([{"root_level": 6.0}])
    with pytest.raises(InputError, match="read for 0 clients; 10 are needed"):
        FadeModel("level").fit(log)
    with pytest.raises(InputError, match="one of level, tone_left, delta_e"):
        FadeModel("shine").fit(log)
    with pytest.raises(InputError, match="shapes"):
        FadeModel("level", shapes=("line",)).fit(log)
    with pytest.raises(NotFittedError, match="FadeModel isn't fitted yet"):
        FadeModel("level").effects()


def test_who_was_never_read_is_counted(by_level, log):
    shaded = log.visits[log.visits["root_level"].notna()]
    fade = by_level.predictive_
    ash = fade.follow_up["root_tone"]["ash"]
    assert ash.applied == shaded.loc[shaded["root_tone"] == "ash", "client"].nunique()
    at_roots = log.washes[(log.washes["zone"] == "roots") & log.washes["level"].notna()]
    read = shaded[shaded["visit"].isin(at_roots["visit"]) & (shaded["root_tone"] == "ash")]
    assert ash.read == read["client"].nunique()
    assert ash.missing == pytest.approx(1 - ash.read / ash.applied)
