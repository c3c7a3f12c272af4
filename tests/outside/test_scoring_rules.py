"""Values that others published or that other libraries give, for the measures of calibration.

Sources beside each. Tolerances: half a unit of the last figure given; 1e-9 where a formula is evaluated
twice; simulations 4 standard errors.
"""

import numpy as np
import pytest
import scipy.stats as st
from crepes import ConformalRegressor
from lifelines import KaplanMeierFitter
from lifelines.datasets import load_larynx, load_waltons
from scipy.integrate import quad
from statsmodels.stats.proportion import proportion_confint

from outcomes.calibration.scores import (
    conformal_quantile,
    conformal_rank,
    crps_draws,
    crps_normal,
    crps_quantiles,
    crps_student,
    interval_pit_heights,
    interval_pit_mean,
    interval_score,
    kaplan_meier,
    log_score_normal,
    log_score_rounded,
    rank_counts_band,
    wilson,
)


@pytest.mark.parametrize(
    ("n", "alpha", "rank", "coverage"),
    [
        (9, 0.2, 8, 0.8),
        (19, 0.1, 18, 0.9),
        (39, 0.2, 32, 0.8),
        (40, 0.2, 33, 0.804878),
        (99, 0.1, 90, 0.9),
    ],
)
def test_conformal_ranks(n, alpha, rank, coverage):
    """ceil((n + 1)(1 - alpha)): Vovk, Gammerman & Shafer (2005); Lei et al. (2018), JASA 113."""
    scores = np.random.default_rng(n).permutation(n) + 1.0
    assert conformal_rank(n, 1.0 - alpha) == rank
    assert conformal_quantile(scores, 1.0 - alpha) == rank
    assert rank / (n + 1) == pytest.approx(coverage, abs=5e-7)


def test_three_scores_are_too_few_for_four_fifths():
    assert conformal_rank(3, 0.8) == 4
    assert conformal_quantile([1.0, 2.0, 3.0], 0.8) == np.inf


# (n + 1)(1 - coverage) is whole for none of them: crepes works it out in floats, see below
@pytest.mark.parametrize("n", [7, 12, 40, 63, 158, 1001])
@pytest.mark.parametrize("coverage", [0.5, 0.8, 0.9, 0.95])
@pytest.mark.filterwarnings("ignore:the no. of calibration examples")
def test_split_conformal_is_that_of_crepes(n, coverage):
    rng = np.random.default_rng(n)
    off, centre = rng.standard_normal(n), rng.standard_normal(5)
    theirs = ConformalRegressor()
    theirs.fit(off)
    half = conformal_quantile(np.abs(off), coverage)
    ends = theirs.predict_int(centre, confidence=coverage)
    np.testing.assert_array_equal(ends, np.column_stack([centre - half, centre + half]))


def test_where_crepes_takes_the_next_rank():
    """(1 - 0.8) * 10 is 1.9999999999999996 in floats, of which crepes keeps 1: rank 9, where 8 suffices."""
    off = np.arange(1.0, 10.0)
    theirs = ConformalRegressor()
    theirs.fit(off)
    assert theirs.predict_int(np.zeros(1), confidence=0.8)[0, 1] == 9.0
    assert conformal_quantile(off, 0.8) == 8.0


BETA = [
    (9, 0.120605, 0.570864, 0.958977),
    (39, 0.062470, 0.689159, 0.893620),
    (99, 0.039801, 0.731237, 0.861913),
    (499, 0.017871, 0.769934, 0.828700),
]


@pytest.mark.parametrize(("n", "sd", "low", "high"), BETA)
def test_coverage_given_the_calibration_set(n, sd, low, high):
    """Beta (k, n + 1 - k): Vovk (2012), PMLR 25. A bound on uniform scores is its own coverage."""
    rank = conformal_rank(n, 0.8)
    exact = st.beta(rank, n + 1 - rank)
    assert exact.mean() == pytest.approx(0.8, abs=1e-12)
    assert exact.std() == pytest.approx(sd, abs=5e-7)
    assert exact.ppf([0.05, 0.95]) == pytest.approx([low, high], abs=5e-7)
    sets = 4000
    rng = np.random.default_rng(n)
    found = np.array([conformal_quantile(scores, 0.8) for scores in rng.random((sets, n))])
    assert found.mean() == pytest.approx(rank / (n + 1), abs=4.0 * sd / np.sqrt(sets))
    assert found.std() == pytest.approx(sd, rel=4.0 / np.sqrt(2.0 * sets))
    inside = np.mean((found >= low) & (found <= high))
    assert inside == pytest.approx(0.9, abs=4.0 * np.sqrt(0.09 / sets))
    assert st.kstest(found, exact.cdf).pvalue > 1e-3


