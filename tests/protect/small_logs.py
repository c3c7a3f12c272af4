"""Small logs drawn at random, sound by the rules of a log, and what tests of sharing do with them."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pandas as pd

from outcomes.log.read import VisitLog
from outcomes.log.schema import TABLES, columns
from outcomes.protect.anonymise import anonymise
from outcomes.protect.anonymised import Anonymised
from outcomes.readings.courses import assign_courses
from tests.models.logs import as_log

KEY, OTHER = bytes(range(32)), bytes(range(1, 33))
# what somebody who knows a client could know of a visit, written out once more
KNOWN = [
    *("salon", "date", "zone", "hair", "texture", "colour_history", "start_level", "goal_level", "product"),
]
WORDS = {
    "hair": ("natural", "coloured", "lightened"),
    "texture": ("fine", "coarse", None),
    "colour_history": ("none", "one", None),
    "product": ("P1", "P2", None),
    "heat": ("none", "low"),
    "stop": ("target", "time"),
}


def table(name: str, **values: object) -> pd.DataFrame:
    """A table with all canonical columns; those not given are empty."""
    n = max((len(v) for v in values.values()), default=0)  # type: ignore[arg-type]
    blank = {
        "text": np.full(n, np.nan, dtype=object),
        "word": np.full(n, np.nan, dtype=object),
        "number": np.full(n, np.nan),
        "date": np.full(n, np.datetime64("NaT"), dtype="datetime64[ns]"),
    }
    return pd.DataFrame({c.name: values.get(c.name, blank[c.kind]) for c in columns(name)})


def small_log(n: int, clients: int, seed: int, *, salons: int = 2, days: int = 500) -> VisitLog:
    """A log of n visits, some of two zones, with looks and wash readings; chair minutes number its rows."""
    rng = np.random.default_rng(seed)
    client = rng.integers(0, clients, n)
    day = np.datetime64("2023-03-01", "ns") + rng.integers(0, days, n).astype("timedelta64[D]")
    zone = rng.choice(np.array(["lengths", "roots", "all"], dtype=object), n)
    twice = np.flatnonzero(rng.random(n) < 0.1)
    row = np.concatenate([np.arange(n), twice])
    zone = np.concatenate([zone, np.where(zone[twice] == "ends", "roots", "ends")])
    m = len(row)
    start = rng.integers(4, 17, m) / 2
    goal = np.minimum(start + rng.integers(1, 9, m) / 2, 10.0)
    achieved = np.clip(start + rng.integers(-1, 9, m) / 2, 1.0, 10.0)
    words = {name: rng.choice(np.array(kinds, dtype=object), m) for name, kinds in WORDS.items()}
    words = {name: pd.Series(values).where(pd.notna(values), np.nan) for name, values in words.items()}
    visits = table(
        "visits",
        visit=np.array([f"V{i}" for i in row], dtype=object),
        client=np.array([f"C{i}" for i in client[row]], dtype=object),
        stylist=np.array([f"S{i}" for i in rng.integers(0, 3, m)], dtype=object),
        salon=np.array([f"L{i}" for i in rng.integers(0, salons, m)], dtype=object),
        date=day[row],
        zone=zone,
        start_level=start,
        goal_level=goal,
        achieved_level=achieved,
        peroxide_pct=np.full(m, 6.0),
        minutes=rng.integers(30, 60, m).astype(float),
        chair_minutes=np.arange(10.0, 10.0 + m),
        root_level=rng.integers(4, 12, m) / 2,
        root_tone=np.full(m, "ash", dtype=object),
        start_L=np.where(rng.random(m) < 0.3, rng.uniform(10, 80, m).round(1), np.nan),
        **words,
    )
    at = np.flatnonzero(rng.random(m) < 0.6)
    checks = table(
        "checks",
        visit=visits["visit"].to_numpy()[at],
        zone=visits["zone"].to_numpy()[at],
        minutes=np.full(len(at), 10.0),
        level=np.clip(start[at] + 0.5, 1, 10),
    )
    washed = np.flatnonzero(rng.random(m) < 0.5)
    washes = table(
        "washes",
        visit=visits["visit"].to_numpy()[washed],
        zone=np.where(np.arange(len(washed)) % 2, "roots", visits["zone"].to_numpy()[washed]).astype(object),
        washes=np.full(len(washed), 6.0),
        level=np.full(len(washed), 7.0),
    )
    return read_as(visits, checks, washes)


def read_as(visits: pd.DataFrame, checks: pd.DataFrame, washes: pd.DataFrame) -> VisitLog:
    """The tables as a log in which nothing was set aside."""
    tables = {"visits": visits, "checks": checks, "washes": washes}
    counts = {name: {"in": len(tables[name]), "used": len(tables[name]), "set_aside": 0} for name in TABLES}
    return replace(as_log(tables), counts=counts)


def part(log: VisitLog, wanted: pd.Series) -> VisitLog:
    """The visits that are wanted, with their looks and washes."""
    visits = log.visits[wanted].reset_index(drop=True)
    looks, washes = (
        t[t["visit"].isin(visits["visit"])].reset_index(drop=True) for t in (log.checks, log.washes)
    )
    return read_as(visits, looks, washes)


def shared(
    log: VisitLog, key: bytes = KEY, least: int = 3, period: str = "year"
) -> tuple[VisitLog, Anonymised]:
    """The log as it would be handed on, and the report."""
    return anonymise(log, assign_courses(log.visits), key, least, period)


def joined(log: VisitLog, released: VisitLog) -> pd.DataFrame:
    """Each row of visits that left beside what it was."""
    return released.visits.merge(log.visits, on="chair_minutes", suffixes=("", "_was"))
