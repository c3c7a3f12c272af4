"""The inner problem: effects and coefficients at given outer parameters, by damped Newton steps."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from outcomes.engine.blocks import Structure
from outcomes.engine.factor import Factor, NotPositiveDefinite
from outcomes.engine.joint import MapFunction, Point, Setting, carry_nodes, joint_density, settled
from outcomes.engine.nodes import BlockSums
from outcomes.engine.placing import Placement
from outcomes.engine.problem import Problem
from outcomes.engine.readings import Values
from outcomes.errors import FitError

FloatArray = npt.NDArray[np.float64]

_MOST_STEPS = 80
_MOST_PLACINGS = 15
_NEAR = 1e-2  # Newton decrement below which the nodes may be frozen
_LEAST_DAMPING = 2.0**-30


@dataclass(frozen=True, eq=False)
class Mode:
    """The inner maximum."""

    unknowns: FloatArray  # [cluster effects | other effects | coefficients]
    predictor: FloatArray  # (predictors,) at the mode
    value: float  # log density at the mode, without the Gaussian constants of the random effects
    factor: Factor  # of the curvature at the mode
    placements: tuple[Placement, ...]  # of the nodes of each piece
    sums: tuple[BlockSums, ...]  # of each piece, at the mode
    decrement: float  # Newton decrement at the end
    steps: int  # Newton steps taken
    converged: bool  # whether the decrement is small enough


def _factor(structure: Structure, setting: Setting, point: Point) -> Factor:
    """Of the curvature as it is, or of its safe stand-in where that isn't positive definite."""
    try:
        values = np.concatenate([piece.curvature for piece in point.sums])
        alike = structure.problem.readings.gaussian and len(values)
        exact = structure.assemble_like(values) if alike else structure.assemble(values)
        return Factor(structure, exact, setting.precision, setting.fixed_precision)
    except NotPositiveDefinite:
        safe = structure.assemble(np.concatenate([piece.safe for piece in point.sums]))
    # the stand-in may be flat along a coefficient, and rounding can spoil it: add as little as is needed
    size = max(float(np.abs(np.diagonal(safe.rest)).max(initial=0.0)), 1.0)
    for share in (1e-8, 1e-6, 1e-4, 1e-2, 1.0, 1e2):
        try:
            more = share * size
            return Factor(structure, safe, setting.precision + more, setting.fixed_precision + more)
        except NotPositiveDefinite:
            continue
    raise FitError("the likelihood has no usable curvature there; check the readings' scale and the design")


def find_mode(
    problem: Problem,
    structure: Structure,
    setting: Setting,
    start: FloatArray,
    placements: tuple[Placement, ...],
    run: MapFunction,
    tolerance: float,
    *,
    frozen: bool = False,
) -> Mode:
    """Maximise the joint log density over the unknowns.

    Parameters
    ----------
    problem : Problem
    structure : Structure
    setting : Setting
    start : ndarray (unknowns,)
    placements : tuple of Placement
        One for each piece.
    run : callable
        Like the built-in `map`.
    tolerance : float
        On the Newton decrement: about twice what is still to be gained in log density.
    frozen : bool
        Whether the nodes stay where they are given.

    Returns
    -------
    Mode
        `converged` is False where the steps ran out before the maximum.

    Raises
    ------
    FitError
        The likelihood has no usable curvature.
    """
    point = joint_density(problem, setting, start, placements, run)
    while not (np.isfinite(point.value) and np.isfinite(point.gradient).all()) and np.abs(start).max() > 1e-3:
        # so far away that nothing can be computed: come back half of the way to zero
        start = 0.5 * start
        point = joint_density(problem, setting, start, placements, run)
    frozen = frozen or setting.nodes == 0
    for _ in range(0 if frozen else _MOST_PLACINGS):
        if settled(point, slack=3.0):
            break
        placed = carry_nodes(problem, point, np.zeros_like(start), setting)
        point = joint_density(problem, setting, start, placed, run)
    damping = 1.0
    decrement = np.inf
    # the curvature of exact data doesn't depend on the effects: one factor serves all steps
    gaussian = problem.readings.gaussian
    factor = _factor(structure, setting, point)
    for count in range(1, _MOST_STEPS + 1):
        if count > 1 and not gaussian:
            factor = _factor(structure, setting, point)
        if not np.isfinite(point.gradient).all():
            raise FitError("the likelihood has no finite slope there; check the readings' scale")
        step = factor.solve(point.gradient)
        decrement = float(point.gradient @ step)
        # once the nodes lie where the posterior is they stay: the last steps then climb one function
        frozen = frozen or (decrement < _NEAR and settled(point))
        if decrement < tolerance and frozen and np.isfinite(point.value):
            return _mode(point, factor, decrement, count, True)
        damping = min(1.0, damping * 4.0)
        while True:
            reach = damping * step
            placed = point.placements if frozen else carry_nodes(problem, point, reach, setting)
            trial = joint_density(problem, setting, point.unknowns + reach, placed, run)
            # moving nodes change the value by the quadrature's own error: allow for that
            allowance = 1e-9 * (1.0 + abs(point.value)) + (0.0 if frozen else 0.01 * abs(point.value))
            if np.isfinite(trial.value) and trial.value > point.value - allowance:
                break
            damping *= 0.25
            if damping < _LEAST_DAMPING:
                return _mode(point, factor, decrement, count, decrement < 1e-4)
        point = trial
    return _mode(point, _factor(structure, setting, point), decrement, _MOST_STEPS, decrement < 1e-4)


def _mode(point: Point, factor: Factor, decrement: float, steps: int, converged: bool) -> Mode:
    return Mode(
        unknowns=point.unknowns,
        predictor=point.predictor,
        value=point.value,
        factor=factor,
        placements=point.placements,
        sums=point.sums,
        decrement=decrement,
        steps=steps,
        converged=converged,
    )


def placed_values(
    problem: Problem,
    unknowns: FloatArray,
    values: Values,
    placements: tuple[Placement, ...],
    nodes: int,
) -> FloatArray:
    """Integrated log-likelihood of every block at given unknowns.

    Parameters
    ----------
    problem : Problem
    unknowns : ndarray (unknowns,)
    values : Values
    placements : tuple of Placement
        Where the nodes begin; they move to the posterior.
    nodes : int

    Returns
    -------
    ndarray (blocks,)
    """
    empty = np.zeros(problem.n_fixed)
    setting = Setting(values, np.ones(problem.n_random), 0.0, empty, empty, empty, nodes)
    point = joint_density(problem, setting, unknowns, placements, map)
    for _ in range(_MOST_PLACINGS):
        if settled(point):
            break
        placed = carry_nodes(problem, point, np.zeros_like(unknowns), setting)
        point = joint_density(problem, setting, unknowns, placed, map)
    return np.concatenate([piece.value for piece in point.sums])
