"""Time in the chair besides processing, and weeks from session to session, as a log had them.

A page needs `first`, `later` and `last` (shares on a grid of 5 minutes), `together` and `weeks` (shares of
whole weeks), each with the number behind it; see `tally.py`.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from outcomes.predictive.tally import Tally

__all__ = ["CHAIR_STEP", "WEEK_STEP", "VisitTimes"]

CHAIR_STEP = 5.0
"""Minutes."""

WEEK_STEP = 1.0


def _no_chair() -> Tally:
    return Tally.nothing(CHAIR_STEP)


def _no_weeks() -> Tally:
    return Tally.nothing(WEEK_STEP)


@dataclass(frozen=True, eq=False)
class VisitTimes:
    """What a course takes; a tally of nothing where fewer than 20 visits tell.

    Attributes
    ----------
    first, later : Tally
        Chair minutes besides the longest processing, of a visit that begins a course, and of one that goes
        on with it.
    last : Tally
        Minutes of the longest processing of visits that read their goal.
    together : bool
        Whether `first` and `later` are the same, the log having few of one kind.
    weeks : Tally
        Whole weeks from one session of a course to the next.
    """

    first: Tally = field(default_factory=_no_chair)
    later: Tally = field(default_factory=_no_chair)
    last: Tally = field(default_factory=_no_chair)
    together: bool = False
    weeks: Tally = field(default_factory=_no_weeks)

    @property
    def visits(self) -> int:
        """Visits that chair minutes rest on."""
        return self.first.count if self.together else self.first.count + self.later.count
