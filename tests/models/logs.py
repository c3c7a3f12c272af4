"""Simulated tables as a log that was read."""

import pandas as pd

from outcomes.log.read import VisitLog


def as_log(tables: dict[str, pd.DataFrame]) -> VisitLog:
    """A log of these visits, checks and washes, all of them used."""
    empty = pd.DataFrame(columns=["file", "row", "column", "found", "expected", "code", "message"])
    return VisitLog(
        visits=tables["visits"].reset_index(drop=True),
        checks=tables["checks"].reset_index(drop=True),
        washes=tables["washes"].reset_index(drop=True),
        given=frozenset(),
        faults=empty,
        warnings=empty,
        counts={},
        source="simulated",
        notes=(),
    )
