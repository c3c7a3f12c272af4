"""Peers against the libraries they come from, on simulated looks, and in what they refuse."""

import time

import numpy as np
import pytest
import scipy.stats as st
import statsmodels.api as sm

from outcomes.calibration.baselines import BASELINES, BoostedQuantiles, LeastSquares, TeamAverage
from outcomes.calibration.boosted import LEVELS, best_of, chance_below, split_clients, tune
from outcomes.calibration.scores import conformal_rank, crps_grid, crps_normal
from outcomes.errors import InputError, NotFittedError

pytestmark = pytest.mark.slow


def looks(n, clients, seed, spread=0.25):
    """Covariates, minutes, levels gained in half steps, clients; the spread grows with the minutes."""
    rng = np.random.default_rng(seed)
    client = np.arange(n) if clients is None else rng.integers(0, clients, n)
    rows = np.column_stack([rng.standard_normal(n), rng.random(n) < 0.4])
    minutes = rng.uniform(10.0, 60.0, n)
    rate = np.exp(1.2 + 0.2 * rows[:, 0] - 0.2 * rows[:, 1])
    exact = rate * (minutes / 45.0) ** 0.62 + spread * np.sqrt(minutes / 20.0) * rng.standard_normal(n)
    return rows, minutes, np.round(2.0 * exact) / 2.0, client


@pytest.fixture(scope="module")
def fitted():
    """All peers, with the looks they learned from and others of other clients."""
    known = looks(800, 300, seed=1)
    peers = {name: peer().fit(*known) for name, peer in BASELINES.items()}
    return peers, known, looks(4000, None, seed=2)


@pytest.mark.parametrize("coverage", [0.5, 0.8, 0.95])
def test_least_squares_band_is_statsmodels_prediction_interval(fitted, coverage):
    peers, (rows, minutes, gain, _), (new, later, _, _) = fitted
    theirs = sm.OLS(gain, sm.add_constant(np.column_stack([np.log(minutes / 45.0), rows]))).fit()
    told = theirs.get_prediction(sm.add_constant(np.column_stack([np.log(later / 45.0), new])))
    band = peers["least_squares"].band(new, later, coverage)
    np.testing.assert_allclose(
        np.column_stack(band), told.conf_int(obs=True, alpha=1.0 - coverage), rtol=1e-9
    )


def test_least_squares_bear_columns_that_can_t_be_told_apart(fitted):
    peers, (rows, minutes, gain, client), (new, later, _, _) = fitted

    def doubled(rows):
        """The same told three times over: an intercept, a column twice, both categories of a word."""
        return np.column_stack([np.ones(len(rows)), rows, rows[:, 0] * 3.0, 1.0 - rows[:, 1]])

    wide = LeastSquares().fit(doubled(rows), minutes, gain, client)
    assert wide.kept_ == [0, 1, 3, 4]
    np.testing.assert_allclose(
        wide.band(doubled(new), later, 0.8), peers["least_squares"].band(new, later, 0.8), rtol=1e-9
    )


def test_least_squares_on_few_rows_are_student_s_t():
    rows, minutes, gain, client = looks(8, None, seed=3)
    peer = LeastSquares().fit(rows, minutes, gain, client)
    told = peer.fit_.get_prediction(peer.fit_.model.exog)
    law = st.t(4.0, told.predicted_mean, told.se_obs)
    np.testing.assert_allclose(peer.chance_reached(rows, minutes, 2.25), law.sf(2.25), rtol=1e-9)
    rounded = law.cdf(gain + 0.25) - law.cdf(gain - 0.25)
    np.testing.assert_allclose(peer.log_score(rows, minutes, gain), -np.log(rounded), rtol=1e-9)
    # distances of many quantiles make the score by quadrature
    grid = law.ppf((np.arange(4000)[:, None] + 0.5) / 4000)
    score = [crps_grid(grid[:, k], np.full((1, 4000), 1 / 4000), [gain[k]])[0] for k in range(len(gain))]
    np.testing.assert_allclose(peer.crps(rows, minutes, gain), score, rtol=2e-3)


