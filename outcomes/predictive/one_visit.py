"""One visit of a new client, worked for given minutes: the level that is read when it's rinsed."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from outcomes.predictive.chair import product_effects, stylist_effects
from outcomes.predictive.distribution import rate
from outcomes.predictive.lift import LiftPredictive
from outcomes.predictive.normal import normal_quantile
from outcomes.predictive.rates import rate_tables
from outcomes.predictive.unknowns import draw_unknowns

__all__ = ["simulate_readings"]

FloatArray = npt.NDArray[np.float64]

READINGS = 4096
"""One of `outcomes.predictive.lattice.SIZES`."""


def simulate_readings(
    predictive: LiftPredictive, rows: FloatArray, start: FloatArray, minutes: FloatArray, seed: int
) -> FloatArray:
    """Readings after so many minutes, with one of the log's stylists and products.

    Parameters
    ----------
    predictive : LiftPredictive
    rows : ndarray (n, p)
        Encoded covariates.
    start : ndarray (n,)
        Level read before.
    minutes : ndarray (n,)
        Processing time, above 0.
    seed : int

    Returns
    -------
    ndarray (n, READINGS)
        Levels as read, in recording steps.
    """
    draws, recalibration, step = predictive.draws, predictive.recalibration, predictive.step
    tables = rate_tables(predictive, ())
    unknowns = draw_unknowns(predictive, tables, READINGS, 1, seed)
    draw = unknowns.draw
    _, people = stylist_effects(predictive, tables, unknowns, None)
    effects = people + product_effects(predictive, tables, unknowns)
    coefficients = draws["coefficients"]
    visit = draws["sd_visit"][draw] * unknowns.visit[0]
    client = draws["sd_client"][draw] * unknowns.client
    log_rate = rows @ coefficients[draw].T + effects[0] + client + visit
    if recalibration.changes_rates:
        centre = (rows @ coefficients.mean(axis=0))[:, None] + effects[1]
        log_rate = recalibration.rates(centre, log_rate, unknowns.mixing)
    theta, saturating = draws["shape"][draw], draws["saturating"][draw] > 0
    progress = np.array([predictive.progress(np.full(READINGS, time), theta, saturating) for time in minutes])
    true = start[:, None] + draws["sd_start"][draw] * unknowns.start
    level = np.minimum(true, predictive.top) + rate(log_rate) * progress
    error = recalibration.reading * draws["sd_result"][draw] * normal_quantile(unknowns.reading[0])
    read = np.floor((level + error) / step + 0.5) * step
    return np.asarray(np.clip(read, 1.0, predictive.top))
