"""How is the team doing, fairly? A quarter of a team's visits against what was expected of such visits."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from contextlib import AbstractContextManager, nullcontext
from copy import copy
from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from outcomes.calibration.ahead import of_visits
from outcomes.calibration.calibrate import calibrate
from outcomes.errors import InputError
from outcomes.models.lift import LiftModel
from outcomes.models.stylists import StylistRates, stylist_rates
from outcomes.predictive.lift import LiftPredictive
from outcomes.review import measures
from outcomes.review.charts import NO_LIMITS, control_charts, funnel_limits
from outcomes.review.control_chart import LIMIT, WEIGHT, run_length
from outcomes.review.expected import ADJUSTED, Expected, expected_visits
from outcomes.review.findings import Comparison, chosen
from outcomes.review.funnel import Overdispersion
from outcomes.review.habits import HABITS, habits
from outcomes.review.honest import bands_of_model, bands_of_quarter
from outcomes.review.measures import Measured
from outcomes.review.narrowing import narrowing
from outcomes.review.promise import kept_promises, promised_courses
from outcomes.review.quality import row_counts, shares_written
from outcomes.review.quarter import as_quarter, quarter_visits
from outcomes.review.sentences import as_finding
from outcomes.review.shown import Shown
from outcomes.review.suppress import FEWEST_CLIENTS, suppressed
from outcomes.review.team_review import COVERAGE, TeamReview
from outcomes.review.trend import sessions_trend

if TYPE_CHECKING:
    from outcomes.log.read import VisitLog

__all__ = ["NEVER_RECORDED", "team_review"]

Doing = Callable[[str], AbstractContextManager[object]]

_RULED_OUT = 50.0  # in log-likelihood
NO_HABITS = pd.DataFrame(columns=["habit", "now", "narrower"])

NEVER_RECORDED = (
    "density and porosity of the hair",
    "what was done to the hair elsewhere or at home",
    "who helped with the visit",
    "why this client came to this stylist",
)
"""No log has it, and it may differ between stylists. (Common practice, no source.)"""


def team_review(
    log: VisitLog,
    quarter: str | pd.Period,
    *,
    predictive: LiftPredictive | None = None,
    salon: str = "",
    min_clients: int = FEWEST_CLIENTS,
    seed: int = 1,
    doing: Doing = nullcontext,
) -> TeamReview:
    """Review a team's quarter.

    Parameters
    ----------
    log : VisitLog
    quarter : str or Period
        As "2026Q3". The model is fitted to visits up to its end.
    predictive : LiftPredictive, optional
        By which visits are expected, as a saved model has it; without it, one is calibrated on the log.
    salon : str
        Reviews the stylists of one salon alone; what is expected rests on the whole log.
    min_clients : int
        Below it numbers are suppressed; 5 or more.
    seed : int
    doing : callable
        Makes a context from a few words, entered while that is worked on.

    Returns
    -------
    TeamReview

    Raises
    ------
    InputError
        No visit in the quarter, no such salon, fewer than 5 clients asked for, a model that knows later
        visits or doesn't know a category of the log; as `LiftModel.fit`.
    FitError
        As `LiftModel.fit`.

    References
    ----------
    Spiegelhalter, D. J. (2005). Funnel plots for comparing institutional performance. Stat. Med. 24,
    1185-1202. doi:10.1002/sim.1970. Goldstein, H. & Spiegelhalter, D. J. (1996). League tables and their
    limitations. J. R. Stat. Soc. A 159, 385-443. doi:10.2307/2983325: ranks carry their uncertainty.
    """
    period = as_quarter(quarter)
    quarter_visits(log.visits, period, salon)  # said before the fit
    suppressed({}, min_clients)
    if predictive is not None:
        _check_model(predictive, period)
    past = of_visits(log, log.visits["date"].dt.to_period("Q") <= period)
    with doing("fitting visits up to the end of the quarter"):
        model = LiftModel().fit(past)
    if predictive is None:
        with doing("checking the bands"):
            calibrated = calibrate(_of_one_shape(model), seed=seed)
        predictive = calibrated.predictive_
        honest = bands_of_quarter(model, calibrated, period, seed)
    else:
        honest = bands_of_model(predictive)
    with doing("expecting each visit"):
        expected = expected_visits(model, predictive, seed)
    visits = expected.visits.assign(stylist=expected.visits["stylist"].astype(str))
    mine = visits["salon"].astype(str) == salon if salon else pd.Series(True, index=visits.index)
    here = mine & (visits["quarter"] == period)
    now = visits[here]
    team = tuple(sorted(now["stylist"].unique()))
    with doing("comparing stylists"):
        rates = stylist_rates(model, period, team, seed=seed)
    unsettled = rates is not None and not rates.converged
    if unsettled:  # its draws would be anything
        rates = None
    with doing("comparing fade"):
        fade, said_of_fade = measures.fade(past, team, seed)

    shown = Shown.of(now, min_clients)
    courses = promised_courses(visits[mine], period)
    goals, beyond = measures.goals(now)
    parts = {
        "goal": goals,
        "promise": measures.promises(courses),
        "condition_loss": measures.condition(now),
    }
    notes = []
    if unsettled:
        notes.append(
            "Lift rates aren't compared: the fit that tells stylists apart in this quarter didn't settle. "
            "Looks written down, and more visits, help."
        )
    elif rates is None:
        notes.append("One stylist worked in the quarter, so there is nobody to compare lift rates with.")
    else:
        before = visits[mine & (visits["quarter"] == period - 1)]
        parts |= {"rate": measures.rates(rates, now), "change": measures.changes(rates, now, before)}
    if fade is not None:
        parts["fade"] = fade
    else:
        notes.append(f"Fade isn't compared: {said_of_fade}.")
    of_habits = habits(visits, here, frozenset(shown.stylists), COVERAGE)
    compared = _comparisons(parts, shown)
    target = float(now["chance"].mean())
    measure = said_of_fade if fade is not None else ""
    counts = row_counts(log)
    return TeamReview(
        quarter=str(period),
        salon=salon,
        min_clients=min_clients,
        stylists=shown.table(parts.values(), shares_written(now)),
        team=_team(now, parts, shown, rates, beyond) | {"fade_measure": measure or None},
        # no further than those shown: its end would tell who had most visits
        funnel=funnel_limits(max(map(shown.visits.__getitem__, shown.stylists)), target, beyond)
        if shown.stylists
        else NO_LIMITS,
        chart=control_charts(now, shown.stylists),
        run_length=run_length(WEIGHT, LIMIT),
        promises=shown.promises(kept_promises(courses, "quoted"), courses),
        trend=sessions_trend(visits[mine], period, min_clients, COVERAGE, seed),
        habits=_in_words(of_habits),
        narrowing=_narrowing(predictive, expected, here.to_numpy(), counts) if shown.team else NO_HABITS,
        rows=counts,
        calibration=honest,
        findings=tuple(as_finding(one, expected=target, measure=measure) for one in chosen(compared)),
        compared=len(compared),
        adjusted=tuple(words for words, column in ADJUSTED.items() if visits[column].notna().any()),
        not_recorded=(
            *(words for words, column in ADJUSTED.items() if not visits[column].notna().any()),
            *NEVER_RECORDED,
        ),
        notes=tuple(notes),
    )


def _of_one_shape(model: LiftModel) -> LiftModel:
    """The model without a shape that its visits rule out: clients left out needn't say so again."""
    kept = {family: fit for family, fit in model.fits_.items() if model.behind_[family] < _RULED_OUT}
    if len(kept) == len(model.fits_):
        return model
    alone = copy(model)
    alone.fits_ = kept
    return alone


