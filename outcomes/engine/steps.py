"""One step of the outer climb: its direction, how long it may be, and which groups run to 0."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt

from outcomes.engine.objective import Objective, Slope
from outcomes.engine.plan import Plan

FloatArray = npt.NDArray[np.float64]

# Parameters are logarithms: a likelihood that tells less of one than a factor of 5 tells nothing.
_LEAST_INFORMATION = 0.05
_LONGEST = {"shape": 0.5, "reading": 0.4, "sd": 0.8}  # of one step, on the log scale


def newton(here: Slope) -> FloatArray:
    """Newton's step, with negative curvature turned round and small curvature kept from exploding.

    Parameters
    ----------
    here : Slope

    Returns
    -------
    ndarray (free,)
    """
    if not len(here.gradient):  # every outer parameter is given
        return here.gradient
    values, vectors = np.linalg.eigh(here.information)
    least = max(1e-6 * float(np.abs(values).max()), _LEAST_INFORMATION)
    return np.asarray(vectors @ ((vectors.T @ here.gradient) / np.maximum(np.abs(values), least)))


def climbed(here: Slope) -> bool:
    """Whether there is a finite slope to climb by.

    Parameters
    ----------
    here : Slope

    Returns
    -------
    bool
    """
    return bool(np.isfinite(here.gradient).all() and np.isfinite(here.information).all())


def held_at_bound(plan: Plan, now: Objective, here: Slope, least_reading: float) -> Slope:
    """The slope without reading sds that are at their bound and would go on falling.

    Parameters
    ----------
    plan : Plan
    now : Objective
    here : Slope
    least_reading : float
        Lower bound of the log reading sds.

    Returns
    -------
    Slope
    """
    falls = [i for i in _readings(plan) if now.free[i] <= least_reading + 1e-6 and here.gradient[i] < 0]
    return _without(here, falls)


def _without(here: Slope, which: list[int]) -> Slope:
    """The slope of the other parameters, these held where they are."""
    if not which:
        return here
    gradient, information = here.gradient.copy(), here.information.copy()
    gradient[which] = 0.0
    information[which, :] = information[:, which] = 0.0
    information[which, which] = 1.0
    return replace(here, gradient=gradient, information=information)


def _readings(plan: Plan) -> list[int]:
    """Which of the free parameters are reading sds."""
    kinds = range(int(plan.has_shape), int(plan.has_shape) + plan.n_kinds)
    return [i for i, position in enumerate(plan.free) if position in kinds]


def bounded_step(plan: Plan, now: Objective, here: Slope, radius: float, least_reading: float) -> FloatArray:
    """Newton's step, no longer than can be trusted.

    Parameters
    ----------
    plan : Plan
    now : Objective
    here : Slope
    radius : float
        Share of the longest step that is allowed.
    least_reading : float
        Lower bound of the log reading sds.

    Returns
    -------
    ndarray (free,)
    """
    step = newton(here)
    first = int(plan.has_shape)
    kinds = ["shape"] * first + ["reading" if plan.nodes else "sd"] * plan.n_kinds
    longest = np.array([_LONGEST[kinds[i] if i < len(kinds) else "sd"] for i in plan.free])
    # shortened as a whole: cut one by one, correlated components would no longer point uphill
    step = step / max(1.0, float((np.abs(step) / (radius * longest)).max(initial=0.0)))
    for i, position in enumerate(plan.free):
        is_group = position >= int(plan.has_shape) + plan.n_kinds
        if is_group and _falls(here, i) and now.free[i] < _seen_by_readings(plan, now, position) - 2.0:
            # near zero the likelihood is linear in the variance: Newton's step on the log scale is then
            # always about a half, however far there is to go
            step[i] = -2.5
    reading = _readings(plan)
    step[reading] = np.maximum(step[reading], np.minimum(least_reading - now.free[reading], 0.0))
    return step


def _falls(here: Slope, i: int) -> bool:
    """Whether a log sd would step down by itself, however little there is left to gain."""
    return bool(here.gradient[i] < -0.2 * abs(here.own[i]))


def vanishing(plan: Plan, now: Objective, here: Slope) -> tuple[str, ...]:
    """Groups whose sd is below 1e-4 of the reading's, or near it with a likelihood that rises towards 0.

    Parameters
    ----------
    plan : Plan
    now : Objective
    here : Slope

    Returns
    -------
    tuple of str
    """
    raw = plan.raw(now.free)
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
        reading = _seen_by_readings(plan, now, position)
        tiny = raw[position] < reading + np.log(1e-4)
        # so near zero the likelihood is linear in the variance: if it falls here, it falls from zero on
        falling = raw[position] < reading + np.log(0.02) and _falls(here, i)
        if tiny or falling:
            out.append(name)
    return tuple(out)


def _seen_by_readings(plan: Plan, now: Objective, position: int) -> float:
    """Log of the smallest reading sd, in the units of a group's effects: under the log link in shares."""
    raw, readings = plan.raw(now.free), plan.problem.readings
    reading = float(raw[[plan.kind_position(k) for k in range(plan.n_kinds)]].min())
    inside = {plan.group_position(group.name) for group in readings.groups if not group.additive}
    return reading - readings.log_size if position in inside else reading
