"""Information by differences of the gradient, where the worked-out form can't serve."""

from __future__ import annotations

import dataclasses

import numpy as np
import pandas as pd
import pytest

from outcomes.demo.simulate import simulate_log
from outcomes.demo.worlds import world
from outcomes.engine import Prior, fit_interval_mixed, log_marginal
from outcomes.engine.curvature import finish
from outcomes.engine.joint import first_placements
from outcomes.engine.outer import maximise
from outcomes.models.lift import LiftModel
from tests.models.logs import as_log

pytestmark = pytest.mark.slow


def _rounded(n_groups=40, each=2, seed=3):
    """Few rounded readings, an error well below their window: hardly told from the visit's own spread."""
    rng = np.random.default_rng(seed)
    group = np.repeat(np.arange(n_groups), each)
    y = np.exp(1.2 + 0.2 * rng.standard_normal(n_groups))[group] + 0.2 * rng.standard_normal(len(group))
    rounded = np.round(2.0 * y) / 2.0
    design = pd.DataFrame({"mean": np.ones(len(group))})
    return rounded - 0.25, rounded + 0.25, design, {"visit": group}


def test_small_rounded_data_get_the_curvature_of_their_likelihood():
    """Against second differences of `log_marginal`, with the priors' part added by hand."""
    given = _rounded()
    prior = Prior(log_group_sd={"visit": (np.log(0.2), 0.7)}, log_reading_sd={None: (np.log(0.2), 0.5)})
    fit = fit_interval_mixed(*given, link="log", prior=prior, nodes=41)
    assert fit.converged
    centre = np.log([fit.reading_sd, fit.group_sd["visit"]])

    def value(raw):
        found = log_marginal(
            *given, link="log", group_sd={"visit": np.exp(raw[1])}, reading_sd=np.exp(raw[0]), nodes=41
        )
        away = (raw - np.log([0.2, 0.2])) / np.array([0.5, 0.7])
        return found - 0.5 * float(away @ away)

    step, unit = 0.02, np.eye(2)
    second = np.empty((2, 2))
    for i in range(2):
        for j in range(2):
            corners = [
                one * other * value(centre + step * (one * unit[i] + other * unit[j]))
                for one in (1, -1)
                for other in (1, -1)
            ]
            second[i, j] = sum(corners) / (4.0 * step**2)
    names = ["log_reading_sd", "log_sd:visit"]
    found = np.sqrt(np.diag(fit.joint_covariance.loc[names, names]))
    np.testing.assert_allclose(found, np.sqrt(np.diag(np.linalg.inv(-second))), rtol=0.05)
    # a standard error can't be larger than the prior's own spread
    assert (found < [0.5, 0.7]).all()


@pytest.mark.parametrize("factor", [-1.0, 0.001])
def test_a_wrong_information_is_put_right(make_case, make_plan, factor):
    """Whatever matrix a climb ends with, indefinite or telling nothing, the same one comes out."""
    prior = Prior(log_group_sd=dict.fromkeys(("visit", "client", "stylist", "start"), (-1.6, 0.3)))
    plan = make_plan(make_case(visits=60, clients=12, stylists=3), nodes=9, prior=prior)
    start = np.zeros(plan.problem.n_random + plan.problem.n_fixed)
    free = np.full(len(plan.free), -1.0)
    placements = first_placements(plan.problem, plan.setting(plan.raw(free)).values)
    ended = maximise(plan, free, start, placements, map, 1e-8)
    right = finish(plan, ended, map, 1e-8, least_reading=-np.inf)
    spoilt = dataclasses.replace(
        ended, slope=dataclasses.replace(ended.slope, information=factor * ended.slope.information)
    )
    mended = finish(plan, spoilt, map, 1e-8, least_reading=-np.inf)
    assert (np.linalg.eigvalsh(mended.slope.information) > 0).all()
    errors = [np.sqrt(np.diag(np.linalg.inv(o.slope.information))) for o in (mended, right)]
    np.testing.assert_allclose(*errors, rtol=0.1)
    # nine nodes placed anew move the end by a fiftieth of a standard error
    assert (np.abs(mended.objective.free - ended.objective.free) < 0.03 * errors[0]).all()


@pytest.mark.parametrize("seed", [0, 1])
def test_logs_in_which_every_client_comes_once(seed):
    """Client and visit are then told apart by their priors alone; the worked-out form isn't positive."""
    tables, _ = simulate_log(world("plain"), 400, seed)
    visits = tables["visits"].assign(client=[f"C{i}" for i in range(400)])
    log = as_log({**tables, "visits": visits})
    model = LiftModel().fit(log)
    fit = model.fit_
    assert fit.converged
    # the prior's sd is 0.7; readings can't make them less sure
    for name in ("log_sd:client", "log_sd:visit"):
        assert np.sqrt(fit.joint_covariance.loc[name, name]) < 0.75
    assert fit.shape.low < 0.62 < fit.shape.high
    assert fit.shape.high - fit.shape.low < 0.15
    assert not any("not identified" in note for note in fit.notes)
