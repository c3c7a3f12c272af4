"""From the optimum to the frozen result: names, covariances, effects, notes."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pandas as pd

from outcomes.engine.outer import Optimum
from outcomes.engine.plan import Plan
from outcomes.engine.problem import Group
from outcomes.engine.result import Joint, MixedFit, ShapeEstimate

FloatArray = npt.NDArray[np.float64]

_NORMAL_975 = 1.959963984540054
_LEAST_INFORMATION = 1e-2  # on a log parameter: a standard error of 10 tells nothing
_VAGUE = 10.0  # standard error, in spreads of what is read, that tells nothing of a coefficient
_STRAIGHT = 10.0  # theta in longest exposures from which on the shape is a line to within 5 %
_MOST_JOINT = 500  # effects of a group that are kept jointly with the coefficients, for draws


def make_result(plan: Plan, optimum: Optimum, zero: list[Group]) -> MixedFit:
    """Put an optimum into words and tables.

    Parameters
    ----------
    plan : Plan
    optimum : Optimum
    zero : list of Group
        The groups found on their boundary.

    Returns
    -------
    MixedFit
    """
    problem, readings = plan.problem, plan.problem.readings
    objective, here = optimum.objective, optimum.slope
    mode, factor = objective.mode, objective.mode.factor
    names = list(readings.coefficient_names)
    free_names = _free_names(plan)
    outer_covariance, weak = _inverse(here.information, free_names)
    r = problem.n_random
    beta = pd.Series(mode.unknowns[r:], index=names)
    dense = factor.rest_inverse
    given_outer = dense[problem.n_rest :, problem.n_rest :]
    response = here.response[r:]
    raw = plan.raw(objective.free)
    kinds = readings.kinds
    sds = {kind: float(np.exp(raw[plan.kind_position(i)])) for i, kind in enumerate(kinds)}
    group_sd = {group.name: 0.0 for group in zero}
    for group in readings.groups:
        group_sd[group.name] = float(np.exp(raw[plan.group_position(group.name)]))
    shape = None
    if plan.has_shape and readings.family is not None:
        se = float(np.sqrt(outer_covariance[0, 0])) if 0 in plan.free else 0.0
        theta = float(np.exp(raw[0]))
        factor_975 = float(np.exp(_NORMAL_975 * se))
        shape = ShapeEstimate(readings.family, theta, theta / factor_975, theta * factor_975)
    vague = _vague(plan, optimum, names, np.diagonal(given_outer))
    notes = _notes(plan, optimum, zero, [*vague, *weak])
    return MixedFit(
        coefficients=beta,
        covariance=pd.DataFrame(given_outer, index=names, columns=names),
        joint_covariance=_joint_covariance(names, given_outer, free_names, outer_covariance, response, shape),
        group_sd=group_sd,
        group_effects=_effects(plan, optimum, zero),
        reading_sd=sds[None] if kinds == (None,) else sds,
        shape=shape,
        loglik=objective.value,
        converged=optimum.converged and mode.converged,
        notes=notes,
        diagnostics=_diagnostics(optimum, free_names),
        joint=_joint(plan, optimum, free_names, outer_covariance),
    )


def outer_information(plan: Plan, given: pd.DataFrame | None) -> FloatArray | None:
    """A given information of the outer parameters in the order of a plan.

    Parameters
    ----------
    plan : Plan
    given : DataFrame or None
        By names.

    Returns
    -------
    ndarray (free, free) or None
        None where nothing is given, or not for every parameter.
    """
    names = _free_names(plan)
    if given is None or not set(names) <= set(given.index):
        return None
    return given.loc[names, names].to_numpy(dtype=np.float64)


def _free_names(plan: Plan) -> list[str]:
    readings = plan.problem.readings
    names = ["shape"] if plan.has_shape else []
    names += ["log_reading_sd" if kind is None else f"log_reading_sd:{kind}" for kind in readings.kinds]
    if plan.problem.finest is not None:
        names.append(f"log_sd:{plan.problem.finest.name}")
    if plan.problem.companion is not None:
        names.append(f"log_sd:{plan.problem.companion.name}")  # never free itself
    names += [f"log_sd:{group.name}" for group in plan.problem.groups]
    return [names[i] for i in plan.free]


def _inverse(information: FloatArray, names: list[str]) -> tuple[FloatArray, list[str]]:
    """Covariance of the outer parameters; directions without information, which are named, get a huge one."""
    if len(names) == 0:
        return np.zeros((0, 0)), []
    values, vectors = np.linalg.eigh(information)
    usable = values > _LEAST_INFORMATION
    weak: list[str] = []
    for vector in vectors.T[~usable]:
        weak += [name for name, weight in zip(names, vector, strict=True) if abs(weight) > 0.3]
    inverse = 1.0 / np.maximum(values, _LEAST_INFORMATION)
    return (vectors * inverse) @ vectors.T, list(dict.fromkeys(weak))


def _vague(plan: Plan, optimum: Optimum, names: list[str], variance: FloatArray) -> list[str]:
    """Coefficients of which the readings tell nothing: a single plain reading would tell ten times as much.

    An error is seen against the largest value of its column and the spread of what is read; on the log scale
    that spread counts as 1.
    """
    readings = plan.problem.readings
    raw = plan.raw(optimum.objective.free)
    reading = max(float(np.exp(raw[plan.kind_position(kind)])) for kind in range(plan.n_kinds))
    sds = {group.name: float(np.exp(raw[plan.group_position(group.name)])) for group in readings.groups}
    inside = [sds[group.name] for group in readings.groups if not group.additive]
    spread = 1.0 if readings.link == "log" else float(np.sqrt(reading**2 + np.square(inside).sum()))
    own = np.r_[np.full(readings.design.shape[1], spread), np.full(readings.additive.shape[1], reading)]
    size = np.abs(np.hstack([readings.design, readings.additive])).max(axis=0)
    vague = np.sqrt(variance) * size > _VAGUE * own
    return [name for name, is_vague in zip(names, vague, strict=True) if is_vague]


def _joint_covariance(
    names: list[str],
    given_outer: FloatArray,
    free_names: list[str],
    outer: FloatArray,
    response: FloatArray,
    shape: ShapeEstimate | None,
) -> pd.DataFrame:
    cross = response @ outer
    joint = np.block([[given_outer + response @ outer @ response.T, cross], [cross.T, outer]])
    scale = np.ones(len(joint))
    if shape is not None and "shape" in free_names:
        scale[len(names) + free_names.index("shape")] = shape.value  # from log theta to theta
    index = names + free_names
    return pd.DataFrame(joint * np.outer(scale, scale), index=index, columns=index)


def _effects(plan: Plan, optimum: Optimum, zero: list[Group]) -> dict[str, pd.DataFrame]:
    problem, mode = plan.problem, optimum.objective.mode
    out: dict[str, pd.DataFrame] = {}
    variance = mode.factor.variances(with_fixed=True)
    for group in problem.groups:
        where = problem.position[group.name]
        out[group.name] = _effect_frame(group, mode.unknowns[where], np.sqrt(variance[where]))
    finest = problem.finest
    if finest is not None:
        # the spread inside a block, and what the other unknowns add to it
        shift = np.concatenate([piece.shift for piece in mode.sums])
        covariance = mode.factor.pair_covariances(with_fixed=True)
        added = _added(plan, shift, covariance)
        mean = np.concatenate([piece.moments.mean for piece in mode.sums])
        within = np.concatenate([piece.moments.variance for piece in mode.sums])
        out[finest.name] = _by_code(finest, problem.block_code, mean, within + added)
    if problem.companion is not None:
        mean = np.concatenate([piece.moments.companion_mean for piece in mode.sums])
        shift = np.concatenate([piece.companion_shift for piece in mode.sums])
        within = np.concatenate([piece.moments.companion_variance for piece in mode.sums])
        within = within + _added(plan, shift, covariance)
        frame = _by_code(problem.companion, problem.block_companion, mean, within)
        frame.update(out[problem.companion.name])
        out[problem.companion.name] = frame
    for group in zero:
        out[group.name] = _effect_frame(group, np.zeros(group.size), np.zeros(group.size))
    return out


def _added(plan: Plan, shift: FloatArray, covariance: FloatArray) -> FloatArray:
    """What the doubt about other unknowns adds to the variance of each block's effect."""
    problem = plan.problem
    starts = np.flatnonzero(np.r_[True, np.diff(_predictor_block(plan)) > 0])
    products = shift[problem.pair_first] * shift[problem.pair_second] * covariance
    return np.add.reduceat(np.add.reduceat(products, problem.pair_pointer[:-1]), starts)


