"""What a log knows of one client: each visit's treatment and readings, for the distribution to be told."""

from __future__ import annotations

from difflib import get_close_matches
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from outcomes.errors import InputError
from outcomes.log.read import VisitLog
from outcomes.log.schema import COURSE_GOAL_WITHIN, COURSE_START_WITHIN
from outcomes.models.told import in_order
from outcomes.predictive.lift import LiftPredictive
from outcomes.predictive.past import LookedWay, Past, PastVisit
from outcomes.predictive.plans import stand_in
from outcomes.predictive.saved import Fitted, SalonModel, as_predictive
from outcomes.predictive.unknowns import MOST_PAST
from outcomes.readings.bounds import HALF_STEP
from outcomes.readings.intervals import copied_starts
from outcomes.readings.lift import LiftReadings, lift_readings, look_at

__all__ = ["past_of_client"]

_HABIT = 0.5  # share of results read anew from which on a stylist counts as reading anew


def past_of_client(
    model: SalonModel | LiftPredictive | Fitted, log: VisitLog, client: str, start: float, goal: float
) -> Past:
    """A client's visits as a log has them, the last 12 at most.

    What comes goes on with a zone's course where that is still open, its last result within 1.5 levels of the
    start, and its goal within 1 of the goal.

    Parameters
    ----------
    model : SalonModel, LiftPredictive or fitted LiftModel
    log : VisitLog
    client : str
        A code of the log.
    start, goal : float
        Today's levels.

    Returns
    -------
    Past

    Raises
    ------
    InputError
        A client whom the log doesn't know.
    """
    predictive = as_predictive(model)
    readings = _readings(predictive, log)
    visits = readings.visits
    order = in_order(visits)
    codes = visits["client"].astype(str).to_numpy(dtype=object)
    mine = order[codes[order] == client.strip()]
    if not len(mine):
        raise InputError(_unknown(client, sorted(set(codes.tolist()))))
    columns = ("previous", "linked", "start_level", "achieved_level")
    copied = copied_starts(*(visits[name].to_numpy() for name in columns))
    last = _goes_on(visits, mine, start, goal)
    continues = last is not None
    last = mine[-1] if last is None else last
    # zones are different hair: that of the last one comes last, the others before it
    zone = visits["zone"].astype(str).to_numpy(dtype=object)
    kept = mine[np.argsort(zone[mine] == zone[last], kind="stable")]
    kept = kept[-MOST_PAST:]
    before = np.append(-1, kept[:-1])
    achieved = float(visits["achieved_level"].iloc[last])
    return Past(
        tuple(
            # copied from another visit than the one before, a start counts as read anew
            _visit(predictive, readings, int(at), is_copied=bool(copied[at] >= 0 and copied[at] == of))
            for at, of in zip(kept, before, strict=True)
        ),
        continues=continues,
        is_copied=continues and start == achieved,
        counted=visits["visit"].iloc[kept].nunique(),
    )


def _goes_on(visits: pd.DataFrame, mine: npt.NDArray[np.intp], start: float, goal: float) -> int | None:
    """The zone's latest visit whose course today goes on with, if there is one; of several the nearest."""
    zone = visits["zone"].astype(str).to_numpy(dtype=object)
    newest = {zone[at]: int(at) for at in mine}
    near = [
        (abs(start - visits["achieved_level"].iloc[at]), -place, at)
        for place, at in enumerate(newest.values())
        if visits["end"].iloc[at] == "open"
        and abs(start - visits["achieved_level"].iloc[at]) <= COURSE_START_WITHIN
        and abs(goal - visits["goal_level"].iloc[at]) <= COURSE_GOAL_WITHIN
    ]
    return min(near)[2] if near else None


def _readings(predictive: LiftPredictive, log: VisitLog) -> LiftReadings:
    """The log's readings under the habits that the distribution knows of its stylists."""
    practice, codes = predictive.practice, predictive.stylists
    unseen = dict(zip(codes, practice.unseen.tolist(), strict=False))
    anew = {code: share > _HABIT for code, share in zip(codes, practice.reread.tolist(), strict=False)}
    return lift_readings(look_at(log).doubted(unseen), reread=anew, copied_kind="look")


def _visit(predictive: LiftPredictive, readings: LiftReadings, at: int, *, is_copied: bool) -> PastVisit:
    row = readings.visits.iloc[at]
    own = readings.visit == at
    written = own & (readings.origin != "implied") & ~(np.isinf(readings.lower) & np.isinf(readings.upper))
    lower, upper = readings.lower[written], readings.upper[written]
    exact = lower == upper
    design = predictive.design
    stylist = str(row["stylist"])
    return PastVisit(
        start=float(row["start_level"]),
        achieved=float(row["achieved_level"]),
        goal=float(row["goal_level"]),
        stop=str(row["stop"]),
        hair=stand_in(design, "hair", str(row["hair"])),
        heat=stand_in(design, "heat", str(row["heat"])),
        peroxide=float(row["peroxide_pct"]),
        rinse=float(row["minutes"]),
        is_later=bool(row["later_session"]),
        is_copied=is_copied,
        minutes=readings.minutes[written],
        is_look=(readings.kind[written] == "look").astype(bool),
        lower=np.where(exact, lower - HALF_STEP, lower),
        upper=np.where(exact, upper + HALF_STEP, upper),
        ways=_ways(readings, own & (readings.origin == "implied")),
        not_yet=float(row["goal_level"] - row["start_level"] - HALF_STEP),
        stylist=stylist if stylist in predictive.stylists else "new",
        given=_given(predictive, row),
    )


def _ways(readings: LiftReadings, implied: npt.NDArray[np.bool_]) -> tuple[LookedWay, ...]:
    """Ways of the looks that nobody wrote down; an open look says that there was none."""
    found = readings.frame().loc[implied, ["way", "minutes", "upper", "weight"]]
    return tuple(
        LookedWay(
            float(way["weight"].iloc[0]),
            way.loc[np.isfinite(way["upper"]), "minutes"].to_numpy(dtype=np.float64),
        )
        for _, way in found.groupby("way", sort=True)
    )


def _given(predictive: LiftPredictive, row: pd.Series[Any]) -> dict[str, str | float | None]:
    columns = {column for of in predictive.covariates.values() for column in of}
    given: dict[str, str | float | None] = {}
    for column in sorted(columns | {"product"}):
        value = row.get(column)
        if value is None or pd.isna(value):
            given[column] = None
        else:
            given[column] = value if isinstance(value, str) else float(value)
    return given


def _unknown(client: str, codes: list[str]) -> str:
    near = get_close_matches(client, codes, n=1, cutoff=0.6)
    hint = f"did you mean {near[0]}?" if near else "look it up in the log"
    known = f"expected one of its {len(codes):,} codes"
    return f"client: found {client!r}, whom this log doesn't know; {known}; {hint}"
