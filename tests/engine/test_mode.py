"""The inner maximum: a stationary point, found from far away, with nodes where the posterior is."""

import numpy as np
import pytest

from outcomes.engine.joint import first_placements, loaded
from outcomes.engine.mode import find_mode

FAR = [-4.0, 3.0, 6.0, 12.0]


def _setting(plan, theta=0.7):
    raw = np.zeros(plan.n_raw)
    raw[:] = np.log(0.25)  # sds of groups, companions and readings alike
    if plan.has_shape:
        raw[0] = np.log(theta)
    return plan.setting(raw)


def _mode(plan, intercept, tolerance=1e-12):
    problem, setting = plan.problem, _setting(plan)
    start = np.zeros(problem.n_random + problem.n_fixed)
    start[problem.n_random] = intercept
    placements = first_placements(problem, setting.values)
    return find_mode(problem, plan.structure, setting, start, placements, map, tolerance)


@pytest.mark.parametrize("nodes", [1, 9])
@pytest.mark.parametrize("alternatives", [False, True])
@pytest.mark.parametrize("link", ["log", "identity"])
def test_from_far_away_to_the_same_mode(make_case, make_plan, link, alternatives, nodes):
    """Under the log link a full step from far away would diverge: it is shortened until it climbs."""
    plan = make_plan(make_case(link=link, alternatives=alternatives, visits=24), nodes=nodes)
    near = _mode(plan, 1.2 if link == "log" else 3.0)
    assert near.converged
    for intercept in FAR:
        far = _mode(plan, intercept)
        assert far.converged
        # nodes settle where they are good enough, not in one place: the quadrature's error is left
        np.testing.assert_allclose(far.unknowns, near.unknowns, atol=1e-5 if nodes == 1 else 1e-3)
        assert far.value == pytest.approx(near.value, abs=1e-6 if nodes == 1 else 1e-3)


@pytest.mark.parametrize("nodes", [1, 9])
def test_mode_is_stationary_and_highest(make_case, make_plan, nodes):
    plan = make_plan(make_case(), nodes=nodes)
    mode = _mode(plan, 1.2)
    again = find_mode(
        plan.problem, plan.structure, _setting(plan), mode.unknowns, mode.placements, map, 1e-12
    )
    assert again.steps == 1
    assert again.decrement < 1e-12
    assert mode.predictor == pytest.approx(loaded(plan.problem, mode.unknowns))


@pytest.mark.parametrize("far", [False, True])
def test_nodes_lie_where_the_posterior_is(make_case, make_plan, far):
    plan = make_plan(make_case(visits=24), nodes=9)
    mode = _mode(plan, 5.0 if far else 1.2)
    for piece, sums, now in zip(plan.problem.pieces, mode.sums, mode.placements, strict=True):
        present = piece.has_effect
        away = np.abs(sums.moments.mean - now.centre) / now.scale
        ratio = np.sqrt(sums.moments.variance) / now.scale
        # the last steps keep the nodes: the posterior may still move by part of its own sd
        assert (away[present] <= 0.5).all()
        assert ((ratio[present] > 1 / 1.3) & (ratio[present] < 1.3)).all()
