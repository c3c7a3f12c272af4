"""The outer problem: theta, reading sds and group sds, by damped Newton steps on their marginal likelihood.

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
from outcomes.engine.mode import MapFunction, Mode, Setting, carry_nodes, find_mode, to_unknowns
from outcomes.engine.nodes import OuterSums, outer_sums
from outcomes.engine.placing import Placement
from outcomes.engine.plan import Plan
from outcomes.errors import FitError

FloatArray = npt.NDArray[np.float64]

_MOST_STEPS = 60
_MOST_ROUGH = 12
_MOST_TILTS = 25
_REMEMBERED = 4  # earlier tilts
_MOST_SEEN = 12
_LEAST_DAMPING = 1e-3
_ARRIVED = (
    1e-5  # decrement that counts as converged when the steps run out: a three-hundredth of a standard error
)
_CALM = 1.0  # decrement below which the nodes stay where they are: within a standard error of the end
_NOISE = 1e-2  # decrement that quadrature's own error can hide: a tenth of a standard error
# Parameters are logarithms: a likelihood that tells less of one than a factor of 5 tells nothing.
_LEAST_INFORMATION = 0.05
_LONGEST = {"shape": 0.5, "reading": 0.4, "sd": 0.8}  # of one step, on the log scale


@dataclass(frozen=True, eq=False)
class Objective:
    """The marginal log-likelihood at some outer parameters, priors on them included."""

    free: FloatArray
    value: float
    mode: Mode
    setting: Setting


@dataclass(frozen=True, eq=False)
class Slope:
    """Gradient and information by the free parameters, and the effects' response to them."""

    gradient: FloatArray
    information: FloatArray
    response: FloatArray  # (unknowns, free) d mode / d free
    own: FloatArray  # diagonal of the information as worked out, before steps have mended it


@dataclass(frozen=True, eq=False)
class Step:
    """One row of the diagnostics."""

    value: float
    decrement: float
    damping: float
    inner_steps: int
    free: FloatArray


@dataclass(frozen=True, eq=False)
class Optimum:
    objective: Objective
    slope: Slope
    trace: tuple[Step, ...]
    converged: bool
    vanishing: tuple[str, ...]  # groups whose sd runs to 0


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
    """Marginal log-likelihood: the mode's log density, corrected by the curvature there."""
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
        covariance = mode.factor.pair_covariances(with_fixed=False)
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
    """Derivatives of the objective by the free parameters."""
    problem, mode, setting = plan.problem, objective.mode, objective.setting
    factor = mode.factor
    alike = plan.gaussian and plan.n_kinds == 1
    if alike:  # curvature doesn't depend on the effects, and its trace is known without the pairs
        covariance = np.zeros(len(problem.pair_first))
    else:
        covariance = factor.pair_covariances(with_fixed=plan.integrated)
    sums = _outer_sums(plan, mode, setting, covariance, run)
    n_block, n_raw = plan.n_block, plan.n_raw
    effects = mode.unknowns[: problem.n_random]
    variances = factor.variances(with_fixed=plan.integrated)
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


