"""What a course takes: time in the chair, price, weeks from its first to its last session.

A page needs the chances of an answer about sessions, its band, support and minutes; `visit_times` of the
model; what was entered. All three totals are `until_done` of the same chances over three grids: chair
minutes, the price of a visit (or the chair's grid in money), and weeks, of which a course has one fewer than
sessions.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from outcomes.answers.amounts import price_for
from outcomes.answers.figures import Figures, read_figures
from outcomes.answers.sessions_answer import SessionsAnswer
from outcomes.answers.wording import count
from outcomes.errors import InputError
from outcomes.predictive.lift import LiftPredictive
from outcomes.predictive.saved import Fitted, SalonModel, as_predictive
from outcomes.predictive.tally import Tally, capped, raised, several, smallest, until_done
from outcomes.predictive.visit_times import VisitTimes

__all__ = ["CostsAnswer", "Total", "course_costs"]

FloatArray = npt.NDArray[np.float64]

CURRENCY = "currency of the price"


@dataclass(frozen=True)
class Total:
    """What a whole course adds up to.

    Attributes
    ----------
    unit : str
        Minutes, weeks, or the currency of the price.
    median : float or None
        None: beyond the sessions followed, or the plan is outside the log.
    low, high : float or None
        Ends of the band; None: beyond the sessions followed, so "or more".
    coverage : float
    entered : tuple of str
        Figures that were entered for it.
    rests_on : str
        Those, and what of the log stands behind the rest.
    """

    unit: str
    median: float | None
    low: float | None
    high: float | None
    coverage: float
    entered: tuple[str, ...]
    rests_on: str

    def to_dict(self) -> dict[str, Any]:
        """The total as JSON values."""
        ends = {name: getattr(self, name) for name in ("median", "low", "high")}
        return {
            "unit": self.unit,
            **{name: None if value is None else round(value, 2) for name, value in ends.items()},
            "coverage": self.coverage,
            "entered": list(self.entered),
            "rests_on": self.rests_on,
        }


@dataclass(frozen=True)
class CostsAnswer:
    """Totals of a course, those alone that the log or an entered figure tells.

    Attributes
    ----------
    totals : tuple of (str, Total)
        Under "chair_time", "cost" and "calendar", in this order.
    limit : int
        Sessions followed.
    is_outside : bool
        Whether the log doesn't cover the plan: then a wide band alone is shown.
    """

    totals: tuple[tuple[str, Total], ...]
    limit: int
    is_outside: bool

    def to_dict(self) -> dict[str, Any]:
        """The totals as JSON values."""
        return {name: total.to_dict() for name, total in self.totals}


def course_costs(
    model: SalonModel | LiftPredictive | Fitted,
    answer: SessionsAnswer,
    *,
    minutes_per_visit: float | str | None = None,
    price: float | str | None = None,
    hours: float | str | None = None,
    weeks_between: float | str | None = None,
) -> CostsAnswer:
    """Chair time, price and calendar of a course whose number of sessions was answered.

    Of a course that was begun, what is still to come: its next visit takes as long as later visits do. To
    what the log's visits took besides processing the plan's minutes are added for every session but the last,
    and for that as long as the log's visits that read their goal were processed, at most the plan's minutes.

    Parameters
    ----------
    model : SalonModel, LiftPredictive or fitted LiftModel
    answer : SessionsAnswer
    minutes_per_visit : float, optional
        Chair minutes of every visit, processing and all, in place of the log's and the plan's: not fewer
        than the plan's minutes.
    price : float, optional
        Of a visit.
    hours : float, optional
        The price is for so many hours in the chair instead, parts of them in proportion.
    weeks_between : float, optional
        From session to session, in place of the log's.

    Returns
    -------
    CostsAnswer

    Raises
    ------
    InputError
        A figure that can't be used; hours where neither the log nor a figure tells the chair time.
    """
    times = as_predictive(model).visit_times
    figures = read_figures(minutes_per_visit, price, hours, weeks_between)
    processing = answer.question.minutes
    each = figures.minutes_per_visit
    if each is not None and each < processing:
        raise InputError(
            f"minutes_per_visit: found {each:g}, fewer than the {processing:g} minutes of processing; "
            "expected the whole time in the chair; correct one of them"
        )
    totals = []
    first, later, entered, chair_basis = _chair(times, figures, answer.question.minutes)
    sums = several(later if answer.is_later else first, later, answer.limit) if later.is_known else []
    if not entered:
        more = answer.question.minutes / later.step
        sums = raised(sums, more, capped(times.last, math.floor(more + 0.5)))
    if sums:
        totals.append(("chair_time", _total(answer, sums, later.step, "minutes", entered, chair_basis)))
    if figures.price is not None and figures.hours is None:
        visits = several(Tally.always(figures.price), Tally.always(figures.price), answer.limit)
        basis = f"your price of {price_for(figures.price, None)}"
        totals.append(("cost", _total(answer, visits, figures.price, CURRENCY, ("price",), basis)))
    if figures.price is not None and figures.hours is not None:
        if not sums:
            raise InputError(
                "hours: found too few visits with chair_minutes in the log to tell hours by; expected a "
                "figure; give --minutes-per-visit too, or leave --hours out"
            )
        basis = f"your price of {price_for(figures.price, figures.hours)} and {chair_basis}"
        step = later.step * figures.price / (60.0 * figures.hours)
        totals.append(("cost", _total(answer, sums, step, CURRENCY, ("price", "hours", *entered), basis)))
    weeks, entered, basis = _weeks(times, figures)
    if weeks.is_known:
        nothing = Tally(weeks.step, np.ones(1), 0)  # from the first session to itself
        pauses = several(nothing, weeks, answer.limit)
        totals.append(("calendar", _total(answer, pauses, weeks.step, "weeks", entered, basis)))
    return CostsAnswer(tuple(totals), answer.limit, answer.support == "outside")


def _chair(times: VisitTimes, figures: Figures, minutes: float) -> tuple[Tally, Tally, tuple[str, ...], str]:
    if figures.minutes_per_visit is not None:
        each = Tally.always(figures.minutes_per_visit)
        return each, each, ("minutes_per_visit",), f"your {figures.minutes_per_visit:g} minutes a visit"
    logged = f"{count(times.visits, 'visit')} with chair minutes in the log"
    if not times.together:
        logged = (
            f"{times.first.count:,} first and {count(times.later.count, 'later visit')} with chair minutes"
        )
        logged += " in the log"
    processing = f"{minutes:g} minute{'' if minutes == 1 else 's'} of processing a session"
    last = "the last may end earlier"
    if times.last.is_known:
        last = f"fewer in the last, as in {count(times.last.count, 'visit')} that read the goal"
    return times.first, times.later, (), f"{logged}, and {processing} ({last})"


def _weeks(times: VisitTimes, figures: Figures) -> tuple[Tally, tuple[str, ...], str]:
    if figures.weeks_between is not None:
        weeks = figures.weeks_between
        said = f"your {weeks:g} week{'' if weeks == 1 else 's'} between sessions"
        return Tally.always(weeks), ("weeks_between",), said
    return times.weeks, (), f"{count(times.weeks.count, 'pause')} between sessions in the log"


def _total(
    answer: SessionsAnswer,
    sums: Sequence[FloatArray],
    step: float,
    unit: str,
    entered: tuple[str, ...],
    rests_on: str,
) -> Total:
    coverage = answer.band_coverage
    tail = (1.0 - coverage) / 2.0
    places: tuple[int | None, int | None, int | None]
    if answer.support == "outside":
        # the sessions' band is one wider at both ends: the fewest at their shortest, the most at longest
        low, high = smallest(sums[(answer.band_low or answer.limit) - 1], tail), answer.band_high
        places = None, low, None if high is None else smallest(sums[high - 1], 1.0 - tail)
    else:
        chances = until_done(answer.sessions, sums)
        places = smallest(chances, 0.5), smallest(chances, tail), smallest(chances, 1.0 - tail)
    median, shortest, longest = (None if place is None else place * step for place in places)
    return Total(unit, median, shortest, longest, coverage, entered, rests_on)
