"""Where the climb begins: a regression of the intervals' middles, or an earlier fit."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
from scipy.optimize import minimize_scalar

from outcomes.engine.outer import Optimum
from outcomes.engine.plan import Plan
from outcomes.engine.priors import Prior
from outcomes.engine.problem import Problem, Readings
from outcomes.engine.result import MixedFit, ShapeEstimate
from outcomes.engine.shapes import shape_at
from outcomes.engine.terms import OPEN

FloatArray = npt.NDArray[np.float64]

_THETA = {"power": 0.8, "saturating": 1.0}
_LOG_THETA = (-4.0, 4.0)
_LEAST_LEFT = 0.3  # of a variance, after another effect's share has been taken out


@dataclass(frozen=True, eq=False)
class Start:
    """Starting values by name, so that they survive a change of the set of groups."""

    coefficients: FloatArray  # (coefficients,)
    theta: float  # of the shape; unused where there is none
    log_reading_sd: FloatArray  # (kinds,)
    log_group_sd: Mapping[str, float]  # of every group, by name

    def free(self, plan: Plan) -> FloatArray:
        """The free outer parameters of a plan, logarithms.

        Parameters
        ----------
        plan : Plan

        Returns
        -------
        ndarray (free,)
        """
        raw = np.zeros(plan.n_raw)
        if plan.has_shape:
            raw[0] = np.log(self.theta)
        raw[int(plan.has_shape) : int(plan.has_shape) + plan.n_kinds] = self.log_reading_sd
        for group in plan.problem.readings.groups:
            raw[plan.group_position(group.name)] = self.log_group_sd[group.name]
        return raw[plan.free]

    def unknowns(self, problem: Problem) -> FloatArray:
        """Coefficients as they are, all effects at 0.

        Parameters
        ----------
        problem : Problem

        Returns
        -------
        ndarray (unknowns,)
        """
        start = np.zeros(problem.n_random + problem.n_fixed)
        if problem.n_fixed:
            start[problem.n_random :] = self.coefficients
        return start

    def after(self, plan: Plan, optimum: Optimum) -> Start:
        """Where a climb got to.

        Parameters
        ----------
        plan : Plan
        optimum : Optimum

        Returns
        -------
        Start
        """
        raw = plan.raw(optimum.objective.free)
        first = int(plan.has_shape)
        return replace(
            self,
            coefficients=optimum.objective.mode.unknowns[plan.problem.n_random :],
            theta=float(np.exp(raw[0])) if first else self.theta,
            log_reading_sd=raw[first : first + plan.n_kinds],
            log_group_sd={
                group.name: float(raw[plan.group_position(group.name)])
                for group in plan.problem.readings.groups
            },
        )


def starting_values(
    readings: Readings,
    held: Mapping[object, float],
    earlier: MixedFit | None,
    prior: Prior | None,
    ties: Mapping[str, tuple[object, float]] | None = None,
) -> Start:
    """Rough values from least squares; from an earlier fit, or a prior, wherever it has the parameter.

    Parameters
    ----------
    readings : Readings
    held : mapping kind -> sd
        Reading sds that aren't estimated.
    earlier : MixedFit or None
    prior : Prior or None
    ties : mapping additive group -> (kind, variance), optional

    Returns
    -------
    Start
    """
    middle, width = _middles(readings)
    theta = _THETA.get(readings.family or "", 1.0)
    prior = prior or Prior()
    if prior.log_shape is not None:
        theta = float(np.exp(prior.log_shape[0]))
    if earlier is not None and earlier.shape is not None and readings.family is not None:
        theta = _nearest_theta(readings, earlier.shape)
    g = np.ones(len(middle))
    if readings.family is not None:
        g = np.maximum(shape_at(readings.family, readings.exposure, theta).value, 1e-3)
    first = np.r_[True, readings.row_unit[1:] != readings.row_unit[:-1]]
    middle, width, g = middle[first], width[first], g[first]
    beta, spread, residual = _least_squares(readings, middle, g)
    count = len(readings.groups)
    share = spread / np.sqrt(count + 1.0)
    # a rounding window hides errors smaller than itself: begin no lower than half of it
    reading = max(residual / np.sqrt(count + 1.0), 0.5 * float(np.median(width)), 1e-8)
    sds = np.array([np.log(held.get(kind, reading)) for kind in readings.kinds])
    for i, kind in enumerate(readings.kinds):
        if kind in prior.log_reading_sd and kind not in held:
            sds[i] = prior.log_reading_sd[kind][0]
    groups = {
        g.name: float(np.log(max(reading if g.additive and not readings.merged else share, 1e-8)))
        for g in readings.groups
    }
    if readings.gaussian and len(readings.kinds) == 1 and not held:
        sds, groups = _by_variance(readings, middle - np.hstack([readings.design, readings.additive]) @ beta)
    groups |= {name: prior.log_group_sd[name][0] for name in groups if name in prior.log_group_sd}
    start = Start(beta, theta, sds, groups)
    if earlier is None:
        return start
    return _less_new_effects(_from(earlier, start, readings, held), earlier, readings, ties or {})


def _by_variance(readings: Readings, residual: FloatArray) -> tuple[FloatArray, dict[str, float]]:
    """Log sds of exact data: a group's variance is what its own means take from the whole one."""
    whole = float(residual @ residual) / max(len(residual) - 1, 1)
    if whole <= 0.0:
        whole = 1e-16
    taken: dict[str, float] = {}
    for group in readings.groups:
        size = np.bincount(group.code, minlength=group.size)
        mean = np.bincount(group.code, residual[group.unit], minlength=group.size) / np.maximum(size, 1)
        inside = residual[group.unit] - mean[group.code]
        degrees = len(inside) - int((size > 0).sum())
        within = float(inside @ inside) / degrees if degrees > 0 else 0.5 * whole
        taken[group.name] = max(whole - within, 0.02 * whole)
    # where groups overlap they claim the same spread twice
    shrink = min(1.0, 0.8 * whole / max(sum(taken.values()), 1e-300))
    left = max(whole - shrink * sum(taken.values()), 0.02 * whole)
    return (
        np.array([0.5 * np.log(left)]),
        {name: 0.5 * float(np.log(max(shrink * value, 1e-16))) for name, value in taken.items()},
    )


