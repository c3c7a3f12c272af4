"""Scores, ranks, PIT values and shares at their edges, and against plain sums."""

import numpy as np
import pytest
import scipy.stats as st
from hypothesis import given, settings
from hypothesis import strategies as hs

from outcomes.calibration.scores import (
    conformal_quantile,
    conformal_rank,
    crps_draws,
    crps_grid,
    crps_normal,
    crps_quantiles,
    crps_student,
    effective_number,
    interval_pit_heights,
    interval_pit_mean,
    interval_score,
    kaplan_meier,
    log_score_normal,
    log_score_rounded,
    pinball,
    randomised_pit,
    rank_counts_band,
    wilson,
)
from outcomes.errors import InputError


def test_crps_takes_arrays_of_any_shape_that_fit():
    y, mean = np.array([[1.0], [2.0]]), np.array([0.0, 1.0, 2.0])
    assert crps_normal(y, mean, 0.5).shape == (2, 3)
    assert crps_student(y, mean, 0.5, np.inf) == pytest.approx(crps_normal(y, mean, 0.5))
    assert crps_student(y, mean, 0.5, 1e6) == pytest.approx(crps_normal(y, mean, 0.5), rel=1e-5)


@pytest.mark.parametrize("fair", [False, True])
def test_crps_of_draws_is_its_plain_sum(fair):
    rng = np.random.default_rng(1)
    draws, y = rng.standard_normal((3, 2, 9)), rng.standard_normal((3, 2))
    pairs = np.abs(draws[..., :, None] - draws[..., None, :]).sum(axis=(-1, -2)) / (72 if fair else 81)
    plain = np.abs(draws - y[..., None]).mean(axis=-1) - 0.5 * pairs
    np.testing.assert_allclose(crps_draws(draws, y, fair=fair), plain, rtol=1e-12)


def test_fair_crps_is_right_on_average_however_few_draws():
    rng = np.random.default_rng(2)
    few = crps_draws(rng.standard_normal((40_000, 3)), np.full(40_000, 0.4), fair=True)
    assert few.mean() == pytest.approx(crps_normal(0.4, 0.0, 1.0), abs=4.0 * few.std() / 200.0)


def test_crps_of_a_single_draw_is_its_distance():
    assert crps_draws([3.0], 4.5) == pytest.approx(1.5)
    with pytest.raises(InputError, match="2 or more"):
        crps_draws([3.0], 4.5, fair=True)
    with pytest.raises(InputError, match="1 or more"):
        crps_draws([], 4.5)


@given(
    hs.lists(hs.integers(-8, 8), min_size=1, max_size=12),
    hs.floats(-6.0, 6.0),
)
@settings(deadline=None)
def test_crps_on_a_grid_is_that_of_the_same_atoms(halves, y):
    atoms = np.array(halves) / 2.0
    levels = np.arange(-8, 9) / 2.0
    chances = np.bincount(np.array(halves) + 8, minlength=17) / len(halves)
    found = crps_grid(levels, chances[None], [y])
    np.testing.assert_allclose(found, [crps_draws(atoms, y)], atol=1e-12)


def test_crps_on_a_grid_off_it_and_beyond_it():
    levels, chances = np.array([1.0, 2.0, 4.0]), np.tile([0.2, 0.5, 0.3], (5, 1))
    y = np.array([0.5, 1.0, 2.6, 4.0, 5.5])
    # 0.2 squared from 1 to 2 and 0.7 squared from 2 to 4 where the indicator is 0, their rests where it's 1
    plain = [0.5 + 0.64 + 0.18, 0.64 + 0.18, 0.04 + 0.6 * 0.49 + 1.4 * 0.09, 0.04 + 0.98, 0.04 + 0.98 + 1.5]
    np.testing.assert_allclose(crps_grid(levels, chances, y), plain, rtol=1e-12)
    np.testing.assert_allclose(crps_grid([2.0], np.ones((1, 1)), [3.5]), [1.5])


