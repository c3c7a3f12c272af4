"""Mixed-effects regression of interval readings: the public face of the engine.

    reading = link_inverse(design beta + effects) * g(exposure; theta) + additive gamma + additive effects
              + sd[kind] * noise,     observed as an interval (or exactly)

Identity link, exact readings and no shape give the ordinary linear mixed model (REML with the
integrated criterion); identity link with intervals gives interval-censored regression and Tobit.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from numbers import Integral
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from outcomes.engine.blocks import Structure
from outcomes.engine.build import build_problem
from outcomes.engine.climb import ALONE_NODES, COMPANION_NODES, climb, sharper_than_seen, too_sharp
from outcomes.engine.given import as_numbers, collect
from outcomes.engine.joint import MapFunction, first_placements
from outcomes.engine.objective import evaluate
from outcomes.engine.pieces import calm_algebra, pieces_map
from outcomes.engine.placing import MOST_NODES
from outcomes.engine.plan import Plan, Tie
from outcomes.engine.priors import Prior
from outcomes.engine.problem import FloatArray, Group, Readings
from outcomes.engine.report import make_result
from outcomes.engine.result import MixedFit
from outcomes.engine.start import starting_values
from outcomes.errors import FitError, InputError

_CRITERIA = ("integrated", "ml")
_MOST_DOUBLINGS = 2


def fit_interval_mixed(
    lower: npt.ArrayLike,
    upper: npt.ArrayLike,
    design: pd.DataFrame,
    groups: Mapping[str, Any],
    *,
    link: str = "identity",
    exposure: npt.ArrayLike | None = None,
    shape: str | None = None,
    kind: Sequence[object] | npt.NDArray[Any] | None = None,
    alternatives: tuple[Any, ...] | None = None,
    additive: pd.DataFrame | None = None,
    additive_groups: Mapping[str, Any] | None = None,
    prior: Prior | None = None,
    criterion: str = "integrated",
    nodes: int | None = None,
    shards: int = 1,
    map: MapFunction = map,
    ties: Mapping[str, tuple[object, float]] | None = None,
    held_reading_sd: Mapping[object, float] | None = None,
    start: MixedFit | None = None,
    tolerance: float | None = None,
) -> MixedFit:
    """Fit by marginal likelihood.

    Parameters
    ----------
    lower, upper : array (n,)
        Bounds of each reading, in its units; -inf and inf are open, equal bounds are an exact reading.
    design : DataFrame (n, p)
        Columns of the linear predictor; no intercept is added.
    groups : mapping name -> codes (n,)
        Random effects of the linear predictor, crossed or nested; a missing code (None, NaN) has none. Any
        other code is a category, -1 too.
    link : {"identity", "log"}
    exposure : array (n,), optional
        In reference exposures, 0 or more; goes with `shape`.
    shape : {"power", "saturating"}, optional
        g with g(1) = 1; theta is estimated ("saturating": in reference exposures).
    kind : codes (n,), optional
        One reading sd is estimated for each kind.
    alternatives : (codes (n,), weights (n,)) or (codes, weights, branches (n,)), optional
        Rows of one code are alternatives of which one holds; their probabilities are summed with the
        weights. A missing or negative code: the row stands for itself. Where an alternative is several
        readings, its rows have one branch and one weight: they hold together.
    additive : DataFrame (n, q), optional
        Columns that act on the scale of the reading; their coefficients are "additive:NAME".
    additive_groups : mapping name -> codes or (codes, weights), optional
        Random effects on the scale of the reading. Codes (n,) or (n, k): several effects in one reading.
    prior : Prior, optional
        None: flat.
    criterion : {"integrated", "ml"}
        Coefficients integrated under their prior (for exact identity data: REML), or maximised.
    nodes : int, optional
        Quadrature nodes for the group with the most categories, 300 at most; 1 is Laplace throughout. The
        default climbs with 13 and ends with 21 (9 and 13 where an additive effect is integrated with it),
        and doubles them where the reading error turns out small beside the windows; exact identity data
        need none.
    shards : int
        Least number of pieces that the readings are cut into, by that group; `map` works on them.
    map : callable
        Like the built-in `map`; that of a pool spreads the pieces over threads or processes.
    ties : mapping additive group -> (kind, variance), optional
        That group's variance is the reading variance of `kind` plus `variance`.
    held_reading_sd : mapping kind -> sd, optional
        Reading sds that are known and not estimated.
    start : MixedFit, optional
        An earlier fit of a like problem to start from.
    tolerance : float, optional
        Newton decrement at which the climb ends: about twice what is still to be gained in log-likelihood,
        so that its root is a distance in standard errors. The default is far below what matters.

    Returns
    -------
    MixedFit

    Raises
    ------
    InputError
        Bounds missing or crossed, a rank-deficient design (columns are named), a group of one category,
        options that don't go together.
    FitError
        The likelihood can't be evaluated anywhere near the starting values.

    References
    ----------
    Laird, N. M. & Ware, J. H. (1982). Random-effects models for longitudinal data. Biometrics 38,
    963-974. doi:10.2307/2529876.
    Tierney, L. & Kadane, J. B. (1986). Accurate approximations for posterior moments and marginal
    densities. J. Am. Stat. Assoc. 81, 82-86. doi:10.1080/01621459.1986.10478240.
    Naylor, J. C. & Smith, A. F. M. (1982). Applications of a method for the efficient computation of
    posterior distributions. Appl. Stat. 31, 214-225. doi:10.2307/2347995.
    """
    if criterion not in _CRITERIA:
        raise InputError(f"criterion {criterion!r}; one of {', '.join(_CRITERIA)} is expected")
    _check_counts(nodes, shards)
    with calm_algebra(1):
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
        )
        _check_names(readings, prior or Prior(), ties or {}, held_reading_sd or {})
        begin = starting_values(readings, held_reading_sd or {}, start, prior, ties)
    run = pieces_map(map)
    zero: list[Group] = []
    while True:
        plan = _plan(readings, prior, criterion, nodes, shards, ties or {}, held_reading_sd or {})
        quiet = np.errstate(over="ignore", invalid="ignore", divide="ignore")
        with calm_algebra(plan.problem.n_rest + plan.problem.n_fixed), quiet:
            optimum = climb(
                *(plan, begin, run),
                few_first=nodes is None,
                near=start is not None,
                bounded=nodes is None,
                tolerance=tolerance,
            )
            for doubling in range(_MOST_DOUBLINGS if nodes is None and plan.nodes else 0):
                if optimum.vanishing or not too_sharp(plan, optimum):
                    break
                begin = begin.after(plan, optimum)
                plan = replace(plan, nodes=2 * plan.nodes)
                optimum = climb(
                    *(plan, begin, run),
                    few_first=False,
                    near=True,
                    bounded=doubling + 1 < _MOST_DOUBLINGS,
                    tolerance=tolerance,
                )
            if not optimum.vanishing:
                return make_result(plan, optimum, zero)
        # on the boundary: those effects are exactly 0, and the fit goes on without them
        zero += [group for group in readings.groups if group.name in optimum.vanishing]
        begin = begin.after(plan, optimum)
        kept = tuple(group for group in readings.groups if group.name not in optimum.vanishing)
        readings = replace(readings, groups=kept)


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
    _check_counts(nodes, shards)
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
    plan = _plan(readings, prior, "integrated", nodes, shards, {}, {})
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
    for _ in range(_MOST_DOUBLINGS if nodes is None and plan.nodes else 0):
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


def _check_counts(nodes: int | None, shards: int) -> None:
    for name, number, most in (("nodes", nodes, MOST_NODES), ("shards", shards, None)):
        if number is None:
            continue
        if isinstance(number, bool) or not (isinstance(number, Integral) and number >= 1):
            raise InputError(f"{name} {number}; a whole number of 1 or more is expected")
        if most is not None and number > most:
            raise InputError(
                f"{name} {number}; {most} at most are expected: the weights of more are too small to compute"
            )


def _check_names(
    readings: Readings,
    prior: Prior,
    ties: Mapping[str, tuple[object, float]],
    held: Mapping[object, float],
) -> None:
    groups = {group.name for group in readings.groups}
    for what, named, known in (
        ("coefficient", set(prior.coefficients), set(readings.coefficient_names)),
        ("group", set(prior.log_group_sd), groups),
        ("kind of reading", set(prior.log_reading_sd), set(readings.kinds)),
    ):
        if stray := named - known:
            listed = ", ".join(str(name) for name in sorted(known, key=str)) or "none"
            raise InputError(f"prior of the {what} {next(iter(stray))!r}, which isn't there; known: {listed}")
    for name, (kind, extra) in ties.items():
        if name not in groups or kind not in readings.kinds or extra < 0:
            raise InputError(f"the tie of {name!r} to {kind!r} names no group, no kind or a variance below 0")
    for kind, sd in held.items():
        if kind not in readings.kinds or not sd > 0:
            raise InputError(f"held_reading_sd {kind!r}: {sd}; a kind of these readings and an sd above 0")


def _plan(
    readings: Readings,
    prior: Prior | None,
    criterion: str,
    nodes: int | None,
    shards: int,
    ties: Mapping[str, tuple[object, float]],
    held: Mapping[object, float],
) -> Plan:
    count = 1 if readings.gaussian else ALONE_NODES[-1] if nodes is None else nodes
    inside = [group for group in readings.groups if readings.merged or not group.additive]
    finest = None
    if count > 1 and inside:
        finest = max(inside, key=lambda group: group.size).name
        if _several_codes(next(group for group in inside if group.name == finest)):
            finest = None
    problem = build_problem(readings, finest, shards, count if finest is not None else 1)
    if nodes is None and problem.companion is not None:
        count = COMPANION_NODES[-1]
    names = readings.coefficient_names
    mean, precision = np.zeros(len(names)), np.zeros(len(names))
    chosen = prior or Prior()
    for i, name in enumerate(names):
        if name in chosen.coefficients:
            centre, sd = chosen.coefficients[name]
            mean[i], precision[i] = centre, sd**-2.0
    plan = Plan(
        problem=problem,
        structure=Structure(problem),
        nodes=count if finest is not None else 0,
        fixed_mean=mean,
        fixed_precision=precision,
        held={},
        ties={},
        prior_mean=np.zeros(0),
        prior_precision=np.zeros(0),
        integrated=criterion == "integrated",
    )
    prior_mean, prior_precision = np.zeros(plan.n_raw), np.zeros(plan.n_raw)

    def place(position: int, normal: tuple[float, float]) -> None:
        prior_mean[position], prior_precision[position] = normal[0], normal[1] ** -2.0

    if plan.has_shape and chosen.log_shape is not None:
        place(0, chosen.log_shape)
    for code, kind in enumerate(readings.kinds):
        if kind in chosen.log_reading_sd:
            place(plan.kind_position(code), chosen.log_reading_sd[kind])
    for group in readings.groups:
        if group.name in chosen.log_group_sd and group.name not in ties:
            place(plan.group_position(group.name), chosen.log_group_sd[group.name])
    return replace(
        plan,
        held={plan.kind_position(readings.kinds.index(kind)): float(np.log(sd)) for kind, sd in held.items()},
        ties={
            plan.group_position(name): Tie(readings.kinds.index(kind), extra)
            for name, (kind, extra) in ties.items()
        },
        prior_mean=prior_mean,
        prior_precision=prior_precision,
    )


def _several_codes(group: Group) -> bool:
    return len(np.unique(group.unit)) < len(group.unit) or bool((group.weight != 1.0).any())
