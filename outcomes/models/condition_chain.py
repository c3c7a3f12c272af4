"""What sessions take off strand condition and what comes back until the next, learned to be predicted."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pandas as pd

from outcomes.engine import MixedFit, Prior, fit_interval_mixed
from outcomes.errors import FitError
from outcomes.models.condition_loss import FEWEST
from outcomes.models.starter import prior_row
from outcomes.predictive.condition_chain import BEFORE, LOSS_TERMS, STRONG, ConditionLosses
from outcomes.predictive.hazard import HAZARD_TERMS, hazard_features

__all__ = ["condition_losses"]

FloatArray = npt.NDArray[np.float64]

DRAWS, SEED = 64, 1
ENOUGH = 20
"""Pauses between sessions, with fewer of which no recovery is told."""

_WORST = 1.0
_HALF = 0.5  # point
_NODES, _TOLERANCE = 13, 0.1  # with 7 a log of few losses came to no end
_MOST = 2  # points that a pause may bring or take


def condition_losses(visits: pd.DataFrame) -> tuple[ConditionLosses, tuple[str, ...]]:
    """Learn what a new client's sessions will take off condition.

    The stylist is left out: what one costs more than another is part of how much sessions differ. A session
    doesn't mend hair, so a condition that was written better afterwards says that nothing was lost.

    Parameters
    ----------
    visits : DataFrame (n rows)
        Canonical columns, and `course`, `session`, `previous`, `later_session`.

    Returns
    -------
    ConditionLosses
        Without draws where fewer than 40 visits have both conditions, or the fit came to no end.
    notes : tuple of str
        What isn't told.
    """
    before, after = (_condition(visits, when) for when in ("before", "after"))
    has = ~np.isnan(before) & ~np.isnan(after)
    if has.sum() < FEWEST:
        if not has.any():
            return ConditionLosses(), ()
        return ConditionLosses(), (
            f"strand condition before and after is logged of {has.sum()} visits; it takes {FEWEST} to say "
            "how it goes on from session to session",
        )
    try:
        fit = _fit(visits[has], before[has], after[has])
    except FitError:
        fit = None
    if fit is None or not fit.converged:
        return ConditionLosses(), ("the fit of strand condition came to no end, so nothing is said of it",)
    recovery, pauses = _recovery(visits, before, after)
    session = fit.reading_sd
    assert isinstance(session, float)
    client = float(fit.group_sd.get("client", 0.0))
    found = ConditionLosses(_draws(fit), client, session, recovery, int(has.sum()), pauses)
    few = (
        f"fewer than {ENOUGH} pauses between sessions tell of strand condition: it is taken as unchanged then"
    )
    return found, () if pauses else (few,)


def _condition(visits: pd.DataFrame, when: str) -> FloatArray:
    name = f"condition_{when}"
    if name not in visits:
        return np.full(len(visits), np.nan)
    return visits[name].to_numpy(dtype=np.float64)


def _fit(told: pd.DataFrame, before: FloatArray, after: FloatArray) -> MixedFit:
    features = hazard_features(
        told["minutes"].to_numpy(dtype=np.float64),
        told["peroxide_pct"].to_numpy(dtype=np.float64),
        told["heat"].to_numpy(dtype=object),
        told["hair"].to_numpy(dtype=object),
        told["later_session"].to_numpy(dtype=bool),
    )
    design = pd.DataFrame(features, columns=list(HAZARD_TERMS)).assign(**{BEFORE: before - STRONG})
    clients = pd.Series(told["client"].astype(str).to_numpy(dtype=object))
    # every client once: that's the error of a visit
    groups = {} if clients.nunique() in (1, len(told)) else {"client": clients}
    prior = Prior(
        coefficients={name: prior_row(f"condition_loss:{name}") for name in LOSS_TERMS},
        log_group_sd={name: prior_row(f"condition_loss:log_sd:{name}") for name in groups},
        log_reading_sd={None: prior_row("condition_loss:log_sd:session")},
    )
    loss = before - after
    return fit_interval_mixed(
        np.where(loss <= 0, -np.inf, loss - _HALF),
        np.where(after == _WORST, np.inf, np.maximum(loss, 0.0) + _HALF),
        design,
        groups,
        prior=prior,
        nodes=_NODES,
        tolerance=_TOLERANCE,
    )


def _draws(fit: MixedFit) -> FloatArray:
    """Coefficients; of so few draws the middle is put right."""
    names = list(LOSS_TERMS)
    middle = fit.coefficients[names].to_numpy(dtype=np.float64)
    values, vectors = np.linalg.eigh(fit.covariance.loc[names, names].to_numpy(dtype=np.float64))
    noise = np.random.default_rng(SEED).standard_normal((DRAWS, len(names)))
    drawn = (noise - noise.mean(axis=0)) @ (vectors * np.sqrt(np.maximum(values, 0.0))).T
    return np.asarray(middle + drawn, dtype=np.float64)


def _recovery(visits: pd.DataFrame, before: FloatArray, after: FloatArray) -> tuple[FloatArray, int]:
    """Shares of each change until the next session, of hair that stands as before the course or lost."""
    previous = visits["previous"].to_numpy(dtype=np.intp)
    is_first = (visits["session"] == 1).to_numpy(dtype=bool)
    openings = pd.Series(before[is_first], index=visits["course"].to_numpy()[is_first])
    opening = openings.reindex(visits["course"].to_numpy()).to_numpy(dtype=np.float64)
    later = np.flatnonzero(previous >= 0)
    left = after[previous[later]]
    change, lost = before[later] - left, opening[later] - left
    told = ~np.isnan(change) & ~np.isnan(lost)
    place = np.clip(change[told], -_MOST, _MOST).astype(np.intp) + _MOST
    rows = [place[lost[told] <= 0], place[lost[told] > 0]]
    if len(place) < ENOUGH:
        return ConditionLosses().recovery, 0
    pooled = np.bincount(place, minlength=2 * _MOST + 1) / len(place)
    shares = [
        np.bincount(row, minlength=2 * _MOST + 1) / len(row) if len(row) >= ENOUGH else pooled for row in rows
    ]
    return np.array(shares), len(place)
