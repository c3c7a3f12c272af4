"""Log-likelihood of each category of the finest group, everything else as a fit found it.

Serves to compare two ways of reading the same rows: the sums over some categories under either way.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from outcomes.engine.build import build_problem
from outcomes.engine.given import collect
from outcomes.engine.joint import first_placements
from outcomes.engine.mode import placed_values
from outcomes.engine.readings import Values
from outcomes.engine.result import MixedFit
from outcomes.errors import InputError

FloatArray = npt.NDArray[np.float64]


def log_by_category(
    fit: MixedFit,
    finest: str,
    lower: npt.ArrayLike,
    upper: npt.ArrayLike,
    design: pd.DataFrame,
    groups: Mapping[str, Any],
    *,
    link: str = "identity",
    exposure: npt.ArrayLike | None = None,
    kind: Sequence[object] | npt.NDArray[Any] | None = None,
    alternatives: tuple[Any, ...] | None = None,
    additive: pd.DataFrame | None = None,
    nodes: int = 17,
) -> pd.Series:
    """Log-likelihood of the readings of each category of `finest`.

    That group's effects are integrated out; all other effects and parameters are the fit's estimates,
    a category that the fit doesn't know having effect 0.

    Parameters
    ----------
    fit : MixedFit
    finest : str
        One of `groups`.
    lower, upper, design, groups, link, exposure, kind, alternatives, additive, nodes : as in a fit
        As for `fit_interval_mixed`; theta and the shape are the fit's.

    Returns
    -------
    Series
        Index the labels of `finest`.

    Raises
    ------
    InputError
        As `fit_interval_mixed`; `finest` isn't among the groups; a kind of reading that the fit doesn't know.
    """
    shape = None if fit.shape is None else fit.shape.family
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
        additive_groups=None,
        check_rank=False,
    )
    problem = build_problem(readings, finest, 1, nodes)
    if problem.finest is None:
        raise InputError(f"group {finest!r} isn't among these groups")
    unknowns = np.zeros(problem.n_random + problem.n_fixed)
    unknowns[problem.n_random :] = [float(fit.coefficients[name]) for name in readings.coefficient_names]
    for group in problem.groups:
        known = fit.group_effects[group.name]["effect"]
        effects = known.reindex(pd.Index(group.labels)).fillna(0.0)
        unknowns[problem.position[group.name]] = effects.to_numpy(dtype=np.float64)
    values = Values(
        theta=1.0 if fit.shape is None else fit.shape.value,
        log_reading_sd=np.log([_sd(fit, name) for name in readings.kinds]),
        finest_sd=max(fit.group_sd[finest], 1e-6),
    )
    start = first_placements(problem, values)
    by_block = placed_values(problem, unknowns, values, start, nodes)
    present = problem.block_code >= 0
    by_code = np.zeros(problem.finest.size)
    by_code[problem.block_code[present]] = by_block[present]
    return pd.Series(by_code, index=pd.Index(problem.finest.labels, name=finest))


def _sd(fit: MixedFit, kind: object) -> float:
    known = fit.reading_sd
    if not isinstance(known, Mapping):
        return float(known)
    if kind not in known:
        raise InputError(f"readings of kind {kind!r}; the fit knows {', '.join(map(str, known))}")
    return float(known[kind])
