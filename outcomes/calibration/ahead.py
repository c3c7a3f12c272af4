"""The last quarter, told by a model of the quarters before it."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, TypeVar

import pandas as pd
from sklearn.base import clone

from outcomes.calibration.calibrate import calibrate
from outcomes.calibration.checked import check_other_log
from outcomes.calibration.coverage import FEWEST
from outcomes.errors import FitError, InputError
from outcomes.models.rate import RateModel
from outcomes.predictive.distribution import Predictive

if TYPE_CHECKING:
    from outcomes.log.read import VisitLog

__all__ = ["of_visits", "quarter_ahead"]

P = TypeVar("P", bound=Predictive)

_PART = 1.0 / 3.0
"""Of the clients of the busiest quarter: with fewer a quarter has only begun."""


def quarter_ahead(log: VisitLog, model: RateModel[P], *, seed: int = 1) -> tuple[pd.DataFrame | None, str]:
    """Readings of the last quarter as a model of the visits before it expected them.

    The last quarter is the latest with 20 clients and a third of those of the busiest; later visits are left
    out.

    Parameters
    ----------
    log : VisitLog
    model : RateModel
        Whose settings the earlier model gets.
    seed : int

    Returns
    -------
    readings : DataFrame or None
        As `CheckedReadings.frame`, its one group the quarter.
    reason : str
        Why there are none; empty where there are.
    """
    told = log.visits[log.visits["visit"].isin(model.told_rows_["visit"])]
    clients = told.groupby(told["date"].dt.to_period("Q"))["client"].nunique()
    full = clients[clients >= max(FEWEST, _PART * clients.max())]
    if len(full) < 2:
        return None, f"a quarter ahead can't be checked: two quarters with {FEWEST} clients each are needed"
    last = full.index.max()
    if told.loc[told["date"].dt.to_period("Q") < last, "client"].nunique() < 2 * FEWEST:
        return None, f"a quarter ahead can't be checked: fewer than {2 * FEWEST} clients came before {last}"
    quarters = log.visits["date"].dt.to_period("Q")
    try:
        past = clone(model).fit(of_visits(log, quarters < last))
        predictive = calibrate(past, seed=seed).predictive_
        checked, _ = check_other_log(past, predictive, of_visits(log, quarters <= last), seed)
    except (InputError, FitError) as cause:
        return None, f"the quarter {last} can't be told by those before: {cause}"
    frame = checked.frame
    frame = frame[[name for name in frame.columns if not name.startswith("group ")]]
    date = checked.visits["date"].to_numpy()[frame["visit"].to_numpy()]
    here = pd.Series(date).dt.to_period("Q").to_numpy() == last
    return frame[here].assign(**{"group ahead": f"quarter {last}, told by those before"}), ""


def of_visits(log: VisitLog, kept: pd.Series) -> VisitLog:
    """The log of some visits alone, with what was read after them.

    Parameters
    ----------
    log : VisitLog
    kept : Series of bool (n,)
        In the order of its visits.

    Returns
    -------
    VisitLog
    """
    visits = log.visits[kept.to_numpy(dtype=bool)].reset_index(drop=True)
    washes = log.washes[log.washes["visit"].isin(visits["visit"])].reset_index(drop=True)
    return replace(log, visits=visits, washes=washes)