@pytest.mark.parametrize(
    ("levels", "chances"),
    [
        ([1.0, 1.0], [[0.5, 0.5]]),
        ([1.0, 2.0], [[0.5, 0.6]]),
        ([1.0, 2.0], [[-0.1, 1.1]]),
        ([1.0], [[0.5, 0.5]]),
    ],
)
def test_grids_that_are_none(levels, chances):
    with pytest.raises(InputError):
        crps_grid(levels, chances, [1.0])


def test_pinball_is_least_at_the_quantile():
    y = np.random.default_rng(4).exponential(size=20_001)
    at = np.linspace(0.5, 3.0, 501)
    best = at[pinball(y[:, None], at, 0.8).mean(axis=0).argmin()]
    assert best == pytest.approx(np.quantile(y, 0.8), abs=0.01)
    np.testing.assert_allclose(pinball([3.0, 1.0], 2.0, 0.9), [0.9, 0.1])


def test_few_quantiles_rank_forecasts_as_the_whole_score_does():
    levels = np.array([0.05, 0.1, 0.25, 0.5, 0.75, 0.9, 0.95])
    y = np.random.default_rng(5).standard_normal(4000)
    for mean, sd in [(0.0, 1.0), (0.0, 1.5), (0.0, 0.6), (0.5, 1.0)]:
        told = np.broadcast_to(st.norm.ppf(levels, mean, sd), (len(y), len(levels)))
        few, whole = crps_quantiles(levels, told, y).mean(), crps_normal(y, mean, sd).mean()
        assert few == pytest.approx(whole, rel=0.01)
    with pytest.raises(InputError, match="evenly spread"):
        crps_quantiles([0.5, 0.51, 0.52, 0.9], np.zeros((1, 4)), [0.0])


def test_interval_scores_of_open_bands():
    score = interval_score([-np.inf, 0.0, -np.inf], [1.0, np.inf, np.inf], [0.5, -3.0, 9.0], 0.8)
    assert np.isposinf(score).all()
    with pytest.raises(InputError, match="low above high"):
        interval_score(2.0, 1.0, 1.5, 0.8)
    with pytest.raises(InputError, match=r"80 % as 0\.8"):
        interval_score(1.0, 2.0, 1.5, 80)


def test_log_scores_far_out_keep_their_figures():
    far = log_score_rounded([37.0, -60.0], 0.0, 1.0)
    # Mills' ratio: the window's nearer end holds nearly all of its chance
    assert far == pytest.approx([-st.norm.logsf(36.75), -st.norm.logsf(59.75)], rel=1e-3)
    assert log_score_rounded(0.0, 0.0, 1e-6) == pytest.approx(0.0, abs=1e-12)
    assert np.isposinf(log_score_rounded(1e3, 0.0, 1e-3, 500.0))


@pytest.mark.parametrize("sd", [0.0, -1.0, np.nan])
@pytest.mark.parametrize("score", [crps_normal, log_score_normal, log_score_rounded])
def test_spreads_that_are_none(score, sd):
    with pytest.raises(InputError, match="above 0"):
        score(1.0, 0.0, sd)