def test_pit_of_intervals():
    """Three intervals worked out by hand after Czado, Gneiting & Held (2009), Biometrics 65."""
    lower, upper = [0.10, 0.25, 0.80], [0.30, 0.65, 1.0]
    mean = interval_pit_mean(lower, upper, [0.25, 0.5, 0.75, 1.0])
    assert mean == pytest.approx([0.25, 0.541667, 0.666667, 1.0], abs=5e-7)
    heights = interval_pit_heights(lower, upper, 4)
    assert heights == pytest.approx([1.0, 1.166667, 0.5, 1.333333], abs=5e-7)


@pytest.mark.parametrize(
    ("y", "mean", "sd", "score"),
    [
        (0.0, 0.0, 1.0, 0.2336949773),
        (1.0, 0.0, 1.0, 0.6024413576),
        (2.0, 0.0, 1.0, 1.4527918217),
        (-1.5, 0.0, 1.0, 0.9944240040),
        (7.5, 7.0, 0.6, 0.2974521194),
    ],
)
def test_crps_of_normal_distributions(y, mean, sd, score):
    """Gneiting & Raftery (2007), JASA 102; and their integral by quadrature."""
    assert crps_normal(y, mean, sd) == pytest.approx(score, abs=5e-11)
    below = quad(lambda x: st.norm.cdf(x, mean, sd) ** 2, y - 40.0 * sd, y)[0]
    above = quad(lambda x: st.norm.sf(x, mean, sd) ** 2, y, y + 40.0 * sd)[0]
    assert below + above == pytest.approx(score, abs=1e-7)


@pytest.mark.parametrize("df", [1.5, 3.0, 12.0, 400.0])
@pytest.mark.parametrize("y", [-2.0, 0.3, 7.0])
def test_crps_of_student_s_t(df, y):
    """By quadrature; the closed form is that of Jordan, Krüger & Lerch (2019), JSS 90 (12)."""
    below = quad(lambda x: st.t.cdf(x, df, 0.5, 1.4) ** 2, -np.inf, y, epsabs=1e-11)[0]
    above = quad(lambda x: st.t.sf(x, df, 0.5, 1.4) ** 2, y, np.inf, epsabs=1e-11)[0]
    assert crps_student(y, 0.5, 1.4, df) == pytest.approx(below + above, abs=1e-8)


def test_crps_of_draws():
    """By hand: mean distance 0.5; pairs 10 / 32 of all, 10 / 24 of different ones."""
    draws = [6.5, 7.0, 7.5, 8.0]
    assert crps_draws(draws, 7.2) == pytest.approx(0.1875, abs=1e-12)
    assert crps_draws(draws, 7.2, fair=True) == pytest.approx(0.0833333, abs=5e-8)


@pytest.mark.parametrize("law", [st.norm(2.0, 0.7), st.uniform(1.0, 3.0), st.expon(0.0, 2.0)])
def test_crps_of_few_quantiles(law):
    """Mean score of the truth is half the mean difference of two draws: 2 * integral F (1 - F) / 2."""
    levels = np.array([0.05, 0.1, 0.25, 0.5, 0.75, 0.9, 0.95])
    least = quad(lambda x: law.cdf(x) * law.sf(x), *law.support(), limit=200)[0]
    y = law.ppf((np.arange(200_000) + 0.5) / 200_000)
    told = np.broadcast_to(law.ppf(levels), (len(y), len(levels)))
    assert crps_quantiles(levels, told, y).mean() == pytest.approx(least, rel=2e-4)


@pytest.mark.parametrize(
    ("y", "alpha", "score"),
    [(7.0, 0.2, 2.0), (5.5, 0.2, 7.0), (8.5, 0.2, 7.0), (8.5, 0.05, 22.0), (8.0, 0.2, 2.0)],
)
def test_interval_scores(y, alpha, score):
    """Gneiting & Raftery (2007), equation 43, of the band 6 to 8."""
    assert interval_score(6.0, 8.0, y, 1.0 - alpha) == pytest.approx(score, rel=1e-12)


def test_mean_interval_score_of_a_normal_distribution():
    end = st.norm.ppf(0.9)
    mean = quad(
        lambda y: interval_score(-end, end, y, 0.8) * st.norm.pdf(y),
        -12.0,
        12.0,
        points=[-end, end],
        epsabs=1e-12,
    )[0]
    # 2 z + 20 (density(z) - z / 10)
    assert mean == pytest.approx(2.0 * end + 20.0 * (st.norm.pdf(end) - 0.1 * end), abs=1e-11)
    assert mean == pytest.approx(3.5099666387, abs=1e-10)