def _nearest_theta(readings: Readings, earlier: ShapeEstimate) -> float:
    """theta of this family whose shape lies nearest, on the log scale, to an earlier one of any family."""
    if earlier.family == readings.family:
        return earlier.value
    exposure, count = np.unique(readings.exposure[readings.exposure > 0], return_counts=True)
    wanted = np.log(np.maximum(shape_at(earlier.family, exposure, earlier.value).value, 1e-300))

    def distance(log_theta: float) -> float:
        g = shape_at(str(readings.family), exposure, float(np.exp(log_theta))).value
        return float(count @ (np.log(np.maximum(g, 1e-300)) - wanted) ** 2)

    return float(np.exp(minimize_scalar(distance, bounds=_LOG_THETA, method="bounded").x))


def _less_new_effects(
    start: Start, earlier: MixedFit, readings: Readings, ties: Mapping[str, tuple[object, float]]
) -> Start:
    """Spread that an earlier fit without some additive effect put into its finest group, taken out again.

    An additive error of sd s moves the log of a mean m by about s / m; of a group's readings the one of
    the largest mean says most about it.
    """
    new = [group for group in readings.groups if group.additive and group.name not in earlier.group_sd]
    inside = [group for group in readings.groups if not group.additive]
    if readings.link != "log" or not new or not inside:
        return start
    finest = max(inside, key=lambda group: group.size)
    middle, _ = _middles(readings)
    of_unit = np.full(readings.n_units, -np.inf)
    np.maximum.at(of_unit, readings.row_unit, middle)
    largest = np.full(finest.size, -np.inf)
    np.maximum.at(largest, finest.code, of_unit[finest.unit])
    sds = dict(start.log_group_sd)
    variance = np.exp(2.0 * sds[finest.name])
    taken = 0.0
    for group in new:
        of_additive = np.exp(2.0 * sds[group.name])
        if group.name in ties:
            kind, extra = ties[group.name]
            of_additive = np.exp(2.0 * start.log_reading_sd[readings.kinds.index(kind)]) + extra
        taken += float(np.median(of_additive / np.maximum(largest**2, of_additive)))
    sds[finest.name] = 0.5 * float(np.log(max(variance - taken, _LEAST_LEFT * variance)))
    return replace(start, log_group_sd=sds)


