"""Which visits make up a course, which session of it each one is, and how the course ended."""

from __future__ import annotations

import numpy as np
import pandas as pd

from outcomes.log.schema import COURSE_GAP_WEEKS, COURSE_GOAL_WITHIN, COURSE_START_WITHIN
from outcomes.log.visit_order import within_date

__all__ = ["assign_courses"]


def assign_courses(
    visits: pd.DataFrame,
    *,
    gap_weeks: float = COURSE_GAP_WEEKS,
    goal_within: float = COURSE_GOAL_WITHIN,
    start_within: float = COURSE_START_WITHIN,
) -> pd.DataFrame:
    """Put visits into courses.

    Rows of one client, zone and `course` code are one course. Rows without a code follow the row before them
    (same client and zone, in order of date, within a date of visit code) where goal, gap and start are near
    enough; otherwise a new course begins.

    Parameters
    ----------
    visits : DataFrame (n rows)
        Canonical columns.
    gap_weeks : float
        Longest time between two sessions of a course, weeks.
    goal_within : float
        Largest difference between the goals of successive sessions, levels.
    start_within : float
        Largest difference between a start and the last result, levels: beyond it the hair has changed.

    Returns
    -------
    DataFrame (n rows, index of visits)
        `course` (int), `session` (1, 2, ...), `previous` (position of the session before in visits, -1 where
        there is none), `linked` (there is one, and the start is near its result), `end` of the course
        ("reached", "given_up" or "open"; the same in all its rows).
    """
    n = len(visits)
    if not n:
        empty = pd.DataFrame({"course": [], "session": [], "previous": [], "linked": [], "end": []})
        return empty.astype({"course": int, "session": int, "previous": int, "linked": bool, "end": object})
    # Zones of one visit are different hair: a code shared by roots and lengths is two chains of sessions.
    hair = visits.groupby(["client", "zone"], sort=False, dropna=False).ngroup().to_numpy()
    code = pd.factorize(visits["course"])[0]
    day = visits["date"].to_numpy().astype("datetime64[D]").astype(np.int64)
    start = visits["start_level"].to_numpy(dtype=np.float64)
    goal = visits["goal_level"].to_numpy(dtype=np.float64)
    achieved = visits["achieved_level"].to_numpy(dtype=np.float64)

    order = np.lexsort((start, within_date(visits), day, code, hair))
    before, here = order[:-1], order[1:]
    same_hair = (hair[here] == hair[before]) & (code[here] == code[before])
    near_start = np.abs(start[here] - achieved[before]) <= start_within
    near = near_start & (day[here] - day[before] <= 7.0 * gap_weeks)
    near = near & (np.abs(goal[here] - goal[before]) <= goal_within)
    follows = np.concatenate([[False], same_hair & ((code[here] >= 0) | near)])

    place = np.arange(n)
    opened = np.maximum.accumulate(np.where(follows, 0, place))
    course, session, previous = (np.empty(n, dtype=int) for _ in range(3))
    course[order] = np.cumsum(~follows) - 1
    session[order] = place - opened + 1
    previous[order] = np.where(follows, np.concatenate([[-1], before]), -1)
    linked = np.zeros(n, dtype=bool)
    linked[order] = follows & np.concatenate([[False], near_start])

    last = order[np.append(~follows[1:], True)]
    ends = _ends(visits, course, last, hair, day, 7.0 * gap_weeks)
    columns = {
        "course": course,
        "session": session,
        "previous": previous,
        "linked": linked,
        "end": ends[course],
    }
    return pd.DataFrame(columns, index=visits.index)


def _ends(
    visits: pd.DataFrame,
    course: np.ndarray,
    last: np.ndarray,
    hair: np.ndarray,
    day: np.ndarray,
    gap_days: float,
) -> np.ndarray:
    """How each course ended, (courses,): as the log says, or else by its last visit (positions `last`)."""
    ended = visits.iloc[last]
    reached = (ended["stop"] == "target").to_numpy(dtype=bool)
    # Either reading at the goal ends a course: the look that stopped the last visit, or its result.
    reached = reached | (ended["achieved_level"] >= ended["goal_level"]).to_numpy(dtype=bool)
    # No visit can join any more once the gap is over or the same hair was begun anew.
    newest = pd.Series(day).groupby(hair).transform("max").to_numpy()
    over = (day.max() - day[last] > gap_days) | (newest[last] > day[last])
    derived = np.where(reached, "reached", np.where(over, "given_up", "open")).astype(object)
    stated = visits["course_end"].astype(object).groupby(course).last().reindex(np.arange(len(last)))
    return np.where(stated.notna(), stated, derived)
