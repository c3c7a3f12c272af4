"""The inner problem: effects and coefficients at given outer parameters, by damped Newton steps."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import numpy.typing as npt

from outcomes.engine.blocks import Factor, NotPositiveDefinite, Structure
from outcomes.engine.nodes import BlockSums, block_sums
from outcomes.engine.placing import Placement
from outcomes.engine.problem import Piece, Problem
from outcomes.engine.readings import Values
from outcomes.errors import FitError

FloatArray = npt.NDArray[np.float64]
MapFunction = Callable[..., Iterable[Any]]

_MOST_STEPS = 80
_MOST_PLACINGS = 15
_NEAR = 1e-2  # Newton decrement below which the nodes may be frozen
_LEAST_DAMPING = 2.0**-30


@dataclass(frozen=True, eq=False)
class Setting:
    """Everything that the inner problem is solved at."""

    values: Values  # theta and the sds
    precision: FloatArray  # (random effects,) 1 / sd**2
    log_density: float  # sum of log(1 / sd) over the random effects
    fixed_mean: FloatArray  # (coefficients,) of the prior; precision 0 means flat
    fixed_precision: FloatArray  # (coefficients,)
    tilt: FloatArray  # (coefficients,) a linear term: where they are maximised, what the determinant adds
    nodes: int  # of the quadrature; 0 when no group is integrated by it


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


@dataclass(frozen=True, eq=False)
class _Point:
    unknowns: FloatArray
    predictor: FloatArray
    value: float
    gradient: FloatArray
    sums: tuple[BlockSums, ...]
    placements: tuple[Placement, ...]


def loaded(problem: Problem, unknowns: FloatArray) -> FloatArray:
    """Loadings times unknowns.

    Parameters
    ----------
    problem : Problem
    unknowns : ndarray (unknowns,)

    Returns
    -------
    ndarray (predictors,)
    """
    c, r = problem.n_clustered, problem.n_random
    return np.asarray(
        problem.clustered @ unknowns[:c] + problem.rest @ unknowns[c:r] + problem.fixed @ unknowns[r:]
    )


def at(problem: Problem, unknowns: FloatArray) -> FloatArray:
    """Predictors with their known part.

    Parameters
    ----------
    problem : Problem
    unknowns : ndarray (unknowns,)

    Returns
    -------
    ndarray (predictors,)
    """
    return loaded(problem, unknowns) + problem.offset


def to_unknowns(problem: Problem, by_predictor: FloatArray) -> FloatArray:
    """Loadings' times a vector over predictors.

    Parameters
    ----------
    problem : Problem
    by_predictor : ndarray (predictors,)

    Returns
    -------
    ndarray (unknowns,)
    """
    return np.asarray(
        np.r_[
            problem.clustered.T @ by_predictor, problem.rest.T @ by_predictor, problem.fixed.T @ by_predictor
        ]
    )


def _evaluate(
    problem: Problem,
    setting: Setting,
    unknowns: FloatArray,
    placements: tuple[Placement, ...],
    run: MapFunction,
) -> _Point:
    predictor = at(problem, unknowns)
    count = len(problem.pieces)
    sums = tuple(
        run(
            block_sums,
            problem.pieces,
            [predictor[part] for part in problem.piece_predictors],
            placements,
            [setting.values] * count,
            [setting.nodes] * count,
        )
    )
    r = problem.n_random
    effects, away = unknowns[:r], unknowns[r:] - setting.fixed_mean
    value = sum(float(piece.value.sum()) for piece in sums)
    value += setting.log_density - 0.5 * float((setting.precision * effects * effects).sum())
    known = setting.fixed_precision > 0
    value -= 0.5 * float((setting.fixed_precision * away * away).sum())
    value += 0.5 * float(np.log(setting.fixed_precision[known] / (2.0 * np.pi)).sum())
    value += float(setting.tilt @ unknowns[r:])
    gradient = to_unknowns(problem, np.concatenate([piece.gradient for piece in sums]))
    gradient = gradient - np.r_[setting.precision * effects, setting.fixed_precision * away - setting.tilt]
    return _Point(unknowns, predictor, value, gradient, sums, placements)


def _factor(structure: Structure, setting: Setting, point: _Point) -> Factor:
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


def carry_nodes(
    problem: Problem, point: _Point | Mode, step: FloatArray, setting: Setting
) -> tuple[Placement, ...]:
    """Nodes for the next point: where the posterior is now, carried along with the step.

    Parameters
    ----------
    problem : Problem
    point : Mode or a point of its climb
        Where the moments of each block are known.
    step : ndarray (unknowns,)
        To the next point.
    setting : Setting

    Returns
    -------
    tuple of Placement
        One for each piece.
    """
    if setting.nodes == 0:
        return point.placements
    change = loaded(problem, step)
    values = setting.values
    out = []
    for piece, part, sums, now in zip(
        problem.pieces, problem.piece_predictors, point.sums, point.placements, strict=True
    ):

        def carried(shift: FloatArray, sd: float, piece: Piece = piece, part: slice = part) -> FloatArray:
            blocks = len(piece.block_starts)
            moved = np.bincount(piece.predictor_block, weights=shift * change[part], minlength=blocks)
            return np.clip(moved, -4.0 * sd, 4.0 * sd)

        found = sums.moments
        root = np.sqrt(found.variance)
        first_off = found.mean - now.centre
        scale = _rescaled(root, now.scale, first_off, values.finest_sd)
        centre = found.mean + carried(sums.shift, values.finest_sd)
        centre = np.clip(centre, -9 * values.finest_sd, 9 * values.finest_sd)
        if values.companion_sd == 0.0:
            out.append(replace(now, centre=centre, scale=scale))
            continue
        tilt = found.covariance / np.maximum(root, 1e-300)
        rest = np.sqrt(np.maximum(found.companion_variance - tilt * tilt, 0.0))
        second_off = found.companion_mean - now.companion_centre - now.tilt * first_off / now.scale
        companion_scale = _rescaled(rest, now.companion_scale, second_off, values.companion_sd)
        lost = (scale > 1.5 * root) | (companion_scale > 1.5 * rest)
        tilt = np.where(lost, 0.0, np.clip(tilt, -2.0 * values.companion_sd, 2.0 * values.companion_sd))
        out.append(
            Placement(
                centre=centre,
                scale=scale,
                companion_centre=found.companion_mean + carried(sums.companion_shift, values.companion_sd),
                tilt=tilt,
                companion_scale=companion_scale,
            )
        )
    return tuple(out)


def _rescaled(found: FloatArray, now: FloatArray, off: FloatArray, sd: float) -> FloatArray:
    """A new scale for the nodes from the posterior sd that the present nodes saw."""
    scale = np.clip(found, 0.4 * now, 2.5 * now)
    # all weight on an outermost node: the posterior lies beyond, so reach out before narrowing
    scale = np.where(np.abs(off) > 2.0 * now, 2.0 * now, scale)
    # the Gaussian that places the nodes never needs to be wider than the effect itself
    return np.clip(scale, 1e-6 * sd, sd)


def first_placements(problem: Problem, values: Values) -> tuple[Placement, ...]:
    """Nodes spread as the effects themselves.

    Parameters
    ----------
    problem : Problem
    values : Values

    Returns
    -------
    tuple of Placement
        One for each piece.
    """
    return tuple(
        Placement.at_prior(len(piece.block_starts), values.finest_sd, values.companion_sd)
        for piece in problem.pieces
    )


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
    point = _evaluate(problem, setting, start, placements, run)
    while not (np.isfinite(point.value) and np.isfinite(point.gradient).all()) and np.abs(start).max() > 1e-3:
        # so far away that nothing can be computed: come back half of the way to zero
        start = 0.5 * start
        point = _evaluate(problem, setting, start, placements, run)
    frozen = frozen or setting.nodes == 0
    for _ in range(0 if frozen else _MOST_PLACINGS):
        if _settled(point, slack=3.0):
            break
        placed = carry_nodes(problem, point, np.zeros_like(start), setting)
        point = _evaluate(problem, setting, start, placed, run)
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
        frozen = frozen or (decrement < _NEAR and _settled(point))
        if decrement < tolerance and frozen and np.isfinite(point.value):
            return _mode(point, factor, decrement, count, True)
        damping = min(1.0, damping * 4.0)
        while True:
            reach = damping * step
            placed = point.placements if frozen else carry_nodes(problem, point, reach, setting)
            trial = _evaluate(problem, setting, point.unknowns + reach, placed, run)
            # moving nodes change the value by the quadrature's own error: allow for that
            allowance = 1e-9 * (1.0 + abs(point.value)) + (0.0 if frozen else 0.01 * abs(point.value))
            if np.isfinite(trial.value) and trial.value > point.value - allowance:
                break
            damping *= 0.25
            if damping < _LEAST_DAMPING:
                return _mode(point, factor, decrement, count, decrement < 1e-4)
        point = trial
    return _mode(point, _factor(structure, setting, point), decrement, _MOST_STEPS, decrement < 1e-4)


def _settled(point: _Point, slack: float = 1.0) -> bool:
    """Whether the nodes lie where the posterior is; `slack` widens what passes."""
    near, wide = 0.1 * slack, 1.0 + 0.15 * slack
    for sums, now in zip(point.sums, point.placements, strict=True):
        found = sums.moments
        root = np.sqrt(found.variance)
        z = (found.mean - now.centre) / now.scale
        if (np.abs(z) > near).any() or _differ(root, now.scale, wide):
            return False
        tilt = found.covariance / np.maximum(root, 1e-300)
        rest = np.sqrt(np.maximum(found.companion_variance - tilt * tilt, 0.0))
        z = (found.companion_mean - now.companion_centre - now.tilt * z) / now.companion_scale
        if (np.abs(z) > near).any() or _differ(rest, now.companion_scale, wide):
            return False
        if (np.abs(tilt - now.tilt) > 2.0 * near * now.companion_scale).any():
            return False
    return True


def _differ(one: FloatArray, other: FloatArray, factor: float) -> bool:
    return bool(((one > factor * other) | (other > factor * one)).any())


def _mode(point: _Point, factor: Factor, decrement: float, steps: int, converged: bool) -> Mode:
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
    point = _evaluate(problem, setting, unknowns, placements, map)
    for _ in range(_MOST_PLACINGS):
        if _settled(point):
            break
        placed = carry_nodes(problem, point, np.zeros_like(unknowns), setting)
        point = _evaluate(problem, setting, unknowns, placed, map)
    return np.concatenate([piece.value for piece in point.sums])