def maximise(
    plan: Plan,
    free: FloatArray,
    start: FloatArray,
    placements: tuple[Placement, ...],
    run: MapFunction,
    tolerance: float,
    *,
    rough: bool = False,
    least_reading: float = -np.inf,
) -> Optimum:
    """Climb to the maximum of the marginal likelihood.

    `tolerance` is on the Newton decrement. The result names groups whose sd runs to 0 instead of
    following them there. A rough climb, on few nodes, takes few steps and gives up at the first that fails:
    what follows has better ones. `least_reading` bounds the log reading sds from below: few nodes can't see
    an error that is small beside its rounding window, and would call it the likelier the smaller it is.
    """
    inner = min(1e-9, 0.01 * tolerance)
    now = evaluate(plan, free, start, placements, run, inner)
    steps: list[Step] = []
    seen: list[tuple[FloatArray, FloatArray]] = []
    here = plain = slope(plan, now, run)
    radius, refreshed, frozen = 1.0, False, False
    kinds = range(int(plan.has_shape), int(plan.has_shape) + plan.n_kinds)
    reading = [i for i, position in enumerate(plan.free) if position in kinds]

    def reported() -> Slope:
        # without quadrature the information is as good as worked out; with it the steps know better
        return here if plan.nodes else plain

    while len(steps) < (_MOST_ROUGH if rough else _MOST_STEPS):
        # a sd at its bound that would go on falling is left out of the step
        falls = [i for i in reading if now.free[i] <= least_reading + 1e-6 and here.gradient[i] < 0]
        loose = _without(here, falls)
        step = _bounded(plan, now, loose, radius)
        step[reading] = np.maximum(step[reading], np.minimum(least_reading - now.free[reading], 0.0))
        decrement = float(loose.gradient @ _newton(loose))
        vanishing = _vanishing(plan, now, here)
        creeping = any(step[i] <= -2.5 for i in range(len(step)))
        if vanishing or (decrement < tolerance and not creeping):
            steps.append(Step(now.value, decrement, 1.0, now.mode.steps, now.free))
            return Optimum(now, reported(), tuple(steps), now.mode.converged, vanishing)
        damping = 1.0
        # near the end the nodes stay where they are: moved with every step they hide what is left to gain
        frozen = frozen or (not rough and plan.nodes > 0 and decrement < _CALM)
        trial = _try(plan, now, here, step, run, inner, frozen=frozen)
        while trial is None and damping > _LEAST_DAMPING:
            damping *= 0.3
            trial = _try(plan, now, here, damping * step, run, inner, frozen=frozen)
        if trial is None:
            steps.append(Step(now.value, decrement, damping, now.mode.steps, now.free))
            if refreshed or rough or not plan.nodes:
                return Optimum(
                    now, reported(), tuple(steps), decrement < (_NOISE if plan.nodes else 1e-9), ()
                )
            # the value here may owe something to where its nodes happened to lie: take it anew
            refreshed, frozen = True, False
            fresh = carry_nodes(plan.problem, now.mode, np.zeros_like(now.mode.unknowns), now.setting)
            now = evaluate(plan, now.free, now.mode.unknowns, fresh, run, inner)
            here = plain = slope(plan, now, run)
            continue
        # a step that had to be shortened says how far the information can be trusted
        radius = min(1.0, 2.0 * radius) if damping == 1.0 else radius * max(damping, 0.1)
        refreshed = False
        steps.append(Step(trial.value, decrement, damping, trial.mode.steps, trial.free))
        after = slope(plan, trial, run)
        if not (np.isfinite(after.gradient).all() and np.isfinite(after.information).all()):
            return Optimum(now, reported(), tuple(steps), False, ())
        if 1e-4 < decrement < 300.0:
            seen.append((trial.free - now.free, here.gradient - after.gradient))
        plain = after
        now, here = trial, replace(after, information=_seen(after.information, seen[-_MOST_SEEN:]))
    arrived = not rough and float(here.gradient @ _newton(here)) < _ARRIVED
    return Optimum(now, reported(), tuple(steps), arrived, ())


def _try(
    plan: Plan,
    now: Objective,
    here: Slope,
    change: FloatArray,
    run: MapFunction,
    inner: float,
    *,
    frozen: bool,
) -> Objective | None:
    """The objective after a step, on the same nodes where `frozen`, or None where it isn't better."""
    free = now.free + change
    response = here.response @ change
    placed = now.mode.placements
    if not frozen:
        placed = carry_nodes(plan.problem, now.mode, response, plan.setting(plan.raw(free)))
    try:
        trial = evaluate(plan, free, now.mode.unknowns + response, placed, run, inner, frozen=frozen)
    except FitError:  # nothing can be computed so far out
        return None
    slack = _allowance(plan, now.value)
    gain = trial.value - now.value
    # A gain far beyond what the slope promises comes from nodes that miss something, not from the data.
    most = 2.0 * float(here.gradient @ change) + 1.0 + slack
    return trial if np.isfinite(gain) and -slack < gain < most else None