def test_team_average_is_one_normal_distribution(fitted):
    peers, (_, _, gain, _), (new, later, seen, _) = fitted
    mean, sd = gain.mean(), gain.std(ddof=1)
    peer = peers["team_average"]
    low, high = peer.band(new, later, 0.8)
    np.testing.assert_allclose([low[0], high[-1]], st.norm.ppf([0.1, 0.9], mean, sd))
    np.testing.assert_allclose(peer.crps(new, later, seen), crps_normal(seen, mean, sd))
    np.testing.assert_allclose(peer.chance_reached(new, later, 3.0), st.norm.sf(3.0, mean, sd))
    # chances of all half steps add up to 1
    every = np.arange(-20.0, 30.0, 0.5)
    chances = np.exp(-peer.log_score(np.zeros((len(every), 2)), np.full(len(every), 30.0), every))
    assert chances.sum() == pytest.approx(1.0, abs=1e-9)


def test_no_client_is_both_learned_from_and_calibrated_on():
    client = np.array([f"C{code}" for code in np.random.default_rng(4).integers(0, 60, 300)], dtype=object)
    for seed in range(20):
        learned, calibrated = split_clients(client, 0.25, seed)
        assert (learned ^ calibrated).all()
        assert not set(client[learned]) & set(client[calibrated])
        assert len(set(client[calibrated])) == pytest.approx(0.25 * len(set(client)), abs=1.0)


def test_conformal_band_holds_as_often_as_theory_says():
    """One row a client, so rows are exchangeable: coverage is drawn from Beta (k, n + 1 - k), Vovk (2012)."""
    new, later, seen, _ = looks(4000, None, seed=5)
    # half steps would tie, and ties make bands hold more often
    blur = np.random.default_rng(6)
    seen = seen + blur.uniform(-0.25, 0.25, len(seen))
    found = []
    for seed in range(40):
        rows, minutes, gain, client = looks(160, None, seed=100 + seed)
        gain = gain + blur.uniform(-0.25, 0.25, len(gain))
        peer = BoostedQuantiles(leaves=(3,), iterations=(20,), seed=seed).fit(rows, minutes, gain, client)
        assert peer.calibrated_.sum() == 40
        low, high = peer.band(new, later, 0.8)
        found.append(np.mean((low <= seen) & (seen <= high)))
    k = conformal_rank(40, 0.8)
    exact = st.beta(k, 41 - k)
    sd = np.hypot(exact.std(), np.sqrt(0.16 / len(seen)))
    assert np.mean(found) == pytest.approx(k / 41, abs=4.0 * sd / np.sqrt(len(found)))
    assert np.std(found) == pytest.approx(sd, rel=4.0 / np.sqrt(2.0 * len(found)))


@pytest.mark.parametrize("coverage", [0.5, 0.8, 0.9, 0.95])
def test_conformal_band_of_a_usual_log(fitted, coverage):
    """Clients with several rows, half steps: bounds for one calibration set, ties on the safe side."""
    peers, _, (new, later, seen, _) = fitted
    peer = peers["boosted_quantiles"]
    low, high = peer.band(new, later, coverage)
    held = np.mean((low <= seen) & (seen <= high))
    n = int(peer.calibrated_.sum())
    k = conformal_rank(n, coverage)
    least, most = st.beta(k, n + 1 - k).ppf([0.0005, 0.9995])
    assert least - 0.02 < held < most + 0.06
    # it knows that the spread grows
    assert (high - low)[later > 50].mean() > 1.2 * (high - low)[later < 20].mean()


def test_too_few_clients_to_calibrate_on_give_open_bands():
    rows, minutes, gain, client = looks(30, 12, seed=7)
    few = client < 4
    peer = BoostedQuantiles((3,), (20,)).fit(rows[few], minutes[few], gain[few], client[few])
    low, high = peer.band(rows, minutes, 0.95)
    assert np.isneginf(low).all()
    assert np.isposinf(high).all()
    assert np.isfinite(peer.crps(rows, minutes, gain)).all()
    assert np.isfinite(peer.chance_reached(rows, minutes, 2.0)).all()


def test_tuning_takes_the_better_size():
    rows, minutes, gain, client = looks(600, 200, seed=8)
    peer = BoostedQuantiles(leaves=(2, 6), iterations=(1, 60), seed=1).fit(rows, minutes, gain, client)
    assert set(peer.losses_) == {(2, 1), (2, 60), (6, 1), (6, 60)}
    assert peer.size_ == min(peer.losses_, key=peer.losses_.get)
    assert peer.size_[1] == 60
    assert peer.losses_[peer.size_] < 0.7 * peer.losses_[2, 1]
    assert best_of({(6, 80): 0.2, (3, 40): 0.2, (3, 20): 0.3}) == (3, 40)


