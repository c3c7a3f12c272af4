"""The marginal log-likelihood at some outer parameters, with its gradient and information.

The gradient is that of the objective itself, the effects' response and the determinant included (third
derivatives of the readings). The information is the observed one of the same objective, with the
determinant's dependence on the effects left out: exact for Gaussian data, and close elsewhere
(Louis 1982, J. R. Stat. Soc. B 44, 226-233, gives the same terms as posterior moments).
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from outcomes.engine.blocks import Symmetric
from outcomes.engine.joint import MapFunction, Setting, to_unknowns
from outcomes.engine.mode import Mode, find_mode
from outcomes.engine.nodes import OuterSums, outer_sums
from outcomes.engine.placing import Placement
from outcomes.engine.plan import Plan

FloatArray = npt.NDArray[np.float64]

_MOST_TILTS = 25
_REMEMBERED = 4  # earlier tilts


@dataclass(frozen=True, eq=False)
class Objective:
    """The marginal log-likelihood at some outer parameters, priors on them included.

    Attributes
    ----------
    free : ndarray (free,)
        Outer parameters, logarithms.
    value : float
    mode : Mode
    setting : Setting
        What the mode was found at.
    """

    free: FloatArray
    value: float
    mode: Mode
    setting: Setting


@dataclass(frozen=True, eq=False)
class Slope:
    """Gradient and information by the free parameters, and the effects' response to them."""

    gradient: FloatArray  # (free,)
    information: FloatArray  # (free, free)
    response: FloatArray  # (unknowns, free) d mode / d free
    own: FloatArray  # diagonal of the information as worked out, before steps have mended it


def evaluate(
    plan: Plan,
    free: FloatArray,
    start: FloatArray,
    placements: tuple[Placement, ...],
    run: MapFunction,
    tolerance: float,
    *,
    frozen: bool = False,
) -> Objective:
    """Marginal log-likelihood: the mode's log density, corrected by the curvature there.

    Parameters
    ----------
    plan : Plan
    free : ndarray (free,)
        Outer parameters, logarithms.
    start : ndarray (unknowns,)
    placements : tuple of Placement
        One for each piece.
    run : callable
        Like the built-in `map`.
    tolerance : float
        On the inner Newton decrement.
    frozen : bool
        Whether the nodes stay where they are given.

    Returns
    -------
    Objective

    Raises
    ------
    FitError
        The likelihood has no usable curvature.
    """
    raw = plan.raw(free)
    setting = plan.setting(raw)
    mode = find_mode(plan.problem, plan.structure, setting, start, placements, run, tolerance, frozen=frozen)
    if not plan.integrated and plan.problem.n_random and plan.problem.n_fixed and not plan.gaussian:
        mode, setting = _maximise_coefficients(plan, mode, setting, run, tolerance)
    value = mode.value - float(setting.tilt @ mode.unknowns[plan.problem.n_random :])
    value -= 0.5 * mode.factor.log_det(with_fixed=plan.integrated)
    if plan.integrated:
        value += 0.5 * plan.problem.n_fixed * np.log(2.0 * np.pi)
    known = plan.prior_precision > 0
    away = (raw - plan.prior_mean)[known]
    precision = plan.prior_precision[known]
    value += float((0.5 * np.log(precision / (2.0 * np.pi)) - 0.5 * precision * away * away).sum())
    return Objective(free, float(value), mode, setting)


def _maximise_coefficients(
    plan: Plan, mode: Mode, setting: Setting, run: MapFunction, tolerance: float
) -> tuple[Mode, Setting]:
    """Coefficients that maximise the marginal likelihood, not the joint density.

    The two differ by the determinant's slope along the coefficients. It hardly changes with them, so it
    is put in as a linear term and worked out again until it stands still; where it does change, the last
    changes tell where it will (Anderson, D. G. 1965, J. ACM 12, 547-560).
    """
    r = plan.problem.n_random
    tilts: list[FloatArray] = []
    changes: list[FloatArray] = []
    for _ in range(_MOST_TILTS):
        covariance = mode.factor.pair_covariances(with_fixed=False, counted=True)
        sums = _outer_sums(plan, mode, setting, covariance, run)
        trace = to_unknowns(plan.problem, np.concatenate([piece.trace_gradient for piece in sums]))
        pulled = mode.factor.solve_random(trace)
        curvature = plan.structure.assemble(np.concatenate([piece.curvature for piece in mode.sums]))
        # effects follow the coefficients: d effects / d beta = -A_uu^-1 A_u,beta
        coupling = np.vstack(
            [curvature.cluster_fixed, curvature.rest[: plan.problem.n_rest, plan.problem.n_rest :]]
        )
        tilt = 0.5 * (trace[r:] - coupling.T @ pulled[:r])
        change = tilt - setting.tilt
        variance = mode.factor.rest_inverse[plan.problem.n_rest :, plan.problem.n_rest :]
        if float(change @ variance @ change) < max(tolerance, 1e-12):
            return mode, setting
        tilts, changes = [*tilts[-_REMEMBERED:], tilt], [*changes[-_REMEMBERED:], change]
        if len(changes) > 1:
            bends = np.diff(np.array(changes), axis=0)
            tilt = tilt - np.linalg.lstsq(bends.T, change, rcond=1e-10)[0] @ np.diff(np.array(tilts), axis=0)
        setting = replace(setting, tilt=tilt)
        mode = find_mode(
            plan.problem, plan.structure, setting, mode.unknowns, mode.placements, run, tolerance
        )
    return mode, setting