def _by_code(
    group: Group, code: npt.NDArray[np.int64], mean: FloatArray, variance: FloatArray
) -> pd.DataFrame:
    present = code >= 0
    effect, sd = np.zeros(group.size), np.zeros(group.size)
    effect[code[present]] = mean[present]
    sd[code[present]] = np.sqrt(variance[present])
    return _effect_frame(group, effect, sd)


def _predictor_block(plan: Plan) -> npt.NDArray[np.int64]:
    start = 0
    parts = []
    for piece in plan.problem.pieces:
        parts.append(piece.predictor_block + start)
        start += len(piece.block_starts)
    return np.concatenate(parts)


def _effect_frame(group: Group, effect: FloatArray, sd: FloatArray) -> pd.DataFrame:
    return pd.DataFrame({"effect": effect, "sd": sd}, index=pd.Index(group.labels, name=group.name))


def _joint(plan: Plan, optimum: Optimum, free_names: list[str], outer: FloatArray) -> Joint:
    """Coefficients with the effects of groups, the smallest first, as long as they are few.

    It mustn't matter which effects happen to be eliminated first: small groups are wanted wherever they are.
    """
    problem, mode = plan.problem, optimum.objective.mode
    kept: list[int] = []
    names: list[str] = []
    for group in sorted(problem.groups, key=lambda group: group.size):
        if len(kept) + group.size > _MOST_JOINT:
            break
        kept += [int(i) for i in problem.position[group.name]]
        names += [f"{group.name}[{label}]" for label in group.labels]
    r = problem.n_random
    index = np.array(kept + list(range(r, r + problem.n_fixed)), dtype=np.int64)
    if (index >= problem.n_clustered).all():
        local = index - problem.n_clustered
        covariance = mode.factor.rest_inverse[np.ix_(local, local)]
    else:
        unit = np.zeros(r + problem.n_fixed)
        covariance = np.empty((len(index), len(index)))
        for i, unknown in enumerate(index):
            unit[unknown] = 1.0
            covariance[i] = mode.factor.solve(unit)[index]
            unit[unknown] = 0.0
    raw = plan.raw(optimum.objective.free)
    return Joint(
        inner_names=(*names, *problem.readings.coefficient_names),
        inner_mean=mode.unknowns[index],
        inner_covariance=covariance,
        outer_names=tuple(free_names),
        outer_mean=raw[plan.free],
        outer_covariance=outer,
        response=optimum.slope.response[index],
    )


