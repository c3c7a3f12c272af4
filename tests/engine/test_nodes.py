"""A block integrated over its own effect: value by another integrator, derivatives by differences.

Nodes are held where they lie: the derivatives are those of the quadrature sum itself.
"""

import numpy as np
import pandas as pd
import pytest
from scipy.stats import norm

from outcomes.engine import fit_interval_mixed
from outcomes.engine.nodes import block_sums, outer_sums
from outcomes.engine.placing import Placement
from outcomes.engine.readings import Effects, Values, unit_terms

CASES = [
    ("identity", None),
    ("identity", "saturating"),
    ("log", None),
    ("log", "power"),
    ("log", "saturating"),
]
COUNTS = (0, 1, 7)
LOG_SD = np.log([0.35, 0.25])


class Setup:
    """A piece with predictors, nodes and outer parameters."""

    def __init__(self, make_case, make_plan, link, shape, count, alternatives=True):
        # count 0: no group is integrated, every unit is a block of its own
        self.count = count
        plan = make_plan(
            make_case(link=link, shape=shape, visits=7, alternatives=alternatives), nodes=7 if count else 1
        )
        (self.piece,) = plan.problem.pieces
        rng = np.random.default_rng(12)
        noise = 0.1 * rng.standard_normal(self.piece.n_predictors)
        self.predictor = np.where(self.piece.is_eta, 1.1 if link == "log" else 3.0, 0.05) + noise
        blocks = len(self.piece.block_starts)
        self.placement = Placement(
            centre=0.1 * rng.standard_normal(blocks),
            scale=rng.uniform(0.1, 0.25, blocks),
            companion_centre=0.1 * rng.standard_normal(blocks),
            tilt=0.05 * rng.standard_normal(blocks),
            companion_scale=rng.uniform(0.1, 0.2, blocks),
        )
        dense = rng.standard_normal((self.piece.n_predictors,) * 2)
        self.pair_weight = (dense + dense.T)[self.piece.pair_first, self.piece.pair_second]
        self.has_shape = shape is not None
        self.has_companion = bool(self.piece.has_companion.any())
        assert self.has_companion == (count > 0 and (link, shape) != ("identity", None))
        self.n_parameters = int(self.has_shape) + 2 + int(count > 0) + int(self.has_companion)

    def values(self, moved=None, step=0.0):
        own = [np.log(0.3)] * (self.count > 0) + [np.log(0.2)] * self.has_companion
        raw = np.r_[[np.log(0.7)] * self.has_shape, LOG_SD, own]
        if moved is not None:
            raw[moved] += step
        first = int(self.has_shape)
        return Values(
            theta=float(np.exp(raw[0])) if first else 1.0,
            log_reading_sd=raw[first : first + 2],
            finest_sd=float(np.exp(raw[first + 2])) if self.count else 0.0,
            companion_sd=float(np.exp(raw[first + 3])) if self.has_companion else 0.0,
        )

    def sums(self, predictor=None, values=None):
        return block_sums(
            self.piece,
            self.predictor if predictor is None else predictor,
            self.placement,
            self.values() if values is None else values,
            self.count,
        )

    def outer(self, values=None):
        return outer_sums(
            self.piece,
            self.predictor,
            self.placement,
            self.values() if values is None else values,
            self.count,
            self.pair_weight,
        )

    def by_predictor(self, function):
        """Differences by each predictor, one column each."""
        columns = []
        for i in range(self.piece.n_predictors):
            step = np.zeros(self.piece.n_predictors)
            step[i] = 1e-3
            columns.append(_difference(lambda s, step=step: function(self.predictor + s * step)) / 1e-3)
        return np.column_stack(columns)

    def by_parameter(self, function):
        return np.stack(
            [
                _difference(lambda s, i=i: function(self.values(i, 1e-3 * s))) / 1e-3
                for i in range(self.n_parameters)
            ],
            axis=-1,
        )


def _difference(function):
    """Slope at 0 of a function of a step, fourth order."""
    near = np.subtract(function(0.5), function(-0.5))
    far = np.subtract(function(1.0), function(-1.0)) / 2.0
    return (4.0 * near - far) / 3.0


