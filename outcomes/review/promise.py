"""Sessions that were promised against those that it took, course by course."""

from __future__ import annotations

import numpy as np
import pandas as pd

__all__ = ["kept_promises", "promised_courses"]


def promised_courses(visits: pd.DataFrame, quarter: pd.Period) -> pd.DataFrame:
    """Courses of a quarter for which sessions were quoted.

    A course belongs to the quarter of its last visit, and its promise to the stylist who quoted first. It's
    settled once its goal was reached, or once it took more sessions than quoted, whether it ends well or not;
    before that nobody knows what it will take.

    Parameters
    ----------
    visits : DataFrame (n rows)
        Canonical columns and those of `assign_courses`, up to the end of the quarter.
    quarter : Period

    Returns
    -------
    DataFrame
        A row for each course: `course`, `stylist`, `client`, `quoted`, `sessions` (so far), `reached`,
        `settled`, `within` (settled in as many sessions as quoted or fewer).
    """
    ordered = visits.sort_values(["course", "session"], kind="stable")
    by_course = ordered.groupby("course", sort=True)
    last = by_course["date"].max().dt.to_period("Q")
    quoting = ordered[ordered["quoted_sessions"].notna()].drop_duplicates("course").set_index("course")
    of = quoting.index[quoting.index.isin(last.index[last == quarter])]
    quoted = quoting.loc[of, "quoted_sessions"].to_numpy(dtype=np.float64)
    sessions = by_course["session"].max().reindex(of).to_numpy(dtype=np.float64)
    reached = (by_course["end"].last().reindex(of) == "reached").to_numpy(dtype=bool)
    settled = reached | (sessions > quoted)
    return pd.DataFrame(
        {
            "course": of.to_numpy(),
            "stylist": quoting.loc[of, "stylist"].astype(str).to_numpy(dtype=object),
            "client": quoting.loc[of, "client"].astype(str).to_numpy(dtype=object),
            "quoted": quoted,
            "sessions": sessions,
            "reached": reached,
            "settled": settled,
            "within": settled & (sessions <= quoted),
        }
    )


def kept_promises(courses: pd.DataFrame, by: str) -> pd.DataFrame:
    """Promise against result, by stylist or by the number of sessions quoted.

    Parameters
    ----------
    courses : DataFrame
        As `promised_courses` gives them.
    by : {"stylist", "quoted"}

    Returns
    -------
    DataFrame
        `by`, `quoted` and `needed` (means over settled courses; of one that took more and isn't done yet,
        what it took so far), `within` (how many), `n` (settled), `unsettled`.
    """
    settled = courses[courses["settled"]]
    groups = settled.groupby(settled[by].rename("of"), sort=True)
    found = pd.DataFrame(
        {
            "quoted": groups["quoted"].mean(),
            "needed": groups["sessions"].mean(),
            "within": groups["within"].sum().astype(int),
            "n": groups.size(),
        }
    )
    open_ones = courses[~courses["settled"]].groupby(by).size()
    every = found.index.union(open_ones.index)
    found = found.reindex(every)
    found["unsettled"] = open_ones.reindex(every)
    found[["within", "n", "unsettled"]] = found[["within", "n", "unsettled"]].fillna(0).astype(int)
    if by == "quoted":
        found["quoted"] = every
        return found.reset_index(drop=True)[["quoted", "needed", "within", "n", "unsettled"]]
    return found.rename_axis(by).reset_index()
