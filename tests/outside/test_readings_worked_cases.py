"""Nine visits worked by hand from the rules of what a reading says, by code apart from this package.

Source: log-probabilities of all readings of one visit, computed with mpmath at 30 digits from the written
rules (half a recording step h = 0.25, top of the scale 10, reference 45 minutes, power shape
g(t) = (t/45)^theta, start error and look offset 0, one reading sd tau for looks and results). A reading with
bounds lower and upper on levels gained has probability Phi((upper - R g)/tau) - Phi((lower - R g)/tau).
They're stated to six decimals, hence 1e-6.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
import pytest
from scipy.special import log_ndtr, logsumexp

from outcomes.engine import log_marginal
from outcomes.log.read import VisitLog
from outcomes.log.schema import columns
from outcomes.readings.lift import LiftReadings, lift_readings

INF = np.inf

# Start, goal, level read after the rinse; minutes, minutes at the unrecorded look before; stop; read anew;
# (minutes, lower, upper) of each reading; log-probability at R 5, theta .65, tau .2; at 4.3, .5, .4.
CASES: list[Any] = [
    (3, 9, 9, 50, 40, "target", False, [(40, -INF, 5.75), (50, 5.75, 6.25)], -3.731119, -6.758998),
    (6, 9, 9, 30, 15, "target", False, [(15, -INF, 2.75), (30, 2.75, 3.25)], -6.538344, -1.766331),
    (3, 9, 9.5, 45, 44, "target", False, [(44, -INF, 5.75), (45, 6.25, 6.75)], -22.306927, -14.425163),
    (4, 8, 7, 45, 30, "time", False, [(45, 2.75, 3.25)], -41.381902, -5.454004),
    (2, 9, 6.5, 50, 45, "condition", False, [(50, 4.25, 4.75)], -6.680511, -0.762136),
    (5, 9, 10, 40, 35, "target", False, [(35, -INF, 3.75), (40, 4.75, INF)], -6.316364, -3.976484),
    (3, 9, 3, 20, 10, "time", False, [(20, -INF, 0.25)], -94.757829, -24.215970),
    (
        *(3, 9, 8.5, 50, 40, "target", True),
        [(40, -INF, 5.75), (50, 5.75, INF), (50, 5.25, 5.75)],
        *(-4.123665, -10.095976),
    ),
]


def small_log(visits: list[dict[str, Any]], checks: list[dict[str, Any]]) -> VisitLog:
    """The given values in canonical columns, everything else missing."""
    tables = {
        "visits": pd.DataFrame(visits).reindex(columns=[column.name for column in columns("visits")]),
        "checks": pd.DataFrame(checks, columns=[column.name for column in columns("checks")]),
        "washes": pd.DataFrame(columns=[column.name for column in columns("washes")]),
    }
    none = pd.DataFrame()
    return VisitLog(**tables, given=frozenset(), faults=none, warnings=none, counts={}, source="", notes=())


def visit(code: str, start: float, goal: float, level: float, minutes: float, stop: str) -> dict[str, Any]:
    return {
        "visit": code,
        "client": "C" + code,
        "stylist": "S1",
        "date": pd.Timestamp("2024-01-02"),
        "zone": "lengths",
        "start_level": start,
        "goal_level": goal,
        "achieved_level": level,
        "minutes": minutes,
        "stop": stop,
    }


def log_probability(readings: LiftReadings, at: int, rate: float, theta: float, tau: float) -> float:
    """Log-probability of the readings of visit `at`, alternatives summed with their weights."""
    rows = readings.visit == at
    gained = rate * readings.exposure[rows] ** theta
    high = (readings.upper[rows] - gained) / tau
    low = (readings.lower[rows] - gained) / tau
    # The difference of two upper tails keeps its figures where both bounds lie far above.
    flip = low > 0
    high, low = np.where(flip, -low, high), np.where(flip, -high, low)
    log_p = log_ndtr(high) + np.log1p(-np.exp(log_ndtr(low) - log_ndtr(high)))
    code = readings.alternative[rows]
    total = log_p[code < 0].sum()
    for one in np.unique(code[code >= 0]):
        total += logsumexp(log_p[code == one], b=readings.weight[rows][code == one])
    return float(total)


def by_engine(readings: LiftReadings, at: int, rate: float, theta: float, tau: float) -> float:
    """The same by the engine's likelihood."""
    rows = readings.visit == at
    return log_marginal(
        readings.lower[rows],
        readings.upper[rows],
        pd.DataFrame({"log_rate": np.ones(int(rows.sum()))}),
        {},
        group_sd={},
        reading_sd=tau,
        coefficients=[np.log(rate)],
        shape_value=theta,
        link="log",
        exposure=readings.exposure[rows],
        shape="power",
        alternatives=(readings.alternative[rows], readings.weight[rows], readings.way[rows]),
    )


@pytest.mark.parametrize("case", CASES, ids=lambda case: f"{case[0]} to {case[2]}, {case[5]}")
def test_readings_of_one_visit(case: Any) -> None:
    start, goal, level, minutes, before, stop, anew, expected, likely, other = case
    row = {**visit("V", start, goal, level, minutes, stop), "look_every": minutes - before}
    # the cases were worked with implied looks for visits stopped at the goal alone
    readings = lift_readings(small_log([row], []), reread={"S1": anew}, implied="target")
    found = sorted(zip(readings.minutes, readings.lower, readings.upper, strict=True))
    assert found == sorted((float(at), float(low), float(high)) for at, low, high in expected)
    assert (readings.weight == 1).all()
    for probability in (log_probability, by_engine):
        assert probability(readings, 0, 5.0, 0.65, 0.2) == pytest.approx(likely, abs=1e-6)
        assert probability(readings, 0, 4.3, 0.5, 0.4) == pytest.approx(other, abs=1e-6)


def test_look_before_at_one_of_three_times() -> None:
    # Looks of another visit lie 5, 10, 10 and 15 minutes apart: weights 1/4, 1/2, 1/4.
    seen = [{"visit": "V0", "zone": "lengths", "minutes": at, "level": 6.0} for at in (15, 20, 30, 40, 55)]
    log = small_log([visit("V0", 3, 9, 7, 60, "time"), visit("V1", 3, 9, 9, 50, "target")], seen)
    readings = lift_readings(log, implied="target")
    implied = (readings.visit == 1) & (readings.alternative >= 0)
    assert readings.minutes[implied].tolist() == [35, 40, 45]
    assert readings.weight[implied].tolist() == [0.25, 0.5, 0.25]
    for probability in (log_probability, by_engine):
        assert probability(readings, 1, 5.0, 0.65, 0.2) == pytest.approx(-3.731141, abs=1e-6)
        assert probability(readings, 1, 4.3, 0.5, 0.4) == pytest.approx(-6.759029, abs=1e-6)
