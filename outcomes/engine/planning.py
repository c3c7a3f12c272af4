"""From checked readings to a plan: what is integrated how, and which outer parameters are free."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from numbers import Integral

import numpy as np

from outcomes.engine.blocks import Structure
from outcomes.engine.build import build_problem
from outcomes.engine.climb import ALONE_NODES, COMPANION_NODES
from outcomes.engine.placing import MOST_NODES
from outcomes.engine.plan import Plan, Tie
from outcomes.engine.priors import Prior
from outcomes.engine.problem import Group, Readings
from outcomes.errors import InputError

MOST_DOUBLINGS = 2
"""How often the standard number of nodes may be doubled."""

_MANY = 100
"""Units behind each effect, on average, from which on Laplace does: its error falls as one over their number,
and the work of quadrature grows with their square."""


def check_options(nodes: int | None, shards: int, prior: Prior | None, run: object) -> None:
    """Refuse options that can't be.

    Parameters
    ----------
    nodes : int or None
    shards : int
    prior : Prior or None
    run : callable
        What was given as `map`.

    Raises
    ------
    InputError
        Numbers that aren't whole or are below 1, more nodes than can be computed, another thing than a prior
        or a function.
    """
    for name, number in (("nodes", nodes), ("shards", shards)):
        if number is None and name == "nodes":
            continue
        if isinstance(number, bool) or not (isinstance(number, Integral) and number >= 1):
            raise InputError(f"{name} {number}; a whole number of 1 or more is expected")
    if nodes is not None and nodes > MOST_NODES:
        raise InputError(
            f"nodes {nodes}; {MOST_NODES} at most are expected: the weights of more are too small to compute"
        )
    if prior is not None and not isinstance(prior, Prior):
        raise InputError(f"prior {prior!r}; a Prior or None is expected")
    if not callable(run):
        raise InputError(f"map {run!r}; a function like the built-in map is expected")


def make_plan(
    readings: Readings,
    prior: Prior | None,
    criterion: str,
    nodes: int | None,
    shards: int,
    ties: Mapping[str, tuple[object, float]],
    held: Mapping[object, float],
) -> Plan:
    """Sort readings into a problem, choose what is integrated by quadrature, and place priors and ties.

    Parameters
    ----------
    readings : Readings
    prior : Prior or None
    criterion : {"integrated", "ml"}
    nodes : int or None
        None: the standard number.
    shards : int
        Least number of pieces.
    ties : mapping additive group -> (kind, variance)
    held : mapping kind -> sd
        Reading sds that aren't estimated.

    Returns
    -------
    Plan
    """
    count = 1 if readings.gaussian else ALONE_NODES[-1] if nodes is None else nodes
    inside = [group for group in readings.groups if readings.merged or not group.additive]
    finest = None
    if count > 1 and inside:
        finest = max(inside, key=lambda group: group.size).name
        group = next(group for group in inside if group.name == finest)
        if _several_codes(group) or (nodes is None and len(group.unit) > _MANY * group.size):
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