def _from(earlier: MixedFit, start: Start, readings: Readings, held: Mapping[object, float]) -> Start:
    known = earlier.coefficients
    beta = np.array(
        [
            float(known[name]) if name in known.index else value
            for name, value in zip(readings.coefficient_names, start.coefficients, strict=True)
        ]
    )
    given = earlier.reading_sd
    sds = start.log_reading_sd.copy()
    for i, kind in enumerate(readings.kinds):
        value = given.get(kind) if isinstance(given, Mapping) else given
        if value and kind not in held:
            sds[i] = np.log(value)
    groups = {
        name: float(np.log(earlier.group_sd[name])) if earlier.group_sd.get(name, 0.0) > 0 else value
        for name, value in start.log_group_sd.items()
    }
    return Start(beta, start.theta, sds, groups)


def _middles(readings: Readings) -> tuple[FloatArray, FloatArray]:
    """A number for each row, and the width of its window (0 where exact)."""
    low, high = readings.lower, np.where(readings.exact, readings.lower, readings.upper)
    open_low, open_high = low <= -OPEN, high >= OPEN
    width = np.where(open_low | open_high, 0.0, high - low)
    typical = float(np.median(width[width > 0])) if (width > 0).any() else 0.0
    finite = np.r_[low[~open_low], high[~open_high]]
    if typical == 0.0 and len(finite) and readings.link == "identity":
        typical = 0.5 * float(finite.std())
    middle = 0.5 * (np.where(open_low, high - typical, low) + np.where(open_high, low + typical, high))
    middle = np.where(open_low & open_high, float(np.median(finite)) if len(finite) else 0.0, middle)
    return middle, width


def _least_squares(readings: Readings, middle: FloatArray, g: FloatArray) -> tuple[FloatArray, float, float]:
    """Coefficients, spread of the linear predictor's residual, spread of the reading's residual."""
    p = readings.design.shape[1]
    beta = np.zeros(len(readings.coefficient_names))
    if readings.link == "log":
        positive = np.maximum(middle, 0.1 * max(float(np.abs(middle).mean()), 1e-6))
        target = np.log(positive / g)
        # small progress is known less well on the log scale
        weight = np.sqrt(np.maximum(g, 1e-3))
        beta[:p] = np.linalg.lstsq(readings.design * weight[:, None], target * weight, rcond=None)[0]
        away = target - readings.design @ beta[:p]
        residual = middle - np.exp(np.minimum(readings.design @ beta[:p], 50.0)) * g
        spread = float(np.sqrt(np.average(away**2, weights=weight**2)))
        return beta, min(max(spread, 0.05), 1.0), 0.5 * float(residual.std())
    matrix = readings.design * g[:, None]
    if readings.merged:
        matrix = np.hstack([readings.design, readings.additive])
    fitted = np.linalg.lstsq(matrix, middle, rcond=None)[0]
    beta[: len(fitted)] = fitted
    residual = middle - matrix @ fitted
    degrees = max(len(middle) - matrix.shape[1], 1)
    sd = float(np.sqrt((residual**2).sum() / degrees))
    return beta, sd, sd
