import dataclasses

import numpy as np
import pytest
from numpy.polynomial.hermite_e import hermegauss
from scipy.stats import norm

from outcomes.predictive.distribution import Recalibration
from outcomes.predictive.follow import SAMPLE, follow
from outcomes.predictive.reading import SLIP
from outcomes.predictive.told import ToldVisits, Unwritten

N = 4096
PARTS = ("shape", "sd_client", "sd_visit", "sd_result", "sd_look", "look_offset", "sd_start")
TRUTH = dict(zip(PARTS, (0.6, 0.2, 0.15, 0.18, 0.25, -0.1, 0.23), strict=True))
NO_LOOKS = (np.zeros(0, dtype=int), np.zeros(0))


@pytest.fixture(scope="module")
def known(make_predictive):
    """A distribution with a single draw, so that everything about it can be worked out apart."""
    one = {name: np.array([value]) for name, value in TRUTH.items()}
    one |= {"sd_stylist": np.array([0.1]), "sd_product": np.array([0.05])}
    coefficients = make_predictive().draws["coefficients"].mean(axis=0)[None]
    return make_predictive(
        **one,
        coefficients=coefficients,
        stylist=np.array([[-0.1, 0.0, 0.12]]),
        product=np.array([[-0.03, 0.04]]),
    )


def told(known, visits, readings, *, previous=None, clients=None, unwritten=None):
    """Visits as (start, rinse, later session) and readings as (visit, minutes, look, lower, upper)."""
    start, rinse, later = (np.array(column, dtype=float) for column in zip(*visits, strict=True))
    words = {"hair": "natural", "heat": "low", "texture": "medium"}
    columns = {name: np.array([word] * len(start), dtype=object) for name, word in words.items()}
    columns |= {"peroxide_pct": np.full(len(start), 6.0), "start_level": start}
    visit, minutes, look, lower, upper = (np.array(column) for column in zip(*readings, strict=True))
    counts = np.bincount(visit.astype(int), minlength=len(start))
    clients = np.zeros(len(start), dtype=int) if clients is None else np.array(clients)
    return ToldVisits(
        first_visit=np.searchsorted(clients, np.unique(clients)),
        n_visits=np.bincount(clients),
        rows=known.design.encode(columns, later > 0),
        start=start,
        rinse=rinse,
        stylist=np.full(len(start), 1),
        product=np.full(len(start), -1),
        previous=np.full(len(start), -1) if previous is None else np.array(previous),
        first_reading=np.cumsum(counts) - counts,
        n_readings=counts,
        minutes=minutes.astype(float),
        is_look=look.astype(bool),
        lower=lower.astype(float),
        upper=upper.astype(float),
        unwritten=unwritten,
    )


def centre(known, visits):
    return visits.rows @ known.draws["coefficients"][0] + known.draws["stylist"][0, 1]


def chances(gained, d, minutes, look, lower, upper):
    """Chance below, and up to, at given levels gained in 45 minutes."""
    sd, offset = (TRUTH["sd_look"], TRUTH["look_offset"]) if look else (TRUTH["sd_result"], 0.0)
    mean = d + gained * (minutes / 45.0) ** TRUTH["shape"] + offset
    return norm.cdf((lower - mean) / sd), norm.cdf((upper - mean) / sd)


READINGS = [(0, 15, True, 1.75, 2.25), (0, 25, True, 3.25, 3.75), (0, 40, False, 4.25, 4.75)]


def by_quadrature(mean, readings):
    """Intervals and log chance of one visit's readings, over log R and the start's error."""
    z, w = hermegauss(80)
    spread = np.hypot(TRUTH["sd_client"], TRUTH["sd_visit"])
    gained, d = np.exp(mean + spread * z)[:, None], (TRUTH["sd_start"] * z)[None, :]
    weight = w[:, None] * w[None, :] / w.sum() ** 2
    found = []
    for _, *reading in readings:
        below, upto = chances(gained, d, *reading)
        found.append(((weight * below).sum() / weight.sum(), (weight * upto).sum() / weight.sum()))
        weight = weight * (upto - below + SLIP)
    return np.array(found), np.log(weight.sum())


def test_one_visit_as_by_quadrature(known):
    visits = told(known, [(3.0, 40, 0)], READINGS)
    intervals, log_chance = by_quadrature(centre(known, visits)[0], READINGS)
    found = follow(known, visits, N, 1, samples=True)
    np.testing.assert_allclose(np.column_stack([found.low, found.high]), intervals, atol=0.01)
    assert found.log_chance[0] == pytest.approx(log_chance, abs=0.03)
    # the middle of the first reading is near the plan's centre
    middle = np.exp(centre(known, visits)[0]) * (15 / 45) ** 0.6 - 0.1
    assert np.median(found.sample[0]) == pytest.approx(middle, abs=0.02)
    assert found.sample.shape == (1, SAMPLE)


