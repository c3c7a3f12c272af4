"""Information of the outer parameters from changes of the gradient, where the worked-out form can't serve.

The worked-out information (see `objective`) leaves out how the determinant depends on the effects. That is
small where readings are many; in small logs it can be all there is, and the matrix isn't even positive. At
the end of a climb the gradient, which is exact, is then taken a little to both sides of every parameter.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt

from outcomes.engine.joint import MapFunction
from outcomes.engine.objective import Objective, evaluate, slope
from outcomes.engine.outer import NOISE, Optimum, Step, damped
from outcomes.engine.plan import Plan
from outcomes.engine.steps import climbed, held_at_bound, newton, vanishing
from outcomes.errors import FitError

__all__ = ["finish"]

FloatArray = npt.NDArray[np.float64]

_ASIDE = 0.02  # of a log parameter, to either side
_DOUBTFUL = 0.5  # standard error of a log parameter from which on the worked-out information isn't trusted
_POSITIVE = 0.05  # smallest eigenvalue of the worked-out information, scaled to a diagonal of ones
_MOST_ROUNDS = 8
_INNER = 1e-10


def finish(
    plan: Plan, optimum: Optimum, run: MapFunction, tolerance: float, *, least_reading: float
) -> Optimum:
    """An optimum whose information, where it was doubtful, is that of the gradient's own changes.

    With the better information the end may turn out not to be reached; then it's climbed to.

    Parameters
    ----------
    plan : Plan
    optimum : Optimum
    run : callable
        Like the built-in `map`.
    tolerance : float
        On the Newton decrement.
    least_reading : float
        Lower bound of the log reading sds.

    Returns
    -------
    Optimum
    """
    if optimum.vanishing or not plan.nodes or not len(plan.free):
        return optimum
    if optimum.converged and not _doubtful(optimum):
        return optimum
    now, here, trace = optimum.objective, optimum.slope, list(optimum.trace)

    def ended(*, converged: bool, gone: tuple[str, ...] = ()) -> Optimum:
        return replace(
            optimum, objective=now, slope=here, trace=tuple(trace), converged=converged, vanishing=gone
        )

    for _ in range(_MOST_ROUNDS):
        try:
            here = replace(here, information=_by_differences(plan, now, run))
        except FitError:  # nothing can be computed so near: the end is no maximum
            return optimum
        loose = held_at_bound(plan, now, here, least_reading)
        decrement = float(loose.gradient @ newton(loose))
        gone = vanishing(plan, now, here)
        if gone or abs(decrement) < max(tolerance, 1e-8):
            return ended(converged=now.mode.converged, gone=gone)
        trial, damping = damped(plan, now, loose, run, _INNER, least_reading)
        if trial is None:
            return ended(converged=abs(decrement) < NOISE)
        trace.append(Step(trial.value, decrement, damping, trial.mode.steps, trial.free))
        now, here = trial, slope(plan, trial, run)
        if not climbed(here):
            return optimum
    here = replace(here, information=_by_differences(plan, now, run))
    return ended(converged=False)


def _doubtful(optimum: Optimum) -> bool:
    """Whether the information, as worked out or as reported, can't be that of a maximum, or tells too little.

    A matrix that isn't positive is no start for the steps' changes to be worked into: the result may be
    positive and yet wrong by a factor of twenty.
    """
    values, vectors = np.linalg.eigh(optimum.slope.information)
    if values[0] <= 0:
        return True
    size = np.sqrt(np.abs(np.diagonal(optimum.worked_out)) + 1e-12)
    if np.linalg.eigvalsh(optimum.worked_out / np.outer(size, size))[0] < _POSITIVE:
        return True
    return bool(((vectors**2) @ (1.0 / values)).max() > _DOUBTFUL**2)


def _by_differences(plan: Plan, now: Objective, run: MapFunction) -> FloatArray:
    """Minus the derivative of the gradient, on nodes that stay where they are."""
    columns = []
    for i in range(len(now.free)):
        sides = []
        for sign in (1.0, -1.0):
            free = now.free.copy()
            free[i] += sign * _ASIDE
            mode = now.mode
            aside = evaluate(plan, free, mode.unknowns, mode.placements, run, _INNER, frozen=True)
            sides.append(slope(plan, aside, run).gradient)
        columns.append((sides[1] - sides[0]) / (2.0 * _ASIDE))
    found = np.array(columns)
    if not np.isfinite(found).all():
        raise FitError("the likelihood has no finite slope beside its maximum")
    return np.asarray(0.5 * (found + found.T))
