"""What was done to a log that may be handed on, and what that protects."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any

import numpy as np
import pandas as pd

from outcomes.log.read import VisitLog
from outcomes.log.schema import TABLES
from outcomes.protect.counting import combination_codes, distinct_behind
from outcomes.protect.generalise import QUASI_IDENTIFIERS, Generalised, cut_dates

__all__ = ["Anonymised", "Change", "report"]

_WORDS = ("salon", "texture", "colour_history", "product")


@dataclass(frozen=True)
class Change:
    """What became of one column in the rows that leave.

    Attributes
    ----------
    column : str
        Canonical name; `goal_level` means the way to it from the start.
    to : str
        What cells show now.
    cells, of : int
        How many changed, of how many with a value.
    mean, most : float
        Levels by which those cells moved; 0 where no level moved.
    """

    column: str
    to: str
    cells: int
    of: int
    mean: float = 0.0
    most: float = 0.0


@dataclass(frozen=True)
class Anonymised:
    """What was done to a log.

    Attributes
    ----------
    quasi_identifiers : tuple of str
        What somebody who knows a client could know of a visit; dates to the month.
    min_clients : int
        Asked for.
    clients_before, clients_after : int
        Different clients that share a combination, at the least.
    rows_below : int
        Rows of the log whose combination fewer clients than asked for shared.
    combinations : int
        Different ones that leave.
    same_result, same_result_rows : int
        Combinations all of whose rows show the same result, and their rows: of these, a combination tells
        the result.
    period : str
        `month`, `quarter` or `year`: dates are the first day of it.
    changes : tuple of Change
    rows : dict
        For each table `in` (used in the log), `released`, `left_out`, and `set_aside` (in the log, not used).
    kept_out : tuple of str
        Columns that no reading of the log takes, and why.
    """

    quasi_identifiers: tuple[str, ...]
    min_clients: int
    clients_before: int
    clients_after: int
    rows_below: int
    combinations: int
    same_result: int
    same_result_rows: int
    period: str
    changes: tuple[Change, ...]
    rows: dict[str, dict[str, int]]
    kept_out: tuple[str, ...]

    def to_dict(self) -> dict[str, Any]:
        """The report as JSON values."""
        return asdict(self)


def report(log: VisitLog, released: VisitLog, done: Generalised, min_clients: int, period: str) -> Anonymised:
    """Compare a log with what leaves of it.

    Parameters
    ----------
    log, released : VisitLog
    done : Generalised
    min_clients : int
    period : str
        As asked for.

    Returns
    -------
    Anonymised
    """
    visits = log.visits.assign(date=cut_dates(log.visits["date"], "month"))
    before = distinct_behind(visits, QUASI_IDENTIFIERS, "client")
    after = distinct_behind(released.visits, QUASI_IDENTIFIERS, "client")
    results = distinct_behind(released.visits, QUASI_IDENTIFIERS, "achieved_level")
    combination = combination_codes(released.visits, QUASI_IDENTIFIERS)
    rows = {}
    for table in TABLES:
        there, left = len(getattr(log, table)), len(getattr(released, table))
        aside = log.counts.get(table, {}).get("set_aside", 0)
        rows[table] = {"in": there, "released": left, "left_out": there - left, "set_aside": aside}
    return Anonymised(
        quasi_identifiers=QUASI_IDENTIFIERS,
        min_clients=min_clients,
        clients_before=int(before.min()),
        clients_after=int(after.min()),
        rows_below=int((before < min_clients).sum()),
        combinations=len(np.unique(combination)),
        same_result=len(np.unique(combination[results == 1])),
        same_result_rows=int((results == 1).sum()),
        period=period,
        changes=_changes(log.visits[done.kept], done, period),
        rows=rows,
        kept_out=tuple(note for note in log.notes if "kept out" in note),
    )


def _changes(visits: pd.DataFrame, done: Generalised, period: str) -> tuple[Change, ...]:
    """What became of the rows that are kept, the columns that all estimates need first."""
    shown, moved = done.shown[done.kept], done.moved[done.kept]
    n = len(visits)
    found = [
        Change("date", f"first day of its {period}", int((shown["date"] != visits["date"]).sum()), n),
        Change("zone", "all", int((shown["zone"] != visits["zone"]).sum()), n),
        _moved("start_level", "another level, with the result and all looks", moved),
    ]
    wanted = (shown["goal_level"] - shown["start_level"]) - (visits["goal_level"] - visits["start_level"])
    found.append(_moved("goal_level", "more or fewer levels above the start", wanted.to_numpy()))
    for name in _WORDS:
        has = visits[name].notna()
        found.append(Change(name, "empty", int((has & shown[name].isna()).sum()), int(has.sum())))
    for name in ("start_L", "achieved_L"):
        measured = visits[name].notna().to_numpy(dtype=bool)
        emptied = int((measured & (moved != 0)).sum())
        found.append(Change(name, "empty, as its levels moved", emptied, int(measured.sum())))
    return tuple(change for change in found if change.of)


def _moved(column: str, to: str, by: np.ndarray) -> Change:
    away = np.abs(by)[by != 0]
    mean, most = (float(away.mean()), float(away.max())) if len(away) else (0.0, 0.0)
    return Change(column, to, len(away), len(by), round(mean, 2), most)