def test_log_score():
    assert log_score_normal(7.5, 7.0, 0.6) == pytest.approx(0.7553351317, abs=5e-11)
    assert log_score_normal(7.5, 7.0, 0.6) == pytest.approx(-st.norm.logpdf(7.5, 7.0, 0.6), abs=1e-12)


@pytest.mark.parametrize(("df", "law"), [(np.inf, st.norm(7.0, 0.6)), (9.0, st.t(9.0, 7.0, 0.6))])
def test_log_score_of_a_half_step(df, law):
    y = np.array([5.0, 7.0, 7.5, 8.5])
    chance = law.cdf(y + 0.25) - law.cdf(y - 0.25)
    np.testing.assert_allclose(log_score_rounded(y, 7.0, 0.6, df), -np.log(chance), rtol=1e-9)


@pytest.mark.parametrize(
    ("count", "n", "low", "high"),
    [
        (81, 263, 0.255289, 0.366210),
        (15, 148, 0.062386, 0.160487),
        (0, 20, 0.0, 0.161125),
        (1, 29, 0.006113, 0.171755),
        (45, 50, 0.786398, 0.956524),
        (17, 20, 0.639581, 0.947631),
        (20, 20, 0.838875, 1.0),
    ],
)
def test_wilson_intervals(count, n, low, high):
    """The first four: Newcombe (1998), Stat. Med. 17, 857-872. By statsmodels, and as roots of the score."""
    found = wilson(count, n)
    assert found == pytest.approx((low, high), abs=1e-6)
    assert found == pytest.approx(proportion_confint(count, n, method="wilson"), abs=1e-12)
    z = st.norm.ppf(0.975)
    for end in found:
        assert (count / n - end) ** 2 == pytest.approx(z**2 * end * (1.0 - end) / n, abs=1e-12)


@pytest.mark.parametrize(
    ("runs", "bins", "band"), [(1000, 20, (33, 69)), (500, 10, (34, 68)), (200, 10, (10, 32))]
)
def test_bands_of_rank_counts(runs, bins, band):
    """Binomial 0.5 and 99.5 % points, the bands of Talts et al. (2018), arXiv:1804.06788."""
    assert rank_counts_band(runs, bins) == band


def _theirs(time, event, at, weights=None):
    """Chance and band by lifelines: Greenwood's on the scale of log(-log S)."""
    with np.errstate():  # it switches numpy's warnings off for the whole process
        fitted = KaplanMeierFitter(alpha=0.05).fit(time, event, weights=weights)
    chance = 1.0 - fitted.survival_function_at_times(at).to_numpy()
    band = 1.0 - fitted.confidence_interval_.to_numpy()[fitted.timeline.searchsorted(at, side="right") - 1]
    return chance, band[:, 1], band[:, 0]


def test_kaplan_meier_of_waltons():
    """163 flies, 156 of them seen to die; ties."""
    data = load_waltons()
    at = np.array([13.0, 26.0, 45.0, 54.5, 61.0, 68.0])
    found = kaplan_meier(data["T"], data["E"], at)
    np.testing.assert_allclose(found, _theirs(data["T"], data["E"], at), rtol=1e-9)


def test_kaplan_meier_of_larynx_patients_with_weights():
    """90 patients, 40 of them censored. lifelines takes weights as numbers of rows, and whole ones only."""
    data = load_larynx()
    time, event = data["time"].to_numpy(), data["death"].to_numpy()
    weights = np.random.default_rng(3).integers(1, 6, len(time)).astype(float)
    at = np.array([0.5, 1.0, 3.35, 6.0, 7.8])
    found = kaplan_meier(time, event, at, weights)
    chance, low, high = _theirs(time, event, at, weights)
    np.testing.assert_allclose(found[0], chance, rtol=1e-9)
    # as many rows as are effective: on the log-log scale the band is wider by a root
    wider = np.sqrt((weights**2).sum() / weights.sum())
    left = np.log1p(-chance)
    for ours, theirs in zip(found[1:], (low, high), strict=True):
        np.testing.assert_allclose(ours, -np.expm1(left * (np.log1p(-theirs) / left) ** wider), rtol=1e-9)
    np.testing.assert_allclose(found, kaplan_meier(time, event, at, 100.0 * weights), rtol=1e-9)


def test_kaplan_meier_of_equal_weights_is_that_without():
    data = load_larynx()
    at = np.array([0.5, 2.0, 5.0])
    plain = kaplan_meier(data["time"], data["death"], at)
    weighted = kaplan_meier(data["time"], data["death"], at, np.full(len(data), 0.25))
    np.testing.assert_allclose(plain, weighted, rtol=1e-12)
