"""When hair's condition ends a session: a discrete-time logistic hazard, one step for every five minutes.

Priors hold it together: most logs have few stops for condition, and some have none.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from outcomes.errors import FitError
from outcomes.models.starter import condition_prior
from outcomes.predictive.hazard import HAZARD_TERMS, PERIOD, ConditionHazard, hazard_features

__all__ = ["ConditionFit", "fit_condition_hazard"]

FloatArray = npt.NDArray[np.float64]

_STEPS, _CLOSE = 50, 1e-9


@dataclass(frozen=True, eq=False)
class ConditionFit:
    """A fitted hazard.

    Attributes
    ----------
    hazard : ConditionHazard
        At the mode of likelihood and prior.
    se : ndarray (7,)
        Standard errors, from the curvature there.
    notes : tuple of str
    """

    hazard: ConditionHazard
    se: FloatArray
    notes: tuple[str, ...]

    def frame(self) -> pd.DataFrame:
        """Tidy rows: term, value (log odds for five minutes), se."""
        return pd.DataFrame({"term": HAZARD_TERMS, "value": self.hazard.coefficients, "se": self.se})


def fit_condition_hazard(
    visits: pd.DataFrame,
    later_session: npt.ArrayLike,
    *,
    priors: dict[str, tuple[float, float]] | None = None,
) -> ConditionFit:
    """Fit the hazard of a stop for condition.

    Parameters
    ----------
    visits : DataFrame (n rows)
        Canonical columns: minutes, stop, peroxide_pct, heat, hair; condition_before and condition_after where
        logged.
    later_session : array_like of bool (n,)
    priors : dict of term to (mean, sd), optional
        On log odds; by default those of the trade (`outcomes.models.starter`).

    Returns
    -------
    ConditionFit

    Raises
    ------
    FitError
        No visits, or a search that didn't settle.

    Notes
    -----
    A visit of m minutes passes ceil(m / 5) periods; only the last can hold a stop.
    """
    if not len(visits):
        raise FitError("condition: found no visits; expected at least one; look at what was set aside")
    later = np.asarray(later_session, dtype=bool)
    prior = np.array([(priors or condition_prior())[term] for term in HAZARD_TERMS])
    stopped = (visits["stop"] == "condition").to_numpy(dtype=bool)
    features, event, weight = _periods(visits, later, stopped)
    coefficients, se = _mode(features, event, weight, prior[:, 0], prior[:, 1])
    drop = _drops(visits)
    first, after = (_mean(drop[rows]) for rows in (~later, later))
    hazard = ConditionHazard(coefficients, first, after, int(stopped.sum()), len(visits))
    return ConditionFit(hazard, se, tuple(_notes(int(stopped.sum()), drop)))


def _periods(
    visits: pd.DataFrame, later: npt.NDArray[np.bool_], stopped: npt.NDArray[np.bool_]
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Features (k, 7) of the different kinds of period, stops in each (k,), and how many there are (k,)."""
    minutes = visits["minutes"].to_numpy(dtype=np.float64)
    passed = np.maximum(np.ceil(minutes / PERIOD - 1e-9), 1).astype(np.intp)
    row = np.repeat(np.arange(len(visits)), passed)
    number = np.arange(len(row)) - np.repeat(np.cumsum(passed) - passed, passed) + 1
    frame = pd.DataFrame(
        {
            "end": PERIOD * number,
            "peroxide": visits["peroxide_pct"].to_numpy(dtype=np.float64)[row],
            "heat": visits["heat"].to_numpy(dtype=object)[row],
            "hair": visits["hair"].to_numpy(dtype=object)[row],
            "later": later[row],
            "event": stopped[row] & (number == passed[row]),
        }
    )
    # Logs repeat a few strengths and settings: alike periods are counted once, with their number.
    keys = ["end", "peroxide", "heat", "hair", "later"]
    alike = frame.groupby(keys, sort=True)["event"].agg(["sum", "size"]).reset_index()
    features = hazard_features(
        alike["end"].to_numpy(dtype=np.float64),
        alike["peroxide"].to_numpy(dtype=np.float64),
        alike["heat"].to_numpy(dtype=object),
        alike["hair"].to_numpy(dtype=object),
        alike["later"].to_numpy(dtype=bool),
    )
    return features, alike["sum"].to_numpy(dtype=np.float64), alike["size"].to_numpy(dtype=np.float64)


def _mode(
    features: FloatArray, event: FloatArray, size: FloatArray, mean: FloatArray, sd: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Mode of likelihood times prior by Newton's method with halved steps, and standard errors."""
    precision = np.diag(1.0 / sd**2)

    def value(at: FloatArray) -> float:
        odds = features @ at
        return float(event @ odds - size @ np.logaddexp(0.0, odds) - 0.5 * np.sum(((at - mean) / sd) ** 2))

    at, best = mean.copy(), value(mean)
    for _ in range(_STEPS):
        chance = 1.0 / (1.0 + np.exp(-(features @ at)))
        slope = features.T @ (event - size * chance) - precision @ (at - mean)
        curvature = features.T @ (features * (size * chance * (1.0 - chance))[:, None]) + precision
        step = np.linalg.solve(curvature, slope)
        if slope @ step < _CLOSE:
            return at, np.sqrt(np.diag(np.linalg.inv(curvature)))
        while (trial := value(at + step)) < best and slope @ step > 1e-14:
            step = step / 2.0
        at, best = at + step, trial
    raise FitError(
        "condition: the hazard's search didn't settle in 50 steps; look at minutes and peroxide_pct"
    )


def _drops(visits: pd.DataFrame) -> FloatArray:
    """Points of strand condition lost in each visit, NaN where not logged."""
    if not {"condition_before", "condition_after"} <= set(visits.columns):
        return np.full(len(visits), np.nan)
    before, after = (visits[f"condition_{when}"].to_numpy(dtype=np.float64) for when in ("before", "after"))
    return np.asarray(before - after, dtype=np.float64)


def _mean(drop: FloatArray) -> float | None:
    given = drop[~np.isnan(drop)]
    return float(given.mean()) if len(given) else None


def _notes(stops: int, drop: FloatArray) -> list[str]:
    notes = []
    if not stops:
        notes.append("No visit was stopped for condition: its small chance comes from the prior alone.")
    elif stops < 10:
        notes.append(
            f"The chance of a stop for condition rests on {stops} visit{'s' * (stops > 1)} and a prior."
        )
    if np.isnan(drop).all():
        notes.append("Condition before and after isn't logged, so nothing is said of what a session costs.")
    return notes
