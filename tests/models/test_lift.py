"""The lift model on simulated logs: recovery of the truth, conventions, odd logs."""

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from sklearn.base import clone
from sklearn.exceptions import NotFittedError as SklearnNotFittedError

from outcomes.answers.sessions import sessions
from outcomes.demo.simulate import simulate_log
from outcomes.demo.worlds import World, world
from outcomes.errors import InputError, NotFittedError
from outcomes.log.read import VisitLog
from outcomes.models.lift import LiftModel
from outcomes.predictive.saved import load_model, save_model
from outcomes.readings.covariates import design_columns
from tests.models.logs import as_log


def simulated(name: str, n: int, seed: int) -> tuple[VisitLog, World]:
    made = world(name)
    return as_log(simulate_log(made, n, seed)[0]), made


@pytest.fixture(scope="module")
def small() -> tuple[VisitLog, LiftModel]:
    log, _ = simulated("plain", 400, 2)
    return log, LiftModel().fit(log)


def test_a_plan_far_from_every_visit_has_no_headline(small):
    """Level 1, 12 %, 100 minutes: no salon's log has anything like it."""
    predictive = small[1].predictive_
    assert small[0].visits["minutes"].max() < 100
    found = sessions(predictive, 1.0, 9.5, "natural", 12.0, "none", 100.0)
    assert found.support == "outside"
    assert "outside" in found.sentence
    assert not any(digit in found.sentence for digit in "0123456789")
    usual = sessions(predictive, 4.0, 8.0, "natural", 6.0, "none", 35.0)
    assert usual.support != "outside"
    assert any(digit in usual.sentence for digit in "0123456789")


def truths(made: World) -> dict[str, float]:
    out = {"peroxide": made.peroxide_exponent, "mix_ratio": made.mix_exponent}
    for column in ("heat", "hair", "texture", "zone", "wrap", "colour_history"):
        out |= {f"{column}[{word}]": value for word, value in getattr(made, column).items() if value != 0.0}
    # the log of two applications is log 2; the world adds its effect for a second one
    out["later_session"] = made.later
    out["applications"] = made.second_application / np.log(2.0)
    return out


@pytest.mark.slow
@pytest.mark.parametrize(
    ("name", "seed", "shape_within"),
    [
        *(("plain", 0, 0.03), ("plain", 1, 0.03), ("no_looks", 0, 0.05)),
        ("no_looks", 1, 0.05),  # climbed on nodes left behind, before they were placed anew
        *(("look_bias", 0, 0.05), ("look_bias", 1, 0.05), ("heaped_results", 0, 0.05)),
    ],
)
def test_truth_is_recovered_where_least_squares_is_wrong(name, seed, shape_within):
    log, made = simulated(name, 1600, seed)
    model = LiftModel().fit(log)
    # what a user would try first: log levels on log minutes and the same covariates, final rows alone
    visits = model.readings_.visits
    gained = (visits["achieved_level"] - visits["start_level"]).to_numpy()
    rows = gained > 0
    covariates = model.design_.encode(design_columns(visits), visits["later_session"].to_numpy())
    design = np.column_stack([np.log(visits["minutes"] / 45.0), covariates])[rows]
    naive = np.linalg.lstsq(design, np.log(gained[rows]), rcond=None)[0][0]
    assert naive < made.theta - 0.15
    fit = model.fit_
    assert fit.converged
    assert model.shape_ == "power"
    assert fit.shape.value == pytest.approx(made.theta, abs=shape_within)
    se = np.sqrt(np.diagonal(fit.joint_covariance))[: len(fit.coefficients)]
    z = {}
    true = truths(made) | {"additive:look": made.look_bias}
    for term, truth in true.items():
        place = list(fit.coefficients.index).index(term)
        z[term] = (fit.coefficients.iloc[place] - truth) / se[place]
    assert max(abs(value) for value in z.values()) < 3.5, z
    assert fit.coefficients["peroxide"] == pytest.approx(made.peroxide_exponent, abs=0.06)
    assert fit.reading_sd["result"] == pytest.approx(made.tau_result, abs=0.04)


def test_saturating_world_is_told_apart():
    log, made = simulated("saturating", 1600, 0)
    model = LiftModel().fit(log)
    assert model.shape_ == "saturating"
    assert model.fit_.shape.value == pytest.approx(made.theta / 45.0, abs=0.1)
    assert model.behind_["power"] > 3.0


