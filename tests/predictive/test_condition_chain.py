"""The chain against closed forms, against courses that are played, and what it must rise and fall with."""

from dataclasses import replace
from math import erf, sqrt

import numpy as np
import pytest

from outcomes.errors import InputError
from outcomes.predictive.condition_chain import CLIENTS, CONDITIONS, ConditionLosses, follow_condition

PLAN = (45.0, 6.0, "low", "natural")
STAYS = np.array([[0.0, 0.0, 1.0, 0.0, 0.0]] * 2)


def _cdf(z):
    return 0.5 * (1.0 + erf(z / sqrt(2.0)))


@pytest.fixture
def losses(costed):
    return costed.condition_losses


def test_a_session_is_a_rounded_normal_loss(losses):
    mean, sd = 0.3 + 0.05, 0.4  # a quarter of an hour more than half an hour, 6 %
    found = losses.after(*PLAN, False)[0, 0]
    within = [_cdf((points + 0.5 - mean) / sd) for points in range(5)]
    assert found[3] == pytest.approx(
        [1 - within[2], within[2] - within[1], within[1] - within[0], within[0], 0.0], abs=1e-7
    )
    assert found[0].tolist() == [1.0, 0.0, 0.0, 0.0, 0.0]
    assert found[1] == pytest.approx([1 - within[0], within[0], 0, 0, 0], abs=1e-7)


def test_chances_of_every_state_add_up(losses):
    spread = replace(losses, sd_client=0.3)
    for later in (False, True):
        assert np.allclose(spread.after(*PLAN, later).sum(axis=-1), 1.0, atol=1e-12)
    assert np.allclose(spread.until_next(4).sum(axis=1), 1.0)


def test_stronger_and_longer_leave_less(losses):
    def mean(minutes, peroxide):
        return losses.after(minutes, peroxide, "low", "natural", False)[0, 4, 3] @ CONDITIONS

    assert mean(45, 12) < mean(45, 6) < mean(45, 3)
    assert mean(60, 6) < mean(30, 6)


def test_hair_recovers_only_what_it_lost(losses):
    until = losses.until_next(4)
    assert until[3].tolist() == [0, 0, 0, 1.0, 0]
    assert until[2].tolist() == [0, 0, 0.8, 0.2, 0]
    eager = replace(losses, recovery=np.array([[0, 0, 0.5, 0, 0.5], [0.5, 0, 0.5, 0, 0]]))
    assert eager.until_next(4)[4].tolist() == [0, 0, 0, 0, 1.0]  # never above 5
    assert eager.until_next(5)[0].tolist() == [1.0, 0, 0, 0, 0]  # nor below 1


def test_falling_below_is_geometric_where_sessions_are_alike(losses):
    """From 2 with a floor of 2 a session falls below with chance q; done with chance r in each session."""
    plain = replace(losses, recovery=STAYS)
    q = float(plain.after(*PLAN, False)[0, 0, 1, 0])
    r, limit = 0.4, 12
    sessions = [r * (1 - r) ** k for k in range(limit)]
    chain = follow_condition(plain, [plain.after(*PLAN, False)] * limit, 2, 2, (*sessions, 1 - sum(sessions)))
    assert chain.first_below == pytest.approx([q * (1 - q) ** k for k in range(limit)])
    assert chain.below == pytest.approx([1 - (1 - q) ** (k + 1) for k in range(limit)])
    kept = (1 - q) * (1 - r)
    assert chain.stops == pytest.approx(q * (1 - r) * (1 - kept**limit) / (1 - kept))


def test_the_client_s_own_part_is_the_same_in_every_session(losses):
    """By simulation: 400,000 courses, four standard errors of a share are 0.003."""
    spread = replace(losses, sd_client=0.35)
    sessions = (0.3, 0.4, 0.2, 0.1)
    treatments = [spread.after(*PLAN, False), *([spread.after(45.0, 9.0, "low", "lightened", True)] * 2)]
    chain = follow_condition(spread, treatments, 4, 3, sessions)
    rng = np.random.default_rng(3)
    n = 400_000
    client = 0.35 * rng.standard_normal(n)
    needed = rng.choice(4, n, p=sessions)
    state, end = np.full(n, 4), np.zeros(n, dtype=int)
    below, stops = np.zeros(n, dtype=bool), np.zeros(n, dtype=bool)
    for k, peroxide in enumerate((6.0, 9.0, 9.0)):
        loss = 0.35 + 0.3 * np.log(peroxide / 6) + client + 0.4 * rng.standard_normal(n)
        state = np.maximum(state - np.maximum(np.floor(loss + 0.5), 0), 1).astype(int)
        assert np.bincount(state, minlength=6)[1:] / n == pytest.approx(chain.after[k], abs=0.003)
        falls = (state < 3) & ~below
        assert falls.mean() == pytest.approx(chain.first_below[k], abs=0.003)
        stops |= falls & (needed > k)
        ends = (end == 0) & ((needed == k) | (state < 3) | (k == 2))
        end[ends] = state[ends]
        below |= state < 3
        state += (state < 4) & (rng.random(n) < 0.2)
    assert stops.mean() == pytest.approx(chain.stops, abs=0.003)
    assert np.bincount(end, minlength=6)[1:] / n == pytest.approx(chain.end, abs=0.003)


def test_a_higher_floor_is_crossed_sooner(losses):
    treatments = [losses.after(*PLAN, False)] * 4
    stops = [follow_condition(losses, treatments, 4, f, (0.2, 0.4, 0.2, 0.1, 0.1)).stops for f in range(1, 5)]
    assert stops[0] == 0.0
    assert stops == sorted(stops)
    assert stops[3] > 0.3


def test_who_is_done_at_once_is_stopped_by_nothing(losses):
    chain = follow_condition(losses, [losses.after(*PLAN, False)] * 2, 3, 3, (1.0, 0.0, 0.0))
    assert chain.stops == pytest.approx(0.0, abs=1e-12)
    assert chain.end == pytest.approx(chain.after[0])


def test_nodes_of_clients_are_those_of_a_normal():
    nodes, weights = CLIENTS
    assert weights.sum() == pytest.approx(1.0)
    assert weights @ nodes**2 == pytest.approx(1.0)
    assert weights @ nodes**4 == pytest.approx(3.0)


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"coefficients": np.zeros((1, 3))}, "coefficients"),
        ({"sd_client": -0.1}, "spread"),
        ({"sd_session": 0.0}, "spread"),
        ({"recovery": np.array([[0, 0, 0.5, 0, 0]] * 2)}, "recovery"),
    ],
)
def test_what_does_not_fit_is_named(losses, change, said):
    with pytest.raises(InputError, match=said):
        replace(losses, **change)


def test_nothing_learned_is_nothing_known():
    assert not ConditionLosses().is_known
