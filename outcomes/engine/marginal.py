"""The marginal log-likelihood at given parameters."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from outcomes.engine.blocks import Structure
from outcomes.engine.climb import sharper_than_seen
from outcomes.engine.given import as_numbers, collect
from outcomes.engine.joint import MapFunction, first_placements
from outcomes.engine.objective import evaluate
from outcomes.engine.pieces import pieces_map
from outcomes.engine.planning import MOST_DOUBLINGS, check_options, make_plan
from outcomes.engine.priors import Prior
from outcomes.engine.problem import FloatArray, Readings
from outcomes.engine.start import starting_values
from outcomes.errors import FitError, InputError


def log_marginal(
    lower: npt.ArrayLike,
    upper: npt.ArrayLike,
    design: pd.DataFrame,
    groups: Mapping[str, Any],
    *,
    group_sd: Mapping[str, float],
    reading_sd: float | Mapping[object, float],
    coefficients: Any = None,
    shape_value: float | None = None,
    link: str = "identity",
    exposure: npt.ArrayLike | None = None,
    shape: str | None = None,
    kind: Sequence[object] | npt.NDArray[Any] | None = None,
    alternatives: tuple[Any, ...] | None = None,
    additive: pd.DataFrame | None = None,
    additive_groups: Mapping[str, Any] | None = None,
    prior: Prior | None = None,
    nodes: int | None = None,
    shards: int = 1,
    map: MapFunction = map,
) -> float:
    """Marginal log-likelihood at given parameters, by the code that `fit_interval_mixed` maximises.

    Parameters
    ----------
    lower, upper, design, groups, link, exposure, shape, kind, alternatives : as in a fit
    additive, additive_groups, prior, nodes, shards, map : as in a fit
        As for `fit_interval_mixed`.
    group_sd : mapping group -> sd
        0 leaves the group out.
    reading_sd : float or mapping kind -> sd
    coefficients : array (p + q,) or Series, optional
        Additive ones last (a Series is matched by name). None: integrated under the prior (flat: None).
    shape_value : float
        theta; needed with `shape`.

    Returns
    -------
    float

    Raises
    ------
    InputError
        As `fit_interval_mixed`; a group or kind without its sd; coefficients that don't match the design.
    FitError
        The effects' mode is not found at these parameters.
    """
    check_options(nodes, shards, prior, map)
    readings = collect(
        lower,
        upper,
        design,
        groups,
        link=link,
        exposure=exposure,
        shape=shape,
        kind=kind,
        alternatives=alternatives,
        additive=additive,
        additive_groups=additive_groups,
        check_rank=coefficients is None,
    )
    if (shape is None) != (shape_value is None):
        raise InputError("shape and shape_value go together; give both or neither")
    if shape_value is not None and not 0 < shape_value < np.inf:
        raise InputError(f"shape_value {shape_value}; a number above 0 is expected")
    for group in readings.groups:
        if not 0 <= group_sd.get(group.name, -1.0) < np.inf:
            raise InputError(f"no sd of 0 or more for group {group.name!r} in group_sd")
    sds = reading_sd if isinstance(reading_sd, Mapping) else dict.fromkeys(readings.kinds, reading_sd)
    for name in readings.kinds:
        if not 0 < sds.get(name, -1.0) < np.inf:
            raise InputError(f"no sd above 0 for readings of kind {name!r} in reading_sd")
    kept = tuple(group for group in readings.groups if group_sd[group.name] > 0)
    readings = replace(readings, groups=kept)
    plan = make_plan(readings, prior, "integrated", nodes, shards, {}, {})
    problem = plan.problem
    if coefficients is not None:
        beta = _ordered(coefficients, readings)
        known = replace(problem, offset=problem.fixed @ beta, fixed=problem.fixed[:, :0])
        empty = np.zeros(0)
        plan = replace(
            plan, problem=known, structure=Structure(known), fixed_mean=empty, fixed_precision=empty
        )
    raw = np.zeros(plan.n_raw)
    if shape_value is not None:
        raw[0] = np.log(shape_value)
    for code, name in enumerate(readings.kinds):
        raw[plan.kind_position(code)] = np.log(sds[name])
    for group in kept:
        raw[plan.group_position(group.name)] = np.log(group_sd[group.name])
    for _ in range(MOST_DOUBLINGS if nodes is None and plan.nodes else 0):
        if not sharper_than_seen(plan, raw):
            break
        plan = replace(plan, nodes=2 * plan.nodes)
    # a prior on sds or theta belongs to a fit; here they are given
    plan = replace(plan, prior_precision=np.zeros(plan.n_raw))
    begin = starting_values(readings, {}, None, None)
    unknowns = begin.unknowns(plan.problem)
    free = raw[plan.free]
    placements = first_placements(plan.problem, plan.setting(plan.raw(free)).values)
    found = evaluate(plan, free, unknowns, placements, pieces_map(map), 1e-12)
    if not found.mode.converged:
        raise FitError("the effects' mode was not found at these parameters; check sds and coefficients")
    return found.value


def _ordered(coefficients: Any, readings: Readings) -> FloatArray:
    names = readings.coefficient_names
    if isinstance(coefficients, pd.Series):
        lacking = [name for name in names if name not in coefficients.index]
        if lacking:
            raise InputError(f"coefficients lack {lacking[0]!r}; the design's columns are expected")
        coefficients = coefficients[list(names)]
    values = as_numbers(coefficients, "coefficients")
    if values.shape != (len(names),):
        raise InputError(f"{values.size} coefficients; {len(names)} are expected: {', '.join(names)}")
    if not np.isfinite(values).all():
        raise InputError(f"coefficient {names[int(np.argmin(np.isfinite(values)))]!r} is missing or infinite")
    return values