@pytest.mark.parametrize("n", [4, 9, 19, 39, 99, 999, 9999])
@pytest.mark.parametrize("percent", [50, 70, 80, 90, 95])
def test_ranks_are_exact_however_the_coverage_was_worked_out(n, percent):
    exact = -(-(n + 1) * percent // 100)
    for coverage in (percent / 100.0, 1.0 - (100 - percent) / 100.0, 0.1 + (percent - 10) / 100.0):
        assert conformal_rank(n, coverage) == exact


def test_conformal_quantiles_at_the_edges():
    assert conformal_quantile([], 0.8) == np.inf
    assert conformal_quantile([2.0, np.inf, 1.0, 3.0], 0.6) == 3.0
    with pytest.raises(InputError, match="1 NaN"):
        conformal_quantile([1.0, np.nan], 0.5)
    with pytest.raises(InputError):
        conformal_rank(-1, 0.8)
    with pytest.raises(InputError, match="between 0 and 1"):
        conformal_rank(10, 1.0)


def test_pit_steps_and_weights():
    at = [0.25, 0.5, 1.0]
    np.testing.assert_allclose(interval_pit_mean([0.5], [0.5], at), [0.0, 1.0, 1.0])
    weighted = interval_pit_mean([0.5, 0.0], [0.5, 1.0], at, [3.0, 1.0])
    np.testing.assert_allclose(weighted, [0.0625, 0.875, 1.0])
    np.testing.assert_allclose(interval_pit_heights([0.0, 1.0], [0.0, 1.0], 4), [2.0, 0.0, 0.0, 2.0])
    # a sum of chances may stand a rounding error above 1
    assert interval_pit_mean([1.0], [1.0 + 1e-12], [1.0]) == pytest.approx(1.0)


def test_pit_of_true_discrete_predictions_is_even():
    rng = np.random.default_rng(6)
    rates = rng.uniform(0.5, 4.0, 20_000)
    seen = rng.poisson(rates)
    lower, upper = st.poisson.cdf(seen - 1, rates), st.poisson.cdf(seen, rates)
    assert interval_pit_heights(lower, upper, 10) == pytest.approx(np.ones(10), abs=0.06)
    drawn = randomised_pit(lower, upper, seed=7)
    assert st.kstest(drawn, "uniform").pvalue > 1e-3
    np.testing.assert_array_equal(drawn, randomised_pit(lower, upper, seed=7))
    assert ((drawn >= lower) & (drawn <= upper)).all()


@pytest.mark.parametrize(("lower", "upper"), [([0.5], [0.4]), ([-0.1], [0.4]), ([0.5], [1.1]), ([], [])])
def test_intervals_that_are_none(lower, upper):
    with pytest.raises(InputError, match="PIT intervals"):
        randomised_pit(lower, upper, 1)
    with pytest.raises(InputError, match="PIT intervals"):
        interval_pit_mean(lower, upper, [0.5])


def test_rank_bands_hold():
    low, high = rank_counts_band(1000, 20, 0.9)
    counts = np.random.default_rng(8).multinomial(1000, np.full(20, 0.05), size=2000)
    inside = np.mean((counts >= low) & (counts <= high))
    # whole counts: rather more than asked for
    assert 0.895 < inside < 0.95
    with pytest.raises(InputError):
        rank_counts_band(100, 0)
    with pytest.raises(InputError):
        interval_pit_heights([0.1], [0.2], 0)


def test_effective_numbers():
    assert effective_number([]) == 0.0
    assert effective_number(np.full(7, 0.3)) == pytest.approx(7.0)
    assert effective_number([1.0, 1.0, 2.0]) == pytest.approx(16.0 / 6.0)
    assert effective_number([0.0, 5.0]) == pytest.approx(1.0)
    assert effective_number([1e-300, 1e-300]) == pytest.approx(2.0)
    with pytest.raises(InputError, match="weights"):
        effective_number([1.0, -1.0])


def test_wilson_of_parts_and_of_nothing():
    low, high = wilson([0.0, 2.5, 3.0], [0.0, 6.25, 3.0])
    np.testing.assert_allclose([low[0], high[0]], [0.0, 1.0])
    z = st.norm.ppf(0.975)
    centre, half = 0.4 + z**2 / 12.5, z * np.sqrt(0.4 * 0.6 / 6.25 + z**2 / (4.0 * 6.25**2))
    np.testing.assert_allclose(
        [low[1], high[1]], np.array([centre - half, centre + half]) / (1.0 + z**2 / 6.25)
    )
    assert high[2] == 1.0
    assert (wilson(3, 10, 0.5)[0] > wilson(3, 10, 0.99)[0]).all()
    with pytest.raises(InputError, match="count"):
        wilson(4, 3)


def test_kaplan_meier_without_censoring_is_the_share():
    time = np.array([1.0, 2.0, 2.0, 3.0])
    chance, low, high = kaplan_meier(time, np.ones(4), [0.5, 1.0, 2.5, 3.0, 9.0])
    np.testing.assert_allclose(chance, [0.0, 0.25, 0.75, 1.0, 1.0], atol=1e-12)
    # before the first event Wilson's of 0 in 4, after the last Wilson's of 4 in 4: nobody was lost
    assert (low[0], high[0]) == (0.0, pytest.approx(wilson(0, 4)[1]))
    assert low[3] == low[4] == pytest.approx(wilson(4, 4)[0])
    assert low[3] > low[2] > 0.0
    assert high[3] == high[4] == 1.0
    assert ((low <= chance + 1e-12) & (chance <= high + 1e-12)).all()


def test_kaplan_meier_is_no_vaguer_when_the_last_is_done_too():
    """58 of 84 after one session, 25 or all 26 of the others after two; then with 10 lost after one."""
    time = np.repeat([1.0, 2.0], [58, 26])
    all_but_one = np.append(np.ones(83), 0.0)
    chance, low, high = kaplan_meier(time, all_but_one, [2.0])
    assert (chance[0], low[0], high[0]) == pytest.approx((0.988, 0.942, 0.999), abs=1e-3)
    chance, low, high = kaplan_meier(time, np.ones(84), [2.0])
    assert (chance[0], high[0]) == (1.0, 1.0)
    assert low[0] == pytest.approx(wilson(84, 84)[0])
    lost = np.append(np.ones(50), np.r_[np.zeros(10), np.ones(24)])
    low = kaplan_meier(np.repeat([1.0, 2.0], [60, 24]), lost, [2.0])[1]
    # 24 followed where 34 in 84 were left: as 59.3 whom nobody lost
    assert low[0] == pytest.approx(wilson(24 * 84 / 34, 24 * 84 / 34)[0])
    assert wilson(24, 24)[0] < low[0] < wilson(84, 84)[0]


def test_kaplan_meier_beyond_what_was_followed():
    chance, low, high = kaplan_meier([1.0, 2.0, 4.0], [True, False, False], [4.0, 4.1])
    assert chance[0] == pytest.approx(1.0 / 3.0)
    assert np.isnan(chance[1])
    assert low[1] == low[0]
    assert high[1] == 1.0


def test_kaplan_meier_of_no_event_and_of_events_at_once():
    chance, low, high = kaplan_meier([2.0, 3.0, 3.0], np.zeros(3), [1.0, 2.5])
    np.testing.assert_array_equal(chance, 0.0)
    np.testing.assert_array_equal(low, 0.0)
    np.testing.assert_allclose(high, wilson([0, 0], [3, 2])[1])
    chance, low, high = kaplan_meier([2.0, 2.0], [1, 1], [2.0])
    assert (chance[0], low[0], high[0]) == (1.0, pytest.approx(wilson(2, 2)[0]), 1.0)
    with pytest.raises(InputError, match="no rows"):
        kaplan_meier([], [], [1.0])


def test_kaplan_meier_s_band_holds():
    """Exponential times, a third of them censored: 95 % of bands hold the truth, give or take 4 se."""
    rng = np.random.default_rng(9)
    runs, truth = 1500, 1.0 - np.exp(-0.8)
    held = 0
    for _ in range(runs):
        event, lost = rng.exponential(1.0, 60), rng.exponential(2.0, 60)
        _, low, high = kaplan_meier(np.minimum(event, lost), event <= lost, [0.8])
        held += int(low[0] <= truth <= high[0])
    assert held / runs == pytest.approx(0.95, abs=4.0 * np.sqrt(0.95 * 0.05 / runs))