def test_conventions(small):
    log, model = small
    assert clone(model).get_params() == LiftModel().get_params()
    with pytest.raises(SklearnNotFittedError, match="fit"):
        LiftModel().effects()
    with pytest.raises(NotFittedError, match="fit"):
        LiftModel().effects()
    assert hasattr(model, "fit_")
    assert not hasattr(clone(model), "fit_")
    empty = as_log({k: getattr(log, k).iloc[:0] for k in ("visits", "checks", "washes")})
    with pytest.raises(InputError, match="no visit"):
        LiftModel().fit(replace(empty, counts={"visits": {"in": 3, "used": 0, "set_aside": 3}}))
    with pytest.raises(InputError, match="without priors"):
        LiftModel(use_prior=False).fit(empty)


def test_effects_are_tidy(small):
    _, model = small
    frame = model.effects()
    assert (frame["ratio"].isna() != frame["value"].isna()).all()
    estimate = frame["ratio"].fillna(frame["value"])
    assert ((frame["low"] < estimate) & (estimate < frame["high"])).all()
    assert (frame.loc[frame["ratio"].notna(), "low"] > 0).all()
    heat = frame.set_index("term").loc["heat[high]", "ratio"]
    assert heat == pytest.approx(np.exp(model.fit_.coefficients["heat[high]"]))


def test_bands_widen_with_coverage_and_levels_rise_with_minutes(small):
    _, model = small
    plan = pd.DataFrame(
        {
            "start_level": 4.0,
            "peroxide_pct": 6.0,
            "heat": "low",
            "hair": "natural",
            "texture": "medium",
            "zone": "lengths",
            "wrap": "foil",
            "mix_ratio": 2.0,
            "colour_history": "none",
            "applications": 1.0,
            "minutes": [10.0, 25.0, 45.0],
        }
    )
    narrow, wide = model.predict(plan, coverage=0.5), model.predict(plan, coverage=0.9)
    assert (wide["low"] <= narrow["low"]).all()
    assert (wide["high"] >= narrow["high"]).all()
    assert narrow["median"].is_monotonic_increasing
    assert (narrow["median"] * 2 % 1 == 0).all()
    with pytest.raises(InputError, match="coverage"):
        model.predict(plan, coverage=1.0)
    with pytest.raises(InputError, match="minutes"):
        model.predict(plan.drop(columns="minutes"))
    for column, value in (
        *(("minutes", 0.0), ("minutes", float("nan")), ("start_level", 12.0), ("peroxide_pct", 40.0)),
        *(("peroxide_pct", "strong"), ("later_session", "yes")),
    ):
        with pytest.raises(InputError, match=column):
            model.predict(plan.assign(**{column: value}))
    with pytest.raises(InputError, match="coverage"):
        model.predict(plan, coverage="a")


@pytest.mark.parametrize("shapes", [(), ("cubic",), ("power", "cubic")])
def test_shapes_that_are_not_there(small, shapes):
    with pytest.raises(InputError, match="power, saturating"):
        LiftModel(shapes=shapes).fit(small[0])


def test_the_clock_alone_tells_no_shape():
    """Every visit 45 minutes, stopped for time, no looks: nothing says how lift goes with minutes."""
    log, _ = simulated("plain", 300, 4)
    visits = log.visits.assign(stop="time", minutes=45.0, looks=np.nan, look_every=np.nan)
    model = LiftModel().fit(
        as_log({"visits": visits, "checks": log.checks.iloc[:0], "washes": log.washes.iloc[:0]})
    )
    assert (model.readings_.origin == "result").all()
    assert any("the shape rests on results alone" in note for note in model.notes_)
    # the prior's: 0.65, a factor of 2.7 to either side
    assert model.fit_.shape.low < 0.4
    assert 0.4 < model.fit_.shape.value < 1.0
    assert model.fit_.shape.high > 1.0


def test_one_stylist_fits_and_says_so(small):
    log, _ = small
    only = log.visits[log.visits["stylist"] == log.visits["stylist"].iloc[0]]
    keep = log.checks["visit"].isin(only["visit"])
    alone = as_log({"visits": only, "checks": log.checks[keep], "washes": log.washes.iloc[:0]})
    model = LiftModel().fit(alone)
    assert any("one stylist only" in note for note in model.notes_)
    # a stylist new to the log differs as those of the trade do (prior log sd -2.3, sd 0.8)
    assert np.log(model.predictive_.draws["sd_stylist"]).mean() == pytest.approx(-2.3, abs=0.15)
    assert (model.predictive_.draws["stylist"] == 0).all()