def _check_model(predictive: LiftPredictive, quarter: pd.Period) -> None:
    """A model that knows what came after the quarter would expect it with hindsight."""
    until = predictive.basis.until
    if predictive.basis.starter:
        raise InputError("--model: found starter values, which rest on no log; fit one, or leave it out")
    if not until:
        raise InputError("--model: found a file that doesn't say up to when its visits go; fit it again")
    if pd.Period(until, freq="M") > quarter.asfreq("M", how="end"):
        raise InputError(
            f"--model: found visits up to {until} in it, and the quarter {quarter} ended before; fit one "
            "to the visits up to its end, or leave --model out"
        )


def _comparisons(parts: Mapping[str, Measured], shown: Shown) -> list[Comparison]:
    """All that the review compares and shows, but for what goes with habits.

    That stronger developer goes with more goals reached is true of any team and no finding about this one;
    said as one it would read as advice.
    """
    told = []
    for part in parts.values():
        hidden = shown.hides(part)
        told += [
            one
            for one in part.comparisons
            if (one.who not in hidden if one.who else shown.of_team(part) is not None)
        ]
    return told


def _team(
    now: pd.DataFrame,
    parts: Mapping[str, Measured],
    shown: Shown,
    rates: StylistRates | None,
    beyond: Overdispersion,
) -> dict[str, Any]:
    if not shown.team:
        names = ("visits", "clients", "goal", "promise", "condition_loss", "data_quality", "overdispersion")
        return {"stylists": len(shown.clients), "rate_sd": None, **dict.fromkeys(names)}
    of_all = {name: shown.of_team(parts[name]) for name in ("goal", "promise", "condition_loss")}
    sds = None if rates is None else {"stylist": rates.sd_stylist, "quarter": rates.sd_quarter}
    return {
        "visits": len(now),
        "clients": shown.everyone,
        "stylists": len(shown.clients),
        **of_all,
        "data_quality": shares_written(now.assign(stylist="")).iloc[0].to_dict(),
        "overdispersion": {"ratio": beyond.ratio, "between": beyond.between},
        "rate_sd": sds,
    }


def _in_words(of_habits: pd.DataFrame) -> pd.DataFrame:
    words = {habit.name: habit for habit in HABITS}
    return of_habits.assign(
        words=[words[name].words for name in of_habits["habit"]],
        step_words=[words[name].step_words for name in of_habits["habit"]],
    )


def _narrowing(
    predictive: LiftPredictive, expected: Expected, here: npt.NDArray[np.bool_], rows: Mapping[str, int]
) -> pd.DataFrame:
    at = np.zeros(len(here), dtype=bool)
    at[expected.place[here]] = True
    aside = rows["visits_set_aside"]
    return narrowing(predictive, expected.told, at, aside, rows["visits_in"] - aside)
