"""The last quarter, told by a model of the quarters before it."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pandas as pd

from outcomes.calibration.calibrate import calibrate
from outcomes.calibration.checked import check_other_log
from outcomes.calibration.coverage import FEWEST
from outcomes.errors import FitError, InputError
from outcomes.models.lift import LiftModel

if TYPE_CHECKING:
    from outcomes.log.read import VisitLog

__all__ = ["quarter_ahead"]

_PART = 1.0 / 3.0
"""Of the clients of the busiest quarter: with fewer a quarter has only begun."""


def quarter_ahead(log: VisitLog, model: LiftModel, *, seed: int = 1) -> tuple[pd.DataFrame | None, str]:
    """Readings of the last quarter as a model of the visits before it expected them.

    The last quarter is the latest with 20 clients and a third of those of the busiest; later visits are left
    out.

    Parameters
    ----------
    log : VisitLog
    model : LiftModel
        Whose settings the earlier model gets.
    seed : int

    Returns
    -------
    readings : DataFrame or None
        As `CheckedReadings.frame`, its one group the quarter.
    reason : str
        Why there are none; empty where there are.
    """
    quarters = log.visits["date"].dt.to_period("Q")
    clients = log.visits.groupby(quarters)["client"].nunique()
    full = clients[clients >= max(FEWEST, _PART * clients.max())]
    if len(full) < 2:
        return None, f"a quarter ahead can't be checked: two quarters with {FEWEST} clients each are needed"
    last = full.index.max()
    before = (quarters < last).to_numpy(dtype=bool)
    if log.visits.loc[before, "client"].nunique() < 2 * FEWEST:
        return None, f"a quarter ahead can't be checked: fewer than {2 * FEWEST} clients came before {last}"
    until = (quarters <= last).to_numpy(dtype=bool)
    try:
        past = LiftModel(**model.get_params()).fit(
            replace(log, visits=log.visits[before].reset_index(drop=True))
        )
        predictive = calibrate(past, seed=seed).predictive_
        whole = replace(log, visits=log.visits[until].reset_index(drop=True))
        checked, _ = check_other_log(past, predictive, whole, seed)
    except (InputError, FitError) as cause:
        return None, f"the quarter {last} can't be told by those before: {cause}"
    frame = checked.frame
    frame = frame[[name for name in frame.columns if not name.startswith("group ")]]
    date = checked.visits["date"].to_numpy()[frame["visit"].to_numpy()]
    here = pd.Series(date).dt.to_period("Q").to_numpy() == last
    return frame[here].assign(**{"group ahead": f"quarter {last}, told by those before"}), ""