@pytest.mark.slow
@pytest.mark.parametrize("stylists", [1, 3])
@pytest.mark.parametrize("with_looks", [True, False])
def test_a_log_of_stops_at_the_goal_alone_fits(small, stylists, with_looks):
    """Every result is the look that ended its visit: no reading has an error of its own kind."""
    log, _ = small
    visits = log.visits[log.visits["stop"] == "target"]
    visits = visits[visits["stylist"].isin(visits["stylist"].value_counts().index[:stylists])]
    visits = visits.assign(achieved_level=visits["goal_level"], looks=np.nan)
    checks = log.checks[log.checks["visit"].isin(visits["visit"])] if with_looks else log.checks.iloc[:0]
    model = LiftModel().fit(as_log({"visits": visits, "checks": checks, "washes": log.washes.iloc[:0]}))
    assert isinstance(model.fit_.reading_sd, dict)
    draws = model.predictive_.draws
    assert (draws["sd_result"] > 0).all()
    np.testing.assert_allclose(draws["sd_start"] ** 2, draws["sd_result"] ** 2 + 0.25 / 12.0)
    answer = sessions(model, 4, 8, "natural", 6, "none", 45)
    assert sum(answer.sessions) == pytest.approx(1.0)


@pytest.mark.parametrize("clients", ["three of each stylist's own", "one", "one a stylist"])
def test_stylists_keep_their_effects_whatever_their_clients(small, clients):
    """Which effects are eliminated first depends on the groups' sizes and nesting; what is drawn must not."""
    log, _ = small
    visits = log.visits.iloc[:200]
    own = {
        "three of each stylist's own": [f"{s}-{i % 3}" for i, s in enumerate(visits["stylist"])],
        "one": "C1",
        "one a stylist": visits["stylist"],
    }[clients]
    visits = visits.assign(client=own)
    checks = log.checks[log.checks["visit"].isin(visits["visit"])]
    model = LiftModel().fit(as_log({"visits": visits, "checks": checks, "washes": log.washes.iloc[:0]}))
    for group in ("stylist", "product"):
        known = model.fit_.group_effects[group]
        if model.fit_.group_sd[group] == 0:
            continue
        drawn = pd.DataFrame(model.predictive_.draws[group], columns=model.readings_.group_labels[group])
        error = known["sd"] / np.sqrt(len(drawn)) + 1e-9
        # the doubt about the spreads moves effects too: draws scatter a little more than `sd`
        assert ((drawn.mean() - known["effect"]).abs() < 6 * error).all()
        assert (drawn.std() > 0.8 * known["sd"]).all()
    assert model.fit_.group_sd["stylist"] > 0


@pytest.mark.parametrize("n", [5, 30])
def test_tiny_logs_are_held_by_the_prior(n):
    log, _ = simulated("plain", 400, 7)
    visits = log.visits.iloc[:n]
    keep = log.checks["visit"].isin(visits["visit"])
    model = LiftModel().fit(
        as_log({"visits": visits, "checks": log.checks[keep], "washes": log.washes.iloc[:0]})
    )
    assert np.isfinite(model.fit_.coefficients).all()
    assert 0.2 < model.fit_.shape.value < 2.5
    assert model.fit_.converged
    # no parameter is less sure than its prior, which is 0.9 at most on the log scale
    assert (np.sqrt(np.diag(model.fit_.joint.outer_covariance)) < 0.9).all()


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_a_small_log_has_bands_of_use(seed):
    """Logs of 150 visits: the 95 % band of the shape holds the truth (0.62) and is narrow."""
    log, made = simulated("plain", 150, seed)
    model = LiftModel().fit(log)
    shape = model.fit_.shape
    assert model.fit_.converged
    assert shape.low < made.theta < shape.high
    assert shape.high - shape.low < 0.25
    assert np.quantile(model.predictive_.draws["sd_result"], 0.95) < 0.5


def test_model_file_holds_no_client(small, tmp_path):
    log, model = small
    path = tmp_path / "model.json"
    save_model(model, path)
    text = path.read_text(encoding="utf-8")
    for code in log.visits["client"].unique()[:50]:
        assert f'"{code}"' not in text
    loaded = load_model(path).lift
    assert loaded.basis.visits == 400
    np.testing.assert_allclose(loaded.draws["shape"], model.predictive_.draws["shape"], rtol=1e-5)


def test_same_seed_same_draws(small):
    _, model = small
    one, two = model.fit_.draws(20, 3), model.fit_.draws(20, 3)
    pd.testing.assert_frame_equal(one, two)
    assert not one.equals(model.fit_.draws(20, 4))


@pytest.mark.slow
def test_a_small_log_read_finely_converges_on_more_nodes():
    """Results read to a tenth of a level have edges that the standard number of nodes misses."""
    model = LiftModel().fit(as_log(simulate_log(world("plain"), 125, 3)[0]))
    assert model.fit_.reading_sd["result"] < 0.11
    assert model.fit_.converged
