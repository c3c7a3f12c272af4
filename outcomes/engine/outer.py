"""The outer problem: theta, reading sds and group sds, by damped Newton steps on their likelihood."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from outcomes.engine.joint import MapFunction, carry_nodes
from outcomes.engine.objective import Objective, Slope, evaluate, slope
from outcomes.engine.placing import Placement
from outcomes.engine.plan import Plan
from outcomes.engine.steps import bounded_step, climbed, held_at_bound, newton, vanishing
from outcomes.errors import FitError

FloatArray = npt.NDArray[np.float64]

_MOST_STEPS = 60
_MOST_ROUGH = 12
_ROUGH_INNER = 1e-4  # inner decrement that suffices on few nodes, whose own error is larger
_MOST_SEEN = 12
_LEAST_DAMPING = 1e-3
_ARRIVED = (
    1e-5  # decrement that counts as converged when the steps run out: a three-hundredth of a standard error
)
_CALM = 1.0  # decrement below which the nodes stay where they are: within a standard error of the end
_WANDER = 0.25  # of a log sd, from where the nodes were placed: further on they miss parts of the integral
NOISE = 1e-2  # decrement that quadrature's own error can hide: a tenth of a standard error


@dataclass(frozen=True, eq=False)
class Step:
    """One row of the diagnostics.

    Attributes
    ----------
    value : float
        Of the objective.
    decrement : float
        Newton decrement before the step.
    damping : float
    inner_steps : int
        Newton steps of the inner problem.
    free : ndarray (free,)
        Outer parameters, logarithms.
    """

    value: float
    decrement: float
    damping: float
    inner_steps: int
    free: FloatArray


@dataclass(frozen=True, eq=False)
class Optimum:
    """Where a climb ended."""

    objective: Objective  # at the end
    slope: Slope  # at the end
    trace: tuple[Step, ...]  # every step taken
    converged: bool  # to the tolerance, or near enough
    vanishing: tuple[str, ...]  # groups whose sd runs to 0
    worked_out: FloatArray  # information there, before the steps' own changes were worked in


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
    known: FloatArray | None = None,
) -> Optimum:
    """Climb to the maximum of the marginal likelihood.

    The result names groups whose sd runs to 0 instead of following them there.

    Parameters
    ----------
    plan : Plan
    free : ndarray (free,)
        Outer parameters to start from, logarithms.
    start : ndarray (unknowns,)
    placements : tuple of Placement
        One for each piece.
    run : callable
        Like the built-in `map`.
    tolerance : float
        On the Newton decrement.
    rough : bool
        A rough climb, on few nodes, takes few steps and gives up at the first that fails: what follows has
        better ones.
    least_reading : float
        Lower bound of the log reading sds: few nodes can't see an error that is small beside its rounding
        window, and would call it the likelier the smaller it is.
    known : ndarray (free, free), optional
        Information to climb by, from start to end, instead of what is worked out on the way.

    Returns
    -------
    Optimum

    Raises
    ------
    FitError
        The likelihood has no usable curvature.
    """
    inner = _ROUGH_INNER if rough else min(1e-9, 0.01 * tolerance)
    now = evaluate(plan, free, start, placements, run, inner)
    steps: list[Step] = []
    seen: list[tuple[FloatArray, FloatArray]] = []

    def sloped(at: Objective) -> Slope:
        found = slope(plan, at, run)
        return found if known is None else replace(found, information=known)

    here = plain = sloped(now)
    if not climbed(here):
        raise FitError("the likelihood has no finite slope at the starting values; check the readings' scale")
    radius, refreshed = 1.0, False
    anchor: FloatArray | None = None  # where the nodes were placed that now stay where they are

    def reported() -> Slope:
        # without quadrature the information is as good as worked out; with it the steps know better
        return here if plan.nodes else plain

    while len(steps) < (_MOST_ROUGH if rough else _MOST_STEPS):
        loose = held_at_bound(plan, now, here, least_reading)
        step = bounded_step(plan, now, loose, radius, least_reading)
        decrement = float(loose.gradient @ newton(loose))
        gone = vanishing(plan, now, here)
        creeping = any(step[i] <= -2.5 for i in range(len(step)))
        if rough and not now.mode.converged:
            # effects that don't settle on these nodes won't after the next step, and each try costs many
            steps.append(Step(now.value, decrement, 0.0, now.mode.steps, now.free))
            return Optimum(now, reported(), tuple(steps), False, (), plain.information)
        if gone or (decrement < tolerance and not creeping):
            steps.append(Step(now.value, decrement, 1.0, now.mode.steps, now.free))
            return Optimum(now, reported(), tuple(steps), now.mode.converged, gone, plain.information)
        if anchor is not None and np.abs(now.free + step - anchor).max() > _WANDER:
            now, anchor = _placed_anew(plan, now, run, inner), None
            here = plain = sloped(now)
            continue
        damping = 1.0
        # near the end the nodes stay where they are: moved with every step they hide what is left to gain
        calm = not rough and plan.nodes > 0 and decrement < _CALM and np.abs(step).max() < _WANDER
        anchor = now.free if anchor is None and calm else anchor
        frozen = anchor is not None
        trial = _try(plan, now, here, step, run, inner, frozen=frozen)
        while trial is None and damping > _LEAST_DAMPING:
            damping *= 0.3
            trial = _try(plan, now, here, damping * step, run, inner, frozen=frozen)
        if trial is None:
            steps.append(Step(now.value, decrement, damping, now.mode.steps, now.free))
            if refreshed or rough or not plan.nodes:
                return Optimum(
                    now,
                    reported(),
                    tuple(steps),
                    decrement < (NOISE if plan.nodes else 1e-9),
                    (),
                    plain.information,
                )
            # the value here may owe something to where its nodes happened to lie: take it anew
            refreshed, anchor = True, None
            now = _placed_anew(plan, now, run, inner)
            here = plain = sloped(now)
            continue
        # a step that had to be shortened says how far the information can be trusted
        radius = min(1.0, 2.0 * radius) if damping == 1.0 else radius * max(damping, 0.1)
        refreshed = False
        steps.append(Step(trial.value, decrement, damping, trial.mode.steps, trial.free))
        after = sloped(trial)
        if not climbed(after):
            return Optimum(now, reported(), tuple(steps), False, (), plain.information)
        if known is None and 1e-4 < decrement < 300.0:
            seen.append((trial.free - now.free, here.gradient - after.gradient))
        plain = after
        now, here = trial, replace(after, information=_seen(after.information, seen[-_MOST_SEEN:]))
    arrived = not rough and float(here.gradient @ newton(here)) < _ARRIVED
    return Optimum(now, reported(), tuple(steps), arrived, (), plain.information)


def _placed_anew(plan: Plan, now: Objective, run: MapFunction, inner: float) -> Objective:
    """The objective at the same parameters, its nodes placed by them."""
    fresh = carry_nodes(plan.problem, now.mode, np.zeros_like(now.mode.unknowns), now.setting)
    return evaluate(plan, now.free, now.mode.unknowns, fresh, run, inner)


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


def damped(
    plan: Plan, now: Objective, here: Slope, run: MapFunction, inner: float, least_reading: float
) -> tuple[Objective | None, float]:
    """The objective after Newton's step, shortened until it's better.

    Parameters
    ----------
    plan : Plan
    now : Objective
    here : Slope
    run : callable
        Like the built-in `map`.
    inner : float
        Tolerance of the inner problem.
    least_reading : float
        Lower bound of the log reading sds.

    Returns
    -------
    Objective or None
        None where no step is better.
    float
        What the step was shortened to.
    """
    step, damping = bounded_step(plan, now, here, 1.0, least_reading), 1.0
    while damping > _LEAST_DAMPING:
        trial = _try(plan, now, here, damping * step, run, inner, frozen=False)
        if trial is not None:
            return trial, damping
        damping *= 0.3
    return None, damping