@pytest.fixture(params=[(link, shape, count) for link, shape in CASES for count in COUNTS])
def setup(request, make_case, make_plan):
    return Setup(make_case, make_plan, *request.param)


def test_newton_terms(setup):
    piece, here = setup.piece, setup.sums()
    by_block = setup.by_predictor(lambda p: setup.sums(p).value)
    own = by_block[piece.predictor_block, np.arange(piece.n_predictors)]
    np.testing.assert_allclose(here.gradient, own, rtol=1e-6, atol=1e-7)
    assert np.count_nonzero(np.abs(by_block) > 1e-8) <= piece.n_predictors  # a block sees its own only
    second = setup.by_predictor(lambda p: setup.sums(p).gradient)
    np.testing.assert_allclose(
        -here.curvature, second[piece.pair_first, piece.pair_second], rtol=1e-6, atol=1e-6
    )
    if setup.count:
        for found, mean in ((here.shift, "mean"), (here.companion_shift, "companion_mean")):
            shift = setup.by_predictor(lambda p, mean=mean: getattr(setup.sums(p).moments, mean))
            moved = shift[piece.predictor_block, np.arange(piece.n_predictors)]
            present = piece.has_effect[piece.predictor_block]
            np.testing.assert_allclose(found[present], moved[present], rtol=1e-6, atol=1e-8)


@pytest.mark.parametrize("alternatives", [False, True])
@pytest.mark.parametrize("count", COUNTS)
@pytest.mark.parametrize(("link", "shape"), CASES)
def test_stand_in_curvature_is_never_negative(make_case, make_plan, link, shape, count, alternatives):
    setup = Setup(make_case, make_plan, link, shape, count, alternatives)
    piece, here = setup.piece, setup.sums()
    dense = np.zeros((piece.n_predictors,) * 2)
    dense[piece.pair_first, piece.pair_second] = here.safe
    np.testing.assert_allclose(dense, dense.T, atol=1e-12)
    assert np.linalg.eigvalsh(dense).min() > -1e-9


def test_trace_gradient(setup):
    def trace(predictor):
        return -float(setup.pair_weight @ setup.sums(predictor).curvature)

    numerical = setup.by_predictor(trace)[0]
    np.testing.assert_allclose(setup.outer().trace_gradient, numerical, rtol=2e-6, atol=1e-5)


def test_derivatives_by_the_outer_parameters(setup):
    here = setup.outer()
    value = setup.by_parameter(lambda v: setup.sums(values=v).value.sum())
    np.testing.assert_allclose(here.by_parameter, value, rtol=1e-6, atol=1e-6)
    second = setup.by_parameter(lambda v: setup.outer(v).by_parameter)
    np.testing.assert_allclose(here.by_parameters, second, rtol=1e-6, atol=1e-5)
    mixed = setup.by_parameter(lambda v: setup.sums(values=v).gradient)
    np.testing.assert_allclose(here.mixed, mixed, rtol=1e-6, atol=1e-6)
    curved = setup.by_parameter(lambda v: -setup.sums(values=v).curvature)
    np.testing.assert_allclose(here.curved, curved, rtol=1e-6, atol=1e-5)


def _settled(piece, predictor, values, count):
    """Sums with the nodes where the posterior is."""
    placement = Placement.at_prior(len(piece.block_starts), values.finest_sd, values.companion_sd)
    for _ in range(6):
        found = block_sums(piece, predictor, placement, values, count).moments
        root = np.sqrt(found.variance)
        tilt = found.covariance / root
        rest = np.sqrt(np.maximum(found.companion_variance - tilt**2, 1e-6))
        placement = Placement(found.mean, root, found.companion_mean, tilt, rest)
    return block_sums(piece, predictor, placement, values, count)


