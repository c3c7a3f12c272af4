"""Mixed-effects regression of interval readings: the public face of the engine.

    reading = link_inverse(design beta + effects) * g(exposure; theta) + additive gamma + additive effects
              + sd[kind] * noise,     observed as an interval (or exactly)

Identity link, exact readings and no shape give the ordinary linear mixed model (REML with the
integrated criterion); identity link with intervals gives interval-censored regression and Tobit.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from outcomes.engine.climb import climb, too_sharp
from outcomes.engine.given import collect
from outcomes.engine.joint import MapFunction
from outcomes.engine.pieces import calm_algebra, pieces_map
from outcomes.engine.planning import MOST_DOUBLINGS, check_options, make_plan
from outcomes.engine.priors import Prior
from outcomes.engine.problem import Group, Readings
from outcomes.engine.report import make_result, outer_information
from outcomes.engine.result import MixedFit
from outcomes.engine.start import starting_values
from outcomes.errors import InputError

_CRITERIA = ("integrated", "ml")


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
    information: pd.DataFrame | None = None,
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
    information : DataFrame, optional
        Of the outer parameters, named as in `Joint.outer_names`: what the climb goes by and the result
        reports, instead of what is worked out at every step. For a fit of most of the readings of an earlier
        one. Passed over where it lacks a parameter.

    Returns
    -------
    MixedFit

    Raises
    ------
    InputError
        Bounds missing or crossed, a rank-deficient design (columns are named) unless every column has a
        prior, a group of one category,
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
    check_options(nodes, shards, prior, map)
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
            check_rank=not _all_held(design, prior),
        )
        _check_names(readings, prior or Prior(), ties or {}, held_reading_sd or {})
        begin = starting_values(readings, held_reading_sd or {}, start, prior, ties)
    run = pieces_map(map)
    zero: list[Group] = []
    while True:
        plan = make_plan(readings, prior, criterion, nodes, shards, ties or {}, held_reading_sd or {})
        known = outer_information(plan, information)
        quiet = np.errstate(over="ignore", invalid="ignore", divide="ignore")
        with calm_algebra(plan.problem.n_rest + plan.problem.n_fixed), quiet:
            optimum = climb(
                *(plan, begin, run),
                few_first=nodes is None,
                near=start is not None,
                bounded=nodes is None,
                tolerance=tolerance,
                known=known,
            )
            for doubling in range(MOST_DOUBLINGS if nodes is None and plan.nodes else 0):
                if optimum.vanishing or not too_sharp(plan, optimum):
                    break
                begin = begin.after(plan, optimum)
                plan = replace(plan, nodes=2 * plan.nodes)
                optimum = climb(
                    *(plan, begin, run),
                    few_first=False,
                    near=True,
                    bounded=doubling + 1 < MOST_DOUBLINGS,
                    tolerance=tolerance,
                    known=known,
                )
            if not optimum.vanishing:
                return make_result(plan, optimum, zero)
        # on the boundary: those effects are exactly 0, and the fit goes on without them
        zero += [group for group in readings.groups if group.name in optimum.vanishing]
        begin = begin.after(plan, optimum)
        kept = tuple(group for group in readings.groups if group.name not in optimum.vanishing)
        readings = replace(readings, groups=kept)


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


def _all_held(design: pd.DataFrame, prior: Prior | None) -> bool:
    """Whether priors hold every column, so that those which the data don't tell apart do no harm."""
    return prior is not None and set(map(str, design.columns)) <= set(prior.coefficients)
