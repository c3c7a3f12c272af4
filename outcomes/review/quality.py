"""How well visits were written down: what a log tells of its own keeping."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd

from outcomes.review.narrowing import heaped_to

if TYPE_CHECKING:
    from outcomes.log.read import VisitLog

__all__ = ["row_counts", "shares_written"]


def shares_written(visits: pd.DataFrame) -> pd.DataFrame:
    """What was left out, by stylist.

    Parameters
    ----------
    visits : DataFrame
        `stylist`, `n_looks`, `minutes`, `stop`, `quoted_sessions`, `condition_before`, `condition_after`.

    Returns
    -------
    DataFrame
        Index: stylist. `looks`, `rounded_to`, `no_stop`, `no_quote`, `no_condition`, as
        `TeamReview.stylists` has them.
    """
    told = pd.DataFrame(
        {
            "looks": visits["n_looks"].notna(),
            "no_stop": visits["stop"] == "other",
            "no_quote": visits["quoted_sessions"].isna(),
            "no_condition": visits["condition_before"].isna() | visits["condition_after"].isna(),
        }
    ).astype(float)
    groups = told.groupby(visits["stylist"])
    rounded = visits.groupby("stylist")["minutes"].agg(heaped_to)
    found = groups.mean().assign(rounded_to=rounded)
    return found[["looks", "rounded_to", "no_stop", "no_quote", "no_condition"]]


def row_counts(log: VisitLog) -> dict[str, int]:
    """Rows of visits of the whole log, those that couldn't be used, and how many of these lack a stop reason.

    Parameters
    ----------
    log : VisitLog

    Returns
    -------
    dict
        `visits_in`, `visits_set_aside`, `no_stop`.
    """
    counts = log.counts.get("visits", {"in": len(log.visits), "set_aside": 0})
    missing = (log.faults["column"] == "stop") & (log.faults["code"] == "missing")
    rows = log.faults.loc[missing, ["file", "row"]].drop_duplicates()
    return {
        "visits_in": int(counts["in"]),
        "visits_set_aside": int(counts["set_aside"]),
        "no_stop": len(rows),
    }