@pytest.mark.parametrize("additive", [False, True])
def test_many_nodes_are_the_integral(make_case, make_plan, additive):
    """h of each block, its posterior mean and variance by a fine grid over its effects (trapezium rule)."""
    plan = make_plan(make_case(visits=7, additive=additive), nodes=7)
    (piece,) = plan.problem.pieces
    assert piece.has_companion.any() == additive
    predictor = np.where(piece.is_eta, 1.15, 0.05)
    values = Values(0.7, LOG_SD, 0.3, 0.2 if additive else 0.0)
    blocks = len(piece.block_starts)
    sums = _settled(piece, predictor, values, 60 if not additive else 40)
    # the integrand is smooth and vanishes at the ends: the trapezium rule converges as fast as any
    b, a = np.linspace(-2.1, 2.1, 281), np.linspace(-1.4, 1.4, 187) if additive else np.zeros(1)
    grid_b, grid_a = (part.ravel() for part in np.meshgrid(b, a, indexing="ij"))
    effects = Effects(np.tile(grid_b, (blocks, 1)), np.tile(grid_a, (blocks, 1)) if additive else None)
    log_f = unit_terms(piece, predictor, effects, values, full=False)[""]
    area = (b[1] - b[0]) * (a[1] - a[0] if additive else 1.0)
    for block in np.flatnonzero(piece.has_effect & (piece.has_companion | ~np.bool_(additive))):
        joint = log_f[piece.unit_block == block].sum(axis=0) + norm.logpdf(grid_b, 0.0, 0.3)
        if additive:
            joint = joint + norm.logpdf(grid_a, 0.0, 0.2)
        weight = np.exp(joint - joint.max())
        share = weight / weight.sum()
        mean = share @ grid_b
        found = sums.moments
        assert sums.value[block] == pytest.approx(joint.max() + np.log(weight.sum() * area), abs=1e-5)
        assert found.mean[block] == pytest.approx(mean, abs=1e-5)
        assert found.variance[block] == pytest.approx(share @ (grid_b - mean) ** 2, rel=1e-3)
        if additive:
            other = share @ grid_a
            assert found.companion_mean[block] == pytest.approx(other, abs=1e-5)
            assert found.companion_variance[block] == pytest.approx(share @ (grid_a - other) ** 2, rel=1e-3)
            assert found.covariance[block] == pytest.approx(
                share @ ((grid_b - mean) * (grid_a - other)), abs=1e-5
            )


def test_readings_without_the_group_are_not_integrated(make_case, make_plan):
    plan = make_plan(make_case(visits=7, additive=False), nodes=7)
    (piece,) = plan.problem.pieces
    absent = np.flatnonzero(~piece.has_effect)
    assert len(absent) == 1
    blocks = len(piece.block_starts)
    predictor, values = np.full(piece.n_predictors, 1.15), Values(0.7, LOG_SD, 0.3)
    sums = block_sums(piece, predictor, Placement.at_prior(blocks, 0.3, 0.0), values, 7)
    alone = unit_terms(piece, predictor, Effects(np.zeros((blocks, 1))), values, full=False)[""]
    np.testing.assert_allclose(sums.value[absent], alone[piece.unit_block == absent[0], 0], rtol=1e-12)


def test_few_effects_with_many_units_each_are_left_to_laplace():
    """Three effects of 150 readings each: quadrature gives the same to a thousandth of a standard error."""
    rng = np.random.default_rng(5)
    code = np.repeat(["a", "b", "c"], 150)
    latent = 5.0 + 0.4 * rng.standard_normal(3)[np.repeat([0, 1, 2], 150)] + 0.5 * rng.standard_normal(450)
    read = np.round(2.0 * latent) / 2.0
    design = pd.DataFrame({"level": np.ones(450)})
    by_default, by_nodes = (
        fit_interval_mixed(read - 0.25, read + 0.25, design, {"eye": pd.Series(code)}, nodes=nodes)
        for nodes in (None, 21)
    )
    ours, exact = by_default.group_effects["eye"], by_nodes.group_effects["eye"]
    assert (ours["effect"] != exact["effect"]).any()  # it isn't quadrature itself
    assert (ours["effect"] - exact["effect"]).abs().max() < 1e-3 * exact["sd"].min()
    np.testing.assert_allclose(ours["sd"], exact["sd"], rtol=2e-3)
    one, other = by_default.group_sd["eye"], by_nodes.group_sd["eye"]
    assert one == pytest.approx(other, rel=2e-3)