def _seen(information: FloatArray, seen: list[tuple[FloatArray, FloatArray]]) -> FloatArray:
    """The information, made to agree with how the gradient did change along the last steps (BFGS)."""
    for step, change in seen:
        along = float(step @ change)
        turned = information @ step
        expected = float(step @ turned)
        if along > 0.05 * abs(expected) > 0 and expected > 0:
            information = information + np.outer(change, change) / along - np.outer(turned, turned) / expected
    return information


def _allowance(plan: Plan, value: float) -> float:
    """Rounding, and with quadrature the small change that comes from moved nodes."""
    return 1e-10 * (1.0 + abs(value)) + (1e-6 * abs(value) if plan.nodes else 0.0)


def _newton(here: Slope) -> FloatArray:
    """Newton's step, with negative curvature turned round and small curvature kept from exploding."""
    if not len(here.gradient):  # every outer parameter is given
        return here.gradient
    values, vectors = np.linalg.eigh(here.information)
    least = max(1e-6 * float(np.abs(values).max()), _LEAST_INFORMATION)
    return np.asarray(vectors @ ((vectors.T @ here.gradient) / np.maximum(np.abs(values), least)))


def _without(here: Slope, which: list[int]) -> Slope:
    """The slope of the other parameters, these held where they are."""
    if not which:
        return here
    gradient, information = here.gradient.copy(), here.information.copy()
    gradient[which] = 0.0
    information[which, :] = information[:, which] = 0.0
    information[which, which] = 1.0
    return replace(here, gradient=gradient, information=information)


def _bounded(plan: Plan, now: Objective, here: Slope, radius: float) -> FloatArray:
    step = _newton(here)
    raw = plan.raw(now.free)
    reading = float(raw[[plan.kind_position(k) for k in range(plan.n_kinds)]].min())
    first = int(plan.has_shape)
    kinds = ["shape"] * first + ["reading" if plan.nodes else "sd"] * plan.n_kinds
    longest = np.array([_LONGEST[kinds[i] if i < len(kinds) else "sd"] for i in plan.free])
    # shortened as a whole: cut one by one, correlated components would no longer point uphill
    step = step / max(1.0, float((np.abs(step) / (radius * longest)).max(initial=0.0)))
    for i, position in enumerate(plan.free):
        is_group = position >= int(plan.has_shape) + plan.n_kinds
        if is_group and _falls(here, i) and now.free[i] < reading - 2.0:
            # near zero the likelihood is linear in the variance: Newton's step on the log scale is then
            # always about a half, however far there is to go
            step[i] = -2.5
    return step


def _falls(here: Slope, i: int) -> bool:
    """Whether a log sd would step down by itself, however little there is left to gain."""
    return bool(here.gradient[i] < -0.2 * abs(here.own[i]))


def _vanishing(plan: Plan, now: Objective, here: Slope) -> tuple[str, ...]:
    """Groups whose sd is below 1e-4 of the reading's, or near it with a likelihood that rises towards 0."""
    raw = plan.raw(now.free)
    reading = float(raw[[plan.kind_position(k) for k in range(plan.n_kinds)]].min())
    names = [group.name for group in plan.problem.groups]
    if plan.problem.finest is not None:
        names.append(plan.problem.finest.name)
    free = plan.free
    out = []
    for name in names:
        position = plan.group_position(name)
        if position not in free:
            continue
        i = free.index(position)
        tiny = raw[position] < reading + np.log(1e-4)
        # so near zero the likelihood is linear in the variance: if it falls here, it falls from zero on
        falling = raw[position] < reading + np.log(0.02) and _falls(here, i)
        if tiny or falling:
            out.append(name)
    return tuple(out)