def _outer_sums(
    plan: Plan, mode: Mode, setting: Setting, covariance: FloatArray, run: MapFunction
) -> list[OuterSums]:
    pointers = plan.problem.pair_pointer
    count = len(plan.problem.pieces)
    return list(
        run(
            outer_sums,
            plan.problem.pieces,
            [mode.predictor[part] for part in plan.problem.piece_predictors],
            mode.placements,
            [setting.values] * count,
            [setting.nodes] * count,
            [
                covariance[pointers[part.start] : pointers[part.stop]]
                for part in plan.problem.piece_predictors
            ],
        )
    )


def slope(plan: Plan, objective: Objective, run: MapFunction) -> Slope:
    """Derivatives of the objective by the free parameters.

    Parameters
    ----------
    plan : Plan
    objective : Objective
    run : callable
        Like the built-in `map`.

    Returns
    -------
    Slope
    """
    problem, mode, setting = plan.problem, objective.mode, objective.setting
    factor = mode.factor
    alike = plan.gaussian and plan.n_kinds == 1
    if alike:  # curvature doesn't depend on the effects, and its trace is known without the pairs
        covariance = np.zeros(len(problem.pair_first))
    else:
        covariance = factor.pair_covariances(with_fixed=plan.integrated, counted=True)
    sums = _outer_sums(plan, mode, setting, covariance, run)
    n_block, n_raw = plan.n_block, plan.n_raw
    effects = mode.unknowns[: problem.n_random]
    variances = factor.variances(with_fixed=plan.integrated, counted=True)
    by_raw = np.zeros(n_raw)
    second = np.zeros((n_raw, n_raw))
    by_raw[:n_block] = sum(piece.by_parameter for piece in sums)
    second[:n_block, :n_block] = sum(piece.by_parameters for piece in sums)
    curved = np.concatenate([piece.curved for piece in sums])
    mixed = np.concatenate([piece.mixed for piece in sums])
    trace = np.zeros(n_raw)
    trace[:n_block] = covariance @ curved
    if alike:
        trace[0] = 2.0 * _from_blocks(plan, setting, variances)
    by_unknown = np.zeros((len(mode.unknowns), n_raw))
    matrices: list[Symmetric] = []
    for i in range(n_block):
        by_unknown[:, i] = to_unknowns(problem, mixed[:, i])
        # exact data: the curvature goes with the -2nd power of the reading sd
        matrices.append(factor.matrix.scaled(2.0) if alike else plan.structure.assemble(curved[:, i]))
    for k, group in enumerate(problem.groups):
        i = n_block + k
        where = problem.position[group.name]
        weight = np.zeros(problem.n_random)
        weight[where] = 2.0 * setting.precision[where]
        squares = float((weight * effects * effects).sum())
        by_raw[i] = 0.5 * squares - group.size
        second[i, i] = -squares
        trace[i] = float((weight * variances).sum())
        by_unknown[: problem.n_random, i] = weight * effects
        matrices.append(plan.structure.diagonal_matrix(weight))
    pull = to_unknowns(problem, np.concatenate([piece.trace_gradient for piece in sums]))
    # maximised coefficients are at their own optimum, so that only the effects respond
    pulled = factor.solve(pull) if plan.integrated else factor.solve_random(pull)
    gradient = by_raw + 0.5 * trace + 0.5 * (pulled @ by_unknown)
    response = np.column_stack([factor.solve(by_unknown[:, i]) for i in range(n_raw)])
    information = -second - by_unknown.T @ response
    information -= 0.5 * factor.trace_products(matrices, with_fixed=plan.integrated)
    information += 0.5 * _bend(plan, trace, setting, variances)
    raw = plan.raw(objective.free)
    known = plan.prior_precision > 0
    gradient[known] -= (plan.prior_precision * (raw - plan.prior_mean))[known]
    information += np.diag(plan.prior_precision)
    jacobian, bends = plan.jacobian(raw)
    free_information = jacobian.T @ information @ jacobian
    for position, column, value in bends:
        free_information[column, column] -= gradient[position] * value
    return Slope(
        jacobian.T @ gradient,
        0.5 * (free_information + free_information.T),
        response @ jacobian,
        np.diagonal(free_information).copy(),
    )


def _from_blocks(plan: Plan, setting: Setting, variances: FloatArray) -> float:
    """Trace of the inverse times what the blocks contribute: parameters that the readings pay for."""
    random = float((1.0 - setting.precision * variances).sum())
    return random + plan.problem.n_fixed if plan.integrated else random


def _bend(plan: Plan, trace: FloatArray, setting: Setting, variances: FloatArray) -> FloatArray:
    """The curvature's own second derivatives, traced: tr(inverse d2A).

    A group's precision goes with the -2nd power of its sd. What the blocks contribute goes with the
    inverse of a sum of variances, A = a / (v_1 + v_2 ...), the share of each being seen from its first
    derivative; so d2A = A (8 r_i r_j - 4 r_i [i = j]). theta's part is left out: it moves means.
    """
    bend = np.zeros((plan.n_raw, plan.n_raw))
    first = int(plan.has_shape)
    from_blocks = _from_blocks(plan, setting, variances)
    if from_blocks > 1e-8:
        t = np.maximum(trace[first : plan.n_block], 0.0)
        bend[first : plan.n_block, first : plan.n_block] = 2.0 * np.outer(t, t) / from_blocks
        bend[first : plan.n_block, first : plan.n_block] -= 2.0 * np.diag(t)
    groups = np.arange(plan.n_block, plan.n_raw)
    bend[groups, groups] += 2.0 * trace[groups]
    return bend
