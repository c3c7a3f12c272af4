"""A small problem with everything in it, for tests that look inside the engine."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

import numpy as np
import pandas as pd
import pytest
from threadpoolctl import threadpool_limits

from outcomes.engine import planning
from outcomes.engine.given import collect
from outcomes.engine.plan import Plan


def everything(
    *,
    link: str = "log",
    shape: str | None = "power",
    visits: int = 10,
    clients: int = 4,
    stylists: int = 2,
    seed: int = 5,
    alternatives: bool = True,
    additive: bool = True,
    missing: bool = True,
) -> dict[str, Any]:
    """Arguments of `fit_interval_mixed`: three readings a visit, open, exact and rounded, of two kinds.

    Some visits have no stylist and one reading has no visit; two visits have a look at one of two possible
    times, or, in one of them, two looks in its place; a start error is shared by a visit's readings; every
    third visit follows the one before it, whose error comes back with the opposite sign.
    """
    rng = np.random.default_rng(seed)
    client, stylist = rng.integers(0, clients, visits), rng.integers(0, stylists, visits)
    client[:clients], stylist[:stylists] = np.arange(clients), np.arange(stylists)
    x, spread = rng.normal(size=visits), rng.normal(0, 0.2, visits)
    start = rng.normal(0, 0.2, visits)
    spread += rng.normal(0, 0.3, clients)[client] + rng.normal(0, 0.2, stylists)[stylist]
    rows = []
    for v in range(visits):
        eta = 1.2 + 0.3 * x[v] + spread[v]
        rate = np.exp(eta) if link == "log" else 3.0 + eta
        for j, time in enumerate((0.3, 0.6, 1.0)):
            kind = "look" if j < 2 else "result"
            y = rate * (time**0.62 if shape else 1.0) + start[v] + 0.25 * rng.normal()
            rounded = np.round(2.0 * y) / 2.0
            low, high = rounded - 0.25, rounded + 0.25
            if (v + j) % 5 == 0:
                low = -np.inf
            elif (v + j) % 7 == 3:
                high = np.inf
            elif (v + j) % 6 == 2:
                low = high = y
            rows.append((v, time, kind, low, high, -1.0, 1.0))
    frame = pd.DataFrame(rows, columns=["visit", "time", "kind", "lower", "upper", "choice", "weight"])
    if alternatives:
        chosen = frame[(frame["time"] == 0.6) & frame["visit"].isin([1, 4])].index
        frame.loc[chosen, "choice"], frame.loc[chosen, "weight"] = frame.loc[chosen, "visit"], 0.6
        other = frame.loc[chosen].assign(time=0.45, weight=0.4)
        # an alternative may have bounds of its own
        other["upper"] = other["upper"] + 0.3
        # and may be two readings that hold together
        second = other[other["visit"] == 4].assign(time=0.25, lower=-np.inf)
        branch = np.r_[np.full(len(frame), -1.0), np.arange(len(other)), np.flatnonzero(other["visit"] == 4)]
        branch[chosen] = 10.0 + np.arange(len(chosen))
        frame = pd.concat([frame, other, second], ignore_index=True).assign(branch=branch)
    visit = frame["visit"].to_numpy()
    visit_code, stylist_code = visit.astype(float), stylist[visit].astype(float)
    if missing:
        stylist_code[visit == 5] = np.nan
        visit_code[np.flatnonzero((visit == 6) & (frame["time"] == 1.0))] = np.nan
    given: dict[str, Any] = {
        "lower": frame["lower"].to_numpy(),
        "upper": frame["upper"].to_numpy(),
        "design": pd.DataFrame({"mean": 1.0, "x": x[visit]}),
        "groups": {"visit": visit_code, "client": client[visit], "stylist": stylist_code},
        "link": link,
        "kind": frame["kind"].to_numpy(),
    }
    if shape is not None:
        given |= {"shape": shape, "exposure": frame["time"].to_numpy()}
    if alternatives:
        given["alternatives"] = tuple(frame[name].to_numpy() for name in ("choice", "weight", "branch"))
    if additive:
        given["additive"] = pd.DataFrame({"look": (frame["kind"] == "look").astype(float)})
        before = np.where((visit > 0) & (visit % 3 == 0), visit - 1.0, np.nan)
        codes = np.column_stack([visit.astype(float), before])
        weights = np.column_stack([np.ones(len(visit)), np.full(len(visit), -1.0)])
        given["additive_groups"] = {"start": (codes, weights)}
    return given


def plan_of(
    given: dict[str, Any],
    *,
    criterion: str = "integrated",
    nodes: int | None = 5,
    shards: int = 1,
    prior: Any = None,
    ties: dict[str, Any] | None = None,
    held: dict[str, Any] | None = None,
) -> Plan:
    """The plan that a fit of these arguments climbs with."""
    names = (
        "link",
        "exposure",
        "shape",
        "kind",
        "alternatives",
        "additive",
        "additive_groups",
    )
    options = {name: given.get(name) for name in names}
    options["link"] = given.get("link", "identity")
    readings = collect(given["lower"], given["upper"], given["design"], given["groups"], **options)
    return planning.make_plan(readings, prior, criterion, nodes, shards, ties or {}, held or {})


@pytest.fixture(autouse=True, scope="session")
def _one_thread() -> Iterator[None]:
    """As a fit does: on matrices this small, threads only wait for each other."""
    with threadpool_limits(1):
        yield


@pytest.fixture(scope="session")
def make_case() -> Callable[..., dict[str, Any]]:
    return everything


@pytest.fixture(scope="session")
def make_plan() -> Callable[..., Plan]:
    return plan_of
