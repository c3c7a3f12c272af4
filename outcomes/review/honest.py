"""How often the bands held that a review's expectations come from."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd

from outcomes.calibration.calibrate import Calibrated
from outcomes.calibration.coverage import FEWEST, inside_share, reading_weights
from outcomes.calibration.scores import effective_number, wilson
from outcomes.models.lift import LiftModel
from outcomes.predictive.lift import LiftPredictive
from outcomes.review.team_review import COVERAGE

__all__ = ["bands_of_model", "bands_of_quarter"]

_BAND = 0.8
_PARTICLES = 256


def bands_of_quarter(
    model: LiftModel, calibrated: Calibrated[LiftPredictive], quarter: pd.Period, seed: int
) -> dict[str, Any]:
    """Of the readings of one quarter, expected by fits that didn't know their clients.

    Parameters
    ----------
    model : LiftModel
    calibrated : Calibrated
        From `calibrate(model)`.
    quarter : Period
    seed : int

    Returns
    -------
    dict
        As `TeamReview.calibration`.
    """
    if calibrated.held_out is None:
        return _unknown("quarter", "; ".join(calibrated.notes))
    told = calibrated.held_out.told
    followed = calibrated.held_out.follow(_PARTICLES, seed)
    now = (model.told_rows_["date"].dt.to_period("Q") == quarter).to_numpy(dtype=bool)
    here = np.repeat(now, told.n_readings)
    of_visit = np.repeat(np.arange(len(told.n_visits)), told.n_visits)
    client = np.repeat(of_visit, told.n_readings)[here]
    clients = len(np.unique(client))
    if clients < FEWEST:
        return _unknown("quarter", f"readings of fewer than {FEWEST} clients are too few")
    weight = reading_weights(client)
    inside = inside_share(followed.low[here], followed.high[here], _BAND)
    holds = float(weight @ inside / weight.sum())
    by_client = np.bincount(np.unique(client, return_inverse=True)[1], weight)
    effective = effective_number(by_client)
    low, high = wilson(holds * effective, effective, COVERAGE)
    return {
        "coverage": _BAND,
        "holds": holds,
        "low": float(low),
        "high": float(high),
        "readings": int(here.sum()),
        "clients": clients,
        "of": "quarter",
        "note": "",
    }


def bands_of_model(predictive: LiftPredictive) -> dict[str, Any]:
    """Of all readings of the log that a saved model was fitted to.

    Parameters
    ----------
    predictive : LiftPredictive

    Returns
    -------
    dict
        As `TeamReview.calibration`; `low` and `high` end a band of 95 % there, as the model keeps it.
    """
    rows = predictive.audit.get("coverage", ())
    for row in rows:
        if (row["group"], row["reading"], row["nominal"]) == ("all", "first", _BAND):
            return {
                "coverage": _BAND,
                "holds": row["observed"],
                "low": row["low"],
                "high": row["high"],
                "readings": None,
                "clients": row["n"],
                "of": "model",
                "note": "",
            }
    return _unknown("model", "the model's bands weren't checked")


def _unknown(of: str, note: str) -> dict[str, Any]:
    nothing = dict.fromkeys(("holds", "low", "high", "readings", "clients"))
    return {"coverage": _BAND, **nothing, "of": of, "note": note}