def _notes(plan: Plan, optimum: Optimum, zero: list[Group], weak: list[str]) -> tuple[str, ...]:
    notes = []
    if not optimum.converged or not optimum.objective.mode.converged:
        last = optimum.trace[-1]
        notes.append(
            f"the fit did not converge: after {len(optimum.trace)} steps about {last.decrement:.2g} in "
            "log-likelihood was still to be gained, so its numbers can't be relied on"
        )
    for group in zero:
        notes.append(
            f"the sd of {group.name!r} lies on its boundary: the readings show no spread between its "
            f"{group.size} categories beyond chance, so it is 0"
        )
    if weak:
        notes.append(
            "not identified: the readings don't tell apart "
            + ", ".join(name.removeprefix("log_") for name in weak)
            + "; their estimates rest on the prior or on the starting values"
        )
    finest = plan.problem.finest
    readings = plan.problem.readings
    theta = optimum.objective.setting.values.theta
    if readings.family == "saturating" and theta > _STRAIGHT * max(1.0, float(readings.exposure.max())):
        notes.append(
            "the saturating shape has run to its limit, a straight line: the readings show no slowing "
            "down, so theta is only known to be large"
        )
    if finest is not None:
        per_code = np.bincount(finest.code, minlength=finest.size)
        if per_code.max() == 1 and not plan.has_shape:
            notes.append(
                f"no category of {finest.name!r} has two readings, so its spread and the reading's own "
                "error can't be told apart"
            )
    elif readings.merged and bool(readings.exact.all()):
        for group in readings.groups:
            if np.bincount(group.code, minlength=group.size).max() == 1:
                notes.append(
                    f"no category of {group.name!r} has two readings, so its spread and the reading's own "
                    "error can't be told apart"
                )
    return tuple(notes)


def _diagnostics(optimum: Optimum, names: list[str]) -> pd.DataFrame:
    rows = [
        {"value": s.value, "decrement": s.decrement, "damping": s.damping, "inner_steps": s.inner_steps}
        | dict(zip(names, s.free, strict=True))
        for s in optimum.trace
    ]
    return pd.DataFrame(rows)