def test_tuning_sees_no_client_twice():
    """A column that tells clients apart tells nothing of other ones: trees that lean on it must lose."""
    rng = np.random.default_rng(9)
    client = np.repeat(np.arange(40), 25)
    gain = rng.standard_normal(40)[client] + 0.1 * rng.standard_normal(1000)
    told = tune(client[:, None].astype(float), gain, client, (2, 16), (1, 100), seed=1)
    assert told[16, 100] > told[2, 1]


def test_a_seed_gives_the_same_again(fitted):
    peers, known, (new, later, seen, _) = fitted
    again = BoostedQuantiles().fit(*known)
    np.testing.assert_array_equal(
        again.band(new, later, 0.8), peers["boosted_quantiles"].band(new, later, 0.8)
    )
    np.testing.assert_array_equal(
        again.crps(new, later, seen), peers["boosted_quantiles"].crps(new, later, seen)
    )
    other = BoostedQuantiles((3,), (40,), seed=2).fit(*known)
    assert (other.calibrated_ != again.calibrated_).any()


def test_tuned_trees_of_2000_rows_take_seconds():
    known = looks(2000, 700, seed=10)
    known = (np.column_stack([known[0], np.random.default_rng(11).random((2000, 18)) < 0.3]), *known[1:])
    start = time.process_time()
    BoostedQuantiles().fit(*known)
    assert time.process_time() - start < 15.0


def test_peers_that_know_more_score_better(fitted):
    peers, _, (new, later, seen, _) = fitted
    crps = {name: peer.crps(new, later, seen).mean() for name, peer in peers.items()}
    assert crps["least_squares"] < 0.75 * crps["team_average"]
    assert crps["boosted_quantiles"] < 0.75 * crps["team_average"]
    reached = {name: peer.chance_reached(new, later, 2.75) for name, peer in peers.items()}
    brier = {name: np.mean((chance - (seen >= 3.0)) ** 2) for name, chance in reached.items()}
    assert max(brier["least_squares"], brier["boosted_quantiles"]) < 0.6 * brier["team_average"]
    # a straight line of log minutes is wrong here, trees aren't
    assert reached["least_squares"].mean() == pytest.approx(np.mean(seen >= 3.0), abs=0.08)
    assert reached["boosted_quantiles"].mean() == pytest.approx(np.mean(seen >= 3.0), abs=0.03)


def test_trees_have_no_log_score(fitted):
    peers, _, (new, later, seen, _) = fitted
    assert np.isnan(peers["boosted_quantiles"].log_score(new, later, seen)).all()


def test_chances_go_through_the_quantiles_and_beyond():
    told = np.tile(st.norm.ppf(LEVELS, 3.0, 0.7), (5, 1))
    value = np.array([1.0, told[0, 1], 3.3, told[0, 6], 6.0])
    np.testing.assert_allclose(chance_below(told, value), st.norm.cdf(value, 3.0, 0.7), rtol=1e-9)
    # beyond a step at the end nothing is left
    tied = np.array([[2.0, 2.0, 2.5, 2.5, 2.5, 3.0, 3.0]] * 4)
    chances = chance_below(tied, np.array([1.9, 2.5, 3.0, 3.1]))
    np.testing.assert_allclose(chances, [0.0, 0.75, 0.95, 1.0], atol=1e-12)


@pytest.mark.parametrize("name", BASELINES)
def test_what_peers_refuse(name):
    rows, minutes, gain, client = looks(40, 15, seed=12)
    peer = BASELINES[name]()
    with pytest.raises(NotFittedError, match="call `fit`"):
        peer.band(rows, minutes, 0.8)
    for wrong in (
        (rows[:-1], minutes, gain, client),
        (rows, minutes[:-1], gain, client),
        (rows, minutes, np.where(gain > 3.0, np.nan, gain), client),
        (rows, np.zeros(40), gain, client),
        (rows, minutes, gain, client[:-1]),
        (rows[:1], minutes[:1], gain[:1], client[:1]),
    ):
        with pytest.raises(InputError):
            peer.fit(*wrong)
    peer.fit(rows, minutes, gain, client)
    with pytest.raises(InputError, match="n x 2"):
        peer.band(rows[:, :1], minutes, 0.8)
    with pytest.raises(InputError, match=r"80 % as 0\.8"):
        peer.band(rows, minutes, 80)


@pytest.mark.parametrize("peer", [TeamAverage(), LeastSquares(), BoostedQuantiles((3,), (20,))])
def test_peers_without_covariates(peer):
    _, minutes, gain, client = looks(80, 30, seed=13)
    low, high = peer.fit(np.empty((80, 0)), minutes, gain, client).band(np.empty((80, 0)), minutes, 0.8)
    assert (low < high).all()
