"""How a fit climbs: from where, on how many quadrature nodes, and when it needs more of them."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt

from outcomes.engine.curvature import finish
from outcomes.engine.joint import MapFunction, first_placements
from outcomes.engine.objective import evaluate
from outcomes.engine.outer import Optimum, maximise
from outcomes.engine.plan import Plan
from outcomes.engine.problem import Readings
from outcomes.engine.start import Start
from outcomes.engine.terms import OPEN
from outcomes.errors import FitError

# Nodes of the climb and of its last steps when none are asked for: of an effect alone, and of one that is
# integrated together with a companion, which smooths it.
ALONE_NODES = (13, 21)
COMPANION_NODES = (9, 13)
_FINE = 1e-5  # and the fine one: 1e-5 is a three-hundredth of a standard error
_SHARP_FINE = 0.4  # reading sd in half windows below which the standard nodes miss the edges
_SHARP = 0.6  # reading sd in half windows below which the rough climb's nodes can't follow
_ROUGH = 0.05  # Newton decrement at which the rough climb ends
_NEARLY = 1e-2  # inner decrement at which effects found on few nodes serve to start from


def climb(
    plan: Plan,
    begin: Start,
    run: MapFunction,
    *,
    few_first: bool,
    near: bool,
    bounded: bool,
    tolerance: float | None,
    known: npt.NDArray[np.float64] | None = None,
) -> Optimum:
    """Maximise from the starting values, on few nodes first where none were asked for.

    Near the maximum few nodes serve to find the effects alone: a climb would end beside the maximum of the
    fine integral, and the way from there is as long as from the start.

    Parameters
    ----------
    plan : Plan
    begin : Start
    run : callable
        Like the built-in `map`.
    few_first : bool
        Whether to begin on few nodes.
    near : bool
        Whether the starting values are near the maximum.
    bounded : bool
        True: no reading sd goes where the nodes can't follow the edges of a window; one that stays at that
        bound is in want of more nodes.
    tolerance : float or None
        Newton decrement at which the climb ends; None: far below what matters.
    known : ndarray (free, free), optional
        Information to climb by and to report, instead of what is worked out.

    Returns
    -------
    Optimum

    Raises
    ------
    FitError
        The likelihood is not finite at the starting values, or has no usable curvature.
    """
    free = begin.free(plan)
    unknowns = begin.unknowns(plan.problem)
    small = plan.problem.readings.n_units < 2000
    if tolerance is None:
        exact = bool(plan.problem.readings.exact.all())
        tolerance = 1e-15 if exact else 1e-11 if plan.nodes == 0 else 1e-10 if small else _FINE
    placements = first_placements(plan.problem, plan.setting(plan.raw(free)).values)
    only_rough = tolerance >= _ROUGH and plan.nodes > 0
    few = (ALONE_NODES if plan.problem.companion is None else COMPANION_NODES)[0]
    coarse = replace(plan, nodes=few) if plan.nodes and not only_rough else plan
    if few_first and near and coarse is not plan:
        mode = evaluate(coarse, free, unknowns, placements, run, _NEARLY).mode
        unknowns, placements = mode.unknowns, mode.placements
    elif (few_first or only_rough) and plan.nodes:
        # the way up needs no more than a rough integral; the last steps get the fine one
        found = maximise(
            coarse,
            free,
            unknowns,
            placements,
            run,
            max(tolerance, _ROUGH),
            rough=True,
            least_reading=_least_reading(plan, _SHARP),
            known=known,
        )
        if found.vanishing or only_rough:
            return found
        free, mode = found.objective.free, found.objective.mode
        unknowns, placements = mode.unknowns, mode.placements
    least = _least_reading(plan, _enough_for(plan)) if bounded and plan.nodes else -np.inf
    optimum = maximise(plan, free, unknowns, placements, run, tolerance, least_reading=least, known=known)
    if not np.isfinite(optimum.objective.value):
        raise FitError("the likelihood is not finite at the starting values; check the readings' scale")
    if known is not None:
        return optimum
    return finish(plan, optimum, run, tolerance, least_reading=least)


def too_sharp(plan: Plan, optimum: Optimum) -> bool:
    """Whether a reading sd is so small beside the half window that more nodes are needed to see its edges.

    At 0.4 half windows doubling the standard number moved estimates by less than a tenth of a standard
    error, at 0.2 by up to half of one and more; the number needed goes with the sharpness.

    Parameters
    ----------
    plan : Plan
    optimum : Optimum

    Returns
    -------
    bool
    """
    return sharper_than_seen(plan, plan.raw(optimum.objective.free))


def sharper_than_seen(plan: Plan, raw: npt.NDArray[np.float64]) -> bool:
    """The same at given parameters.

    Parameters
    ----------
    plan : Plan
    raw : ndarray (raw,)
        All outer parameters, logarithms.

    Returns
    -------
    bool
    """
    least = _least_reading(plan, _enough_for(plan))
    free = [plan.kind_position(kind) for kind in _half_windows(plan.problem.readings)]
    return any(raw[position] < least + 0.01 for position in free if position not in plan.held)


def _enough_for(plan: Plan) -> float:
    """Smallest reading sd, in half windows, that these nodes can see."""
    standard = (ALONE_NODES if plan.problem.companion is None else COMPANION_NODES)[-1]
    return _SHARP_FINE * standard / plan.nodes


def _half_windows(readings: Readings) -> dict[int, float]:
    """Median half width of the closed windows of each kind of reading."""
    width = readings.upper - readings.lower
    closed = ~readings.exact & (width < 0.5 * OPEN)
    kind = readings.kind[readings.row_unit]
    return {
        int(code): 0.5 * float(np.median(width[closed & (kind == code)])) for code in np.unique(kind[closed])
    }


def _least_reading(plan: Plan, least: float) -> float:
    """Log reading sd below which these nodes can't follow the edges of a rounding window."""
    windows = _half_windows(plan.problem.readings)
    return float(np.log(least * max(windows.values()))) if windows else -np.inf
