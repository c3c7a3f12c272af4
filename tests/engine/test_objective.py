"""The outer gradient and information against differences of the objective itself."""

import numpy as np
import pandas as pd
import pytest

from outcomes.engine import Prior, fit_interval_mixed, log_marginal
from outcomes.engine.joint import first_placements
from outcomes.engine.objective import evaluate, slope

CASES = [("log", "power"), ("log", "saturating"), ("identity", "power"), ("identity", None)]
TOLERANCE = 1e-11


class Climb:
    """A plan at some parameters, evaluated with its nodes held where they have settled."""

    def __init__(self, plan, free):
        self.plan, self.free = plan, free
        problem = plan.problem
        start = np.zeros(problem.n_random + problem.n_fixed)
        start[problem.n_random] = 1.2 if problem.readings.link == "log" else 3.0
        placed = first_placements(problem, plan.setting(plan.raw(free)).values)
        self.here = evaluate(plan, free, start, placed, map, TOLERANCE)
        assert self.here.mode.converged

    def at(self, change):
        mode = self.here.mode
        return evaluate(self.plan, self.free + change, mode.unknowns, mode.placements, map, TOLERANCE)

    def differences(self, function, h=2e-3):
        columns = []
        for i in range(len(self.free)):
            step = np.zeros(len(self.free))
            step[i] = h
            near = np.subtract(function(self.at(step / 2)), function(self.at(-step / 2))) / h
            far = np.subtract(function(self.at(step)), function(self.at(-step))) / (2.0 * h)
            columns.append((4.0 * near - far) / 3.0)
        return np.stack(columns, axis=-1)


def _parameters(plan):
    """Neither at the maximum nor at one place for all."""
    raw = np.log(np.linspace(0.22, 0.35, plan.n_raw))
    if plan.has_shape:
        raw[0] = np.log(0.7)
    return raw[plan.free]


@pytest.mark.parametrize("nodes", [1, 9])
@pytest.mark.parametrize(("link", "shape"), CASES)
@pytest.mark.parametrize("criterion", ["integrated", "ml"])
def test_gradient_is_that_of_the_objective(make_case, make_plan, criterion, link, shape, nodes):
    given = make_case(link=link, shape=shape, visits=20 if criterion == "integrated" else 10)
    plan = make_plan(given, criterion=criterion, nodes=nodes)
    climb = Climb(plan, _parameters(plan))
    numerical = climb.differences(lambda o: o.value)
    found = slope(plan, climb.here, map).gradient
    np.testing.assert_allclose(found, numerical, atol=2e-5 * max(1.0, np.abs(numerical).max()))


@pytest.mark.parametrize("kinds", [1, 2, 3])
@pytest.mark.parametrize("criterion", ["integrated", "ml"])
def test_gradient_of_exact_data_of_several_kinds(make_plan, criterion, kinds):
    rng = np.random.default_rng(14)
    y, group = rng.normal(size=48), np.repeat(np.arange(8), 6)
    given = {
        "lower": y,
        "upper": y,
        "design": pd.DataFrame({"mean": np.ones(48), "x": rng.normal(size=48)}),
        "groups": {"group": group, "other": np.arange(48) % 5},
        "kind": np.arange(48) % kinds,
    }
    plan = make_plan(given, criterion=criterion)
    climb = Climb(plan, _parameters(plan))
    numerical = climb.differences(lambda o: o.value)
    np.testing.assert_allclose(slope(plan, climb.here, map).gradient, numerical, rtol=1e-5, atol=1e-5)


@pytest.mark.parametrize("nodes", [1, 9])
def test_gradient_with_ties_held_sds_and_priors(make_case, make_plan, nodes):
    prior = Prior(
        coefficients={"x": (0.2, 0.3)},
        log_group_sd={"client": (-1.5, 0.5)},
        log_reading_sd={"result": (-1.6, 0.4)},
        log_shape=(-0.4, 0.2),
    )
    plan = make_plan(
        make_case(visits=20), nodes=nodes, prior=prior, ties={"start": ("result", 0.02)}, held={"look": 0.3}
    )
    assert len(plan.free) == plan.n_raw - 2 - (plan.problem.companion is not None)
    climb = Climb(plan, _parameters(plan))
    numerical = climb.differences(lambda o: o.value)
    np.testing.assert_allclose(slope(plan, climb.here, map).gradient, numerical, atol=2e-4)


def test_tied_parameters_follow(make_case, make_plan):
    plan = make_plan(make_case(), ties={"start": ("result", 0.02)}, held={"look": 0.3})
    raw = plan.raw(_parameters(plan))
    start, result = raw[plan.group_position("start")], raw[plan.kind_position(1)]
    assert np.exp(2.0 * start) == pytest.approx(np.exp(2.0 * result) + 0.02)
    assert np.exp(raw[plan.kind_position(0)]) == pytest.approx(0.3)
    matrix, bends = plan.jacobian(raw)
    h, free = 1e-4, _parameters(plan)
    for column in range(len(free)):
        step = np.zeros(len(free))
        step[column] = h
        up, down = plan.raw(free + step), plan.raw(free - step)
        np.testing.assert_allclose(matrix[:, column], (up - down) / (2.0 * h), atol=1e-7)
        second = (up - 2.0 * raw + down) / (h * h)
        expected = np.zeros(plan.n_raw)
        for position, bent, value in bends:
            if bent == column:
                expected[position] = value
        np.testing.assert_allclose(expected, second, atol=1e-5)


