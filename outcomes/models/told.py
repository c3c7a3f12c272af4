"""A log's readings as they are followed: clients in order, each client's visits by date."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
import pandas as pd

from outcomes.predictive.told import ToldVisits, Unwritten
from outcomes.readings.bounds import HALF_STEP
from outcomes.readings.covariates import FADE, design_columns
from outcomes.readings.design import Design
from outcomes.readings.fade import FadeReadings, shade_names
from outcomes.readings.intervals import copied_starts
from outcomes.readings.lift import LiftReadings

__all__ = ["in_order", "told_fade", "told_visits"]

IntArray = npt.NDArray[np.intp]
BoolArray = npt.NDArray[np.bool_]

_HALF_TENTH = 0.05  # half the step of an exact difference of colours


def in_order(visits: pd.DataFrame) -> IntArray:
    """Rows of visits in the order in which they are followed: by client and date.

    Parameters
    ----------
    visits : DataFrame (V)
        Of `LiftReadings` or `FadeReadings`.

    Returns
    -------
    ndarray of int (V,)
    """
    client = visits["client"].astype(str).to_numpy(dtype=object)
    number = np.unique(client, return_inverse=True)[1]
    of_day = visits["session"].to_numpy() if "session" in visits else np.zeros(len(visits))
    return np.lexsort((np.arange(len(visits)), of_day, visits["date"].to_numpy(), number))


def told_visits(
    readings: LiftReadings, design: Design, stylists: Sequence[str], products: Sequence[str]
) -> ToldVisits:
    """Lay out readings for `outcomes.predictive.follow`.

    Readings that are always true are left out. A result that was copied as the next start is an interval like
    any other here: that its error is the next start's follows from the true level carried on.

    Parameters
    ----------
    readings : LiftReadings
    design : Design
    stylists, products : sequence of str
        Codes of the distribution.

    Returns
    -------
    ToldVisits

    Raises
    ------
    InputError
        As `Design.encode`.
    """
    order = in_order(readings.visits)
    place = np.empty(len(order), dtype=np.intp)
    place[order] = np.arange(len(order))
    visits = readings.visits
    columns = ("previous", "linked", "start_level", "achieved_level")
    copied = copied_starts(*(visits[name].to_numpy() for name in columns))[order]
    client = visits["client"].astype(str).to_numpy(dtype=object)[order]
    first_visit = np.flatnonzero(np.append(True, client[1:] != client[:-1]))
    later = visits["later_session"].to_numpy(dtype=bool)

    says = ~(np.isinf(readings.lower) & np.isinf(readings.upper))
    written = np.flatnonzero((readings.origin != "implied") & says)
    written = written[np.argsort(place[readings.visit[written]], kind="stable")]
    at = place[readings.visit[written]]
    counts = np.bincount(at, minlength=len(order))
    lower, upper = readings.lower[written], readings.upper[written]
    exact = lower == upper
    return ToldVisits(
        first_visit=first_visit,
        n_visits=np.diff(np.append(first_visit, len(client))),
        rows=design.encode(design_columns(visits), later)[order],
        start=visits["start_level"].to_numpy(dtype=np.float64)[order],
        rinse=visits["minutes"].to_numpy(dtype=np.float64)[order],
        stylist=_numbers(visits["stylist"].to_numpy(dtype=object)[order], stylists),
        product=_numbers(visits["product"].to_numpy(dtype=object)[order], products),
        previous=np.where(copied >= 0, place[copied], -1),
        first_reading=np.cumsum(counts) - counts,
        n_readings=counts,
        minutes=readings.minutes[written],
        is_look=(readings.kind[written] == "look").astype(bool),
        lower=np.where(exact, lower - HALF_STEP, lower),
        upper=np.where(exact, upper + HALF_STEP, upper),
        unwritten=_unwritten(readings, place),
    )


def told_fade(
    readings: FadeReadings, design: Design, stylists: Sequence[str], shades: Sequence[str]
) -> ToldVisits:
    """Lay out readings after washes for `outcomes.predictive.follow`: each visit and zone is followed.

    An exact difference of colours counts as known to the 0.1 that L, a and b are written to.

    Parameters
    ----------
    readings : FadeReadings
    design : Design
    stylists, shades : sequence of str
        Codes of the distribution.

    Returns
    -------
    ToldVisits

    Raises
    ------
    InputError
        As `Design.encode`.
    """
    visits = readings.visits
    order = in_order(visits)
    place = np.empty(len(order), dtype=np.intp)
    place[order] = np.arange(len(order))
    client = visits["client"].astype(str).to_numpy(dtype=object)[order]
    first_visit = np.flatnonzero(np.append(True, client[1:] != client[:-1]))
    in_turn = np.argsort(place[readings.visit], kind="stable")
    at = place[readings.visit[in_turn]]
    counts = np.bincount(at, minlength=len(order))
    first_reading = np.cumsum(counts) - counts
    washes = readings.washes[in_turn]
    lower, upper = readings.lower[in_turn], readings.upper[in_turn]
    exact = lower == upper
    shade = shade_names(visits["root_level"], visits["root_tone"]).where(visits["zone"] == "roots", None)
    if readings.measure == "level":
        start = visits["root_level"].to_numpy(dtype=np.float64)[order]
    else:
        start = np.zeros(len(order))
    return ToldVisits(
        first_visit=first_visit,
        n_visits=np.diff(np.append(first_visit, len(client))),
        rows=design.encode(design_columns(visits, FADE[readings.measure]))[order],
        start=start,
        rinse=np.maximum.reduceat(washes, first_reading),
        stylist=_numbers(visits["stylist"].to_numpy(dtype=object)[order], stylists),
        product=_numbers(shade.to_numpy(dtype=object)[order], shades),
        previous=np.full(len(order), -1, dtype=np.intp),
        first_reading=first_reading,
        n_readings=counts,
        minutes=washes,
        is_look=np.zeros(len(washes), dtype=bool),
        lower=np.where(exact, np.where(lower <= _HALF_TENTH, -np.inf, lower - _HALF_TENTH), lower),
        upper=np.where(exact, upper + _HALF_TENTH, upper),
    )


def _numbers(codes: npt.NDArray[np.object_], known: Sequence[str]) -> IntArray:
    """Place of each code among those known; -1 for none given, -2 for another."""
    place: dict[object, int] = {code: i for i, code in enumerate(known)}
    given = [-1 if code is None or code != code else place.get(str(code), -2) for code in codes]
    return np.array(given, dtype=np.intp)


def _unwritten(readings: LiftReadings, place: IntArray) -> Unwritten | None:
    rows = np.flatnonzero(readings.origin == "implied")
    if not len(rows):
        return None
    rows = rows[np.argsort(place[readings.visit[rows]], kind="stable")]
    at = place[readings.visit[rows]]
    counts = np.bincount(at, minlength=len(place))
    # where all is one way it's written as -1
    new = np.append(True, (np.diff(at) != 0) | (np.diff(readings.way[rows]) != 0))
    return Unwritten(
        first=np.cumsum(counts) - counts,
        count=counts,
        way=np.cumsum(new) - 1,
        minutes=readings.minutes[rows],
        upper=readings.upper[rows],
        weight=readings.weight[rows],
    )
