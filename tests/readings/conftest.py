"""Small logs with all canonical columns, from the few values that a test is about."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pandas as pd
import pytest

from outcomes.log.read import VisitLog
from outcomes.log.schema import TABLES, columns


def canonical(table: str, given: list[dict[str, Any]]) -> pd.DataFrame:
    """A frame of one table: text as object, numbers float, dates datetime64, all columns in order."""
    made: dict[str, Any] = {}
    for column in columns(table):
        values = [row.get(column.name) for row in given]
        if column.kind == "number":
            made[column.name] = np.array(values, dtype=float)
        elif column.kind == "date":
            made[column.name] = pd.to_datetime(pd.Series(values, dtype=object))
        else:
            made[column.name] = pd.Series(values, dtype=object).where(pd.notna(values), np.nan)
    return pd.DataFrame(made)


def build_log(visits: list[dict[str, Any]], checks: list[dict[str, Any]] | None = None) -> VisitLog:
    """A log of visits that each differ from a plain one in the values given."""
    plain = {
        "client": "C1",
        "stylist": "S1",
        "date": "2024-01-02",
        "zone": "lengths",
        "hair": "natural",
        "start_level": 3.0,
        "goal_level": 9.0,
        "achieved_level": 7.0,
        "peroxide_pct": 6.0,
        "heat": "none",
        "minutes": 45.0,
        "stop": "time",
    }
    rows = [{"visit": f"V{at}", **plain, **visit} for at, visit in enumerate(visits)]
    tables = {
        "visits": canonical("visits", rows),
        "checks": canonical("checks", [{"zone": "lengths", **check} for check in checks or []]),
        "washes": canonical("washes", []),
    }
    counts = {name: {"in": len(t), "used": len(t), "set_aside": 0} for name, t in tables.items()}
    told = pd.DataFrame(columns=["file", "row", "column", "found", "expected", "code", "message"])
    return VisitLog(
        **tables,
        given=frozenset((t, name) for t in TABLES for name in tables[t] if tables[t][name].notna().any()),
        faults=told,
        warnings=told,
        counts=counts,
        source="a small log",
        notes=(),
    )


@pytest.fixture
def make_log() -> Callable[..., VisitLog]:
    """`make_log(visits, checks)`: see `build_log`."""
    return build_log