@pytest.mark.parametrize("nodes", [1, 9])
@pytest.mark.parametrize(("link", "shape"), CASES)
def test_response_of_the_mode(make_case, make_plan, link, shape, nodes):
    plan = make_plan(make_case(link=link, shape=shape, visits=20), nodes=nodes)
    climb = Climb(plan, _parameters(plan))
    numerical = climb.differences(lambda o: o.mode.unknowns)
    np.testing.assert_allclose(slope(plan, climb.here, map).response, numerical, rtol=1e-4, atol=1e-5)


@pytest.mark.parametrize("criterion", ["integrated", "ml"])
def test_information_of_exact_data_is_the_second_derivative(make_case, make_plan, criterion):
    """Balanced exact data: nothing is left out of the information there.

    Coefficients at their own maximum add their share (ml) through the effects' and their response.
    """
    rng = np.random.default_rng(8)
    group, other = np.repeat(np.arange(12), 6), np.tile(np.arange(6), 12)
    y = 2.0 + 0.6 * rng.normal(size=12)[group] + 0.4 * rng.normal(size=6)[other] + 0.3 * rng.normal(size=72)
    design = pd.DataFrame({"mean": np.ones(72), "x": rng.normal(size=72)})
    plan = make_plan(
        {"lower": y, "upper": y, "design": design, "groups": {"group": group, "other": other}},
        criterion=criterion,
    )
    climb = Climb(plan, np.log([0.3, 0.5, 0.4]))
    numerical = climb.differences(lambda o: slope(plan, o, map).gradient)
    found = slope(plan, climb.here, map).information
    np.testing.assert_allclose(found, -numerical, rtol=1e-5, atol=1e-5)


def _second(function, at, h):
    n = len(at)
    steps = np.eye(n) * h
    out = np.zeros((n, n))
    for i in range(n):
        for j in range(i, n):
            a, b = steps[i], steps[j]
            mixed = function(at + a + b) - function(at + a - b) - function(at - a + b) + function(at - a - b)
            out[i, j] = out[j, i] = mixed / (4.0 * h * h)
    return out


def _rounded_groups(seed=2):
    rng = np.random.default_rng(seed)
    group, x = np.repeat(np.arange(40), 4), rng.normal(size=160)
    y = 5.0 + 0.5 * x + 0.5 * rng.normal(size=40)[group] + 0.4 * rng.normal(size=160)
    y = np.round(2.0 * y) / 2.0
    return y - 0.25, y + 0.25, pd.DataFrame({"mean": np.ones(160), "x": x}), {"group": group}


def test_joint_covariance_is_the_inverse_second_derivative():
    """Exact ml log-likelihood in all parameters by second differences: standard errors within 1 %."""
    data = _rounded_groups()
    fit = fit_interval_mixed(*data, criterion="ml")

    def loglik(p):
        return log_marginal(
            *data, coefficients=p[:2], reading_sd=np.exp(p[2]), group_sd={"group": np.exp(p[3])}, nodes=25
        )

    at = np.r_[fit.coefficients, np.log(fit.reading_sd), np.log(fit.group_sd["group"])]
    exact = np.linalg.inv(-_second(loglik, at, 5e-3))
    assert list(fit.joint_covariance.index) == ["mean", "x", "log_reading_sd", "log_sd:group"]
    found = fit.joint_covariance.to_numpy()
    np.testing.assert_allclose(np.sqrt(np.diag(found)), np.sqrt(np.diag(exact)), rtol=0.01)
    scale = np.sqrt(np.outer(np.diag(exact), np.diag(exact)))
    np.testing.assert_allclose(found / scale, exact / scale, atol=0.01)


def test_maximised_coefficients_are_at_a_maximum():
    """ml: the slope of the exact log-likelihood by the coefficients is nothing at the estimates."""
    data = _rounded_groups()
    for nodes in (1, 17):
        fit = fit_interval_mixed(*data, criterion="ml", nodes=nodes)

        def loglik(beta, fit=fit, nodes=nodes):
            return log_marginal(
                *data, coefficients=beta, reading_sd=fit.reading_sd, group_sd=fit.group_sd, nodes=nodes
            )

        at, se = fit.coefficients.to_numpy(), np.sqrt(np.diag(fit.covariance))
        for i in range(2):
            step = np.eye(2)[i] * 0.05 * se[i]
            slope_in_se = (loglik(at + step) - loglik(at - step)) / 0.1
            assert abs(slope_in_se) < 1e-3


def test_diagnostics_climb():
    fit = fit_interval_mixed(*_rounded_groups())
    values = fit.diagnostics["value"].to_numpy()
    assert (np.diff(values) > -1e-6 * np.abs(values[0])).all()
    assert fit.diagnostics["decrement"].iloc[-1] < 1e-7
    assert {"damping", "inner_steps", "log_reading_sd", "log_sd:group"} <= set(fit.diagnostics.columns)
