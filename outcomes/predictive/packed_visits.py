"""Chair time, pauses and strand condition as plain JSON values, and back."""

from __future__ import annotations

from typing import Any

from outcomes.errors import InputError, ModelFileError
from outcomes.predictive.condition_chain import ConditionLosses
from outcomes.predictive.fields import Fields
from outcomes.predictive.tally import Tally
from outcomes.predictive.visit_times import VisitTimes

__all__ = ["pack_losses", "pack_times", "unpack_losses", "unpack_times"]


def pack_times(times: VisitTimes) -> dict[str, Any]:
    """Time in the chair besides processing, and weeks between sessions.

    Parameters
    ----------
    times : VisitTimes

    Returns
    -------
    dict
        Arrays are left as they are.
    """
    return {
        "besides_first": vars(times.first).copy(),
        "besides_later": vars(times.later).copy(),
        "last": vars(times.last).copy(),
        "together": times.together,
        "weeks": vars(times.weeks).copy(),
    }


def unpack_times(stored: Fields) -> VisitTimes:
    """What `pack_times` took apart.

    Parameters
    ----------
    stored : Fields

    Returns
    -------
    VisitTimes

    Raises
    ------
    ModelFileError
        A field that isn't as it should be; names it.
    """
    names = ("besides_first", "besides_later", "last", "weeks")
    first, later, last, weeks = (_tally(stored, name) for name in names)
    return VisitTimes(first, later, last, stored.flag("together"), weeks)


def pack_losses(losses: ConditionLosses) -> dict[str, Any]:
    """What sessions take off strand condition.

    Parameters
    ----------
    losses : ConditionLosses

    Returns
    -------
    dict
        Arrays are left as they are.
    """
    return vars(losses).copy()


def unpack_losses(stored: Fields) -> ConditionLosses:
    """What `pack_losses` took apart.

    Parameters
    ----------
    stored : Fields

    Returns
    -------
    ConditionLosses

    Raises
    ------
    ModelFileError
        A field that isn't as it should be; names it.
    """
    coefficients = stored.array("coefficients", 2)
    if not len(coefficients):
        return ConditionLosses()
    try:
        return ConditionLosses(
            coefficients,
            stored.number("sd_client"),
            stored.number("sd_session"),
            stored.array("recovery", 2),
            stored.count("visits"),
            stored.count("pauses"),
        )
    except InputError as cause:
        raise ModelFileError(f"field condition_losses.{cause}") from cause


def _tally(stored: Fields, name: str) -> Tally:
    of = stored.fields(name)
    try:
        return Tally(of.number("step"), of.array("shares", 1), of.count("count"))
    except InputError as cause:
        raise ModelFileError(f"field visit_times.{name}.{cause}") from cause