def test_looks_that_nobody_wrote_down_count_jointly(known):
    readings = [(0, 40, False, 5.25, np.inf)]
    way = Unwritten(
        first=np.array([0]),
        count=np.array([3]),
        way=np.array([0, 0, 1]),
        minutes=np.array([20.0, 30.0, 35.0]),
        upper=np.full(3, 4.25),
        weight=np.array([0.4, 0.4, 0.6]),
    )
    visits = told(known, [(3.0, 40, 0)], readings, unwritten=way)
    z, w = hermegauss(80)
    mean = centre(known, visits)[0]
    gained = np.exp(mean + np.hypot(TRUTH["sd_client"], TRUTH["sd_visit"]) * z)[:, None]
    d = (TRUTH["sd_start"] * z)[None, :]
    share = w[:, None] * w[None, :] / w.sum() ** 2
    looks = {t: chances(gained, d, t, True, -np.inf, 4.25)[1] for t in (20, 30, 35)}
    before = 0.4 * looks[20] * looks[30] + 0.6 * looks[35]
    below, upto = chances(gained, d, 40, False, 5.25, np.inf)
    found = follow(known, visits, N, 1)
    assert found.low[0] == pytest.approx((share * before * below).sum(), abs=0.01)
    assert found.high[0] == pytest.approx((share * before).sum(), abs=0.01)
    assert found.log_chance[0] == pytest.approx(np.log((share * before * (upto - below)).sum()), abs=0.03)


def test_a_second_visit_knows_the_first(known):
    """Against two million sets of unknowns weighted by the first visit's readings."""
    slow = [(0, 15, True, 0.75, 1.25), (0, 25, True, 1.75, 2.25), (0, 40, False, 2.75, 3.25)]
    second = [(1, 15, True, 1.75, 2.25), (1, 35, False, 2.75, np.inf)]
    visits = told(known, [(3.0, 40, 0), (6.0, 35, 1)], slow + second, previous=[-1, 0])
    rng = np.random.default_rng(5)
    size = 2_000_000
    client, first, later, d = rng.standard_normal((4, size))
    client, d = TRUTH["sd_client"] * client, TRUTH["sd_start"] * d
    mean = centre(known, visits)
    gained = np.exp(mean[0] + client + TRUTH["sd_visit"] * first)
    weight = np.ones(size)
    for _, *reading in slow:
        below, upto = chances(gained, d, *reading)
        weight *= upto - below + SLIP
    end = np.minimum(3.0 + d + gained * (40 / 45) ** 0.6, 10.0)
    gained, d = np.exp(mean[1] + client + TRUTH["sd_visit"] * later), end - 6.0
    exact = []
    for _, *reading in second:
        below, upto = chances(gained, d, *reading)
        exact.append((np.average(below, weights=weight), np.average(upto, weights=weight)))
        weight *= upto - below + SLIP
    found = [follow(known, visits, N, seed) for seed in range(8)]
    low, high = (np.mean([getattr(one, name)[3:] for one in found], axis=0) for name in ("low", "high"))
    np.testing.assert_allclose(np.column_stack([low, high]), exact, atol=0.012)
    # as a new client its first look would have been expected elsewhere
    alone = told(known, [(6.0, 35, 1)], [(0, *reading[1:]) for reading in second])
    assert abs(follow(known, alone, N, 1).low[0] - low[0]) > 0.03


def test_derivatives_as_by_differences(known):
    way = Unwritten(
        *(np.array([0, 0]), np.array([0, 2]), np.array([0, 1])),
        minutes=np.array([20.0, 25.0]), upper=np.full(2, 1.75), weight=np.array([0.5, 0.5]),
    )  # fmt: skip
    readings = [*READINGS, (1, 35, False, 1.75, np.inf)]
    visits = told(known, [(3.0, 40, 0), (7.0, 35, 1)], readings, clients=[0, 1], unwritten=way)
    at = Recalibration(spread=1.2, reading=0.9, df=6.0)

    def log_chance(**change):
        changed = dataclasses.replace(known, recalibration=dataclasses.replace(at, **change))
        return follow(changed, visits, 512, 1, pilot=at).log_chance

    found = follow(dataclasses.replace(known, recalibration=at), visits, 512, 1, slopes=True)
    for place, name in enumerate(("spread", "reading")):
        value = getattr(at, name)
        step = (
            log_chance(**{name: value * np.exp(1e-4)}) - log_chance(**{name: value * np.exp(-1e-4)})
        ) / 2e-4
        np.testing.assert_allclose(found.slope[:, place], step, rtol=2e-3, atol=2e-4)
    assert (found.slope[:, 2] == 0).all()


def test_the_slope_of_the_later_scale_holds_what_the_first_visit_told(known):
    second = [(1, 15, True, 1.75, 2.25), (1, 35, False, 2.75, np.inf)]
    visits = told(known, [(3.0, 40, 0), (7.5, 35, 1)], READINGS + second, previous=[-1, 0])

    def followed(later):
        changed = dataclasses.replace(known, recalibration=Recalibration(later=later))
        return follow(changed, visits, 512, 1, slopes=True, pilot=Recalibration())

    step = (followed(np.exp(1e-4)).log_chance - followed(np.exp(-1e-4)).log_chance) / 2e-4
    slope = followed(1.0).slope[:, 2]
    assert slope[0] == 0
    assert slope[1] == pytest.approx(step[1], rel=2e-3, abs=2e-4)


def test_visits_left_out_keep_their_places(known):
    visits = told(
        known, [(3.0, 40, 0), (3.0, 40, 0)], [*READINGS, (1, 40, False, 4.25, 4.75)], clients=[0, 1]
    )
    found = follow(known, visits.of_clients(np.array([1])), 512, 1)
    assert found.log_chance[0] == 0
    assert (found.high[:3] == 0).all()
    assert 0 < found.low[3] < found.high[3] < 1
