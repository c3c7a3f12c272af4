"""What a log's readings can't tell, and what was assumed about them, in sentences."""

from __future__ import annotations

import numpy as np
import pandas as pd

from outcomes.readings.intervals import COPIED_SHARE

__all__ = ["reading_notes"]


def reading_notes(
    visits: pd.DataFrame, rows: pd.DataFrame, implied: pd.DataFrame, n_looks: int
) -> tuple[str, ...]:
    """Sentences about the readings of a log.

    Parameters
    ----------
    visits : DataFrame (V rows)
        Canonical columns, and those of `assign_courses`.
    rows : DataFrame
        All readings: `visit`, `lower`, `upper`, `alternative`.
    implied : DataFrame
        From `implied_looks`: `visit`, `basis`.
    n_looks : int
        Looks that are written down.

    Returns
    -------
    tuple of str
    """
    notes: list[str] = []
    if not len(visits):
        return ("There are no visits.",)
    if not n_looks:
        rests = "the looks that rinses at the goal imply" if len(implied) else "results alone"
        notes.append(f"No looks are recorded: the shape rests on {rests}.")
    notes += _implied_notes(implied)
    later = visits[visits["linked"]]
    last_result = visits["achieved_level"].to_numpy()[later["previous"]]
    equal = int((later["start_level"].to_numpy() == last_result).sum())
    if equal < COPIED_SHARE * len(later):
        notes.append(f"Later starts count as read anew: {equal} of {len(later)} equal the last result.")
    stops, stylists = visits["stop"].unique(), visits["stylist"].unique()
    if len(stops) == 1:
        goal = "" if stops[0] == "target" else "No visit was stopped at its goal: e"
        notes.append(f"{goal or 'E'}very stop is `{stops[0]}`.")
    if len(stylists) == 1:
        notes.append("There is one stylist only: stylists can't be compared.")
    if visits["client"].nunique() == len(visits):
        notes.append("No client has two visits: clients and visits can't be told apart.")
    if _readings_of(visits, rows).max() < 2:
        notes.append("No visit has two readings: its own effect and the reading error can't be told apart.")
    return tuple(notes)


def _implied_notes(implied: pd.DataFrame) -> list[str]:
    told = {
        "declared": "at the interval declared in the visit",
        "seen": "averaged over the intervals of the log",
        "assumed": "averaged over 5, 10 and 15 minutes (common practice, no source)",
    }
    counts = implied.groupby("basis")["visit"].nunique()
    return [
        f"Looks below the goal that nobody wrote down, where there were any, are implied "
        f"(n = {counts[basis]}): {how}."
        for basis, how in told.items()
        if basis in counts.index
    ]


def _readings_of(visits: pd.DataFrame, rows: pd.DataFrame) -> np.ndarray:
    """Readings that say something, for each visit; alternatives are one reading."""
    says = (np.isfinite(rows["lower"]) | np.isfinite(rows["upper"])).to_numpy()
    alone = says & (rows["alternative"] < 0).to_numpy()
    counts = np.bincount(rows["visit"][alone], minlength=len(visits))
    first = ~rows.loc[rows["alternative"] >= 0, "alternative"].duplicated()
    return np.asarray(counts + np.bincount(rows["visit"][first.index[first]], minlength=len(visits)))
