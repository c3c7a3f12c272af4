"""What is known of a client's visits before: how each was worked, and what was read."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import numpy.typing as npt

__all__ = ["LookedWay", "Past", "PastVisit"]

FloatArray = npt.NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class LookedWay:
    """One of the ways in which looks that nobody wrote down may have been taken.

    Attributes
    ----------
    chance : float
        Adds up to 1 over the ways of a visit.
    minutes : ndarray (k,)
        Of its looks, none of which read the goal; empty: there was no look.
    """

    chance: float
    minutes: FloatArray


@dataclass(frozen=True, eq=False, kw_only=True)
class PastVisit:
    """One visit that was.

    Attributes
    ----------
    start, achieved, goal : float
        Levels as written before and after; aimed at.
    stop : str
        Why it was rinsed: target, time, condition, other.
    hair : str or None
        None: that of a later session of the course.
    heat : str
    peroxide : float
        %.
    rinse : float
        Minutes.
    is_later : bool
        Whether it was a later session of its course.
    is_copied : bool
        Whether its start is the result of the visit before, written once more.
    minutes : ndarray (r,)
        Of the readings, rising.
    is_look : ndarray of bool (r,)
        At wet hair, under product; else at rinsed hair.
    lower, upper : ndarray (r,)
        Bounds of the levels gained since the start as written; infinite where open.
    ways : tuple of LookedWay
        How looks that nobody wrote down may have been taken; empty: there were none.
    not_yet : float
        Levels gained that those looks were below.
    stopped_above : float or None
        Where a look at the goal stopped the visit, and the only reading is the result: levels gained that the
        look was above. Either the result is that look, or the stylist read it anew. None: it's known which.
    stylist : str or None
        A code of the log, "new", or None for whoever works the sessions to come.
    given : mapping of column to value
        Covariates that are known, and "product".
    """

    start: float
    achieved: float
    goal: float
    stop: str
    hair: str | None
    heat: str
    peroxide: float
    rinse: float
    is_later: bool
    is_copied: bool
    minutes: FloatArray
    is_look: npt.NDArray[np.bool_]
    lower: FloatArray
    upper: FloatArray
    ways: tuple[LookedWay, ...] = ()
    not_yet: float = np.inf
    stopped_above: float | None = None
    stylist: str | None = None
    given: Mapping[str, str | float | None] = field(default_factory=dict)

    def to_dict(self) -> dict[str, Any]:
        """What a salon would write down of it, as JSON values."""
        names = ("start", "achieved", "goal", "hair", "peroxide", "heat", "rinse", "stop", "stylist")
        called = {"rinse": "minutes"}
        return {called.get(name, name): getattr(self, name) for name in names}


@dataclass(frozen=True, eq=False)
class Past:
    """A client's visits before, in the order in which they were.

    Attributes
    ----------
    visits : tuple of PastVisit
        1 to `outcomes.predictive.unknowns.MOST_PAST`.
    continues : bool
        Whether the session to come goes on with the last visit's course.
    is_copied : bool
        Whether its start is that visit's result, and not read anew.
    counted : int
        Visits as people count them: a log has a row for each zone of one.
    """

    visits: tuple[PastVisit, ...]
    continues: bool
    is_copied: bool
    counted: int

    @property
    def of_course(self) -> int:
        """Visits of the course that goes on; 0 where a new one begins."""
        if not self.continues:
            return 0
        firsts = [i for i, visit in enumerate(self.visits) if not visit.is_later]
        return len(self.visits) - (firsts[-1] if firsts else 0)

    @property
    def given(self) -> Mapping[str, str | float | None]:
        """Covariates of the last visit that are known."""
        return self.visits[-1].given
