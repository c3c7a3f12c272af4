"""From a fitted model to a forecast whose bands were checked on clients it hadn't seen."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Generic, TypeVar

import numpy as np
import numpy.typing as npt

from outcomes.calibration.choose import Comparison, compare
from outcomes.calibration.folds import Folds, HeldOut
from outcomes.calibration.recalibrate import ENOUGH, Recalibrated, recalibrate
from outcomes.engine import MixedFit
from outcomes.errors import FitError, InputError
from outcomes.models.rate import RateModel
from outcomes.predictive.distribution import Predictive
from outcomes.predictive.mixture import mix

__all__ = ["Calibrated", "calibrate"]

FloatArray = npt.NDArray[np.float64]
P = TypeVar("P", bound=Predictive)

PARTICLES = 256
"""For comparing shapes."""

_RACE = 4.0  # standard errors from which on, after some folds, the other folds needn't be fitted

_FEW = 500  # visits, below which the race is rarely decided early, and folds are cheap after a fine fit


@dataclass(frozen=True, eq=False)
class Calibrated(Generic[P]):
    """A model's forecast, checked out of sample.

    Attributes
    ----------
    predictive_ : Predictive
        What every answer comes from.
    held_out : HeldOut or None
        The folds' forecasts, recalibrated each without its own clients; None where the log was too small.
    comparison : Comparison or None
        Of the two shapes; None where one of them, or no fold, could be fitted.
    recalibrated : Recalibrated or None
    notes : tuple of str
        What couldn't be checked, and why.
    """

    predictive_: P
    held_out: HeldOut[P] | None
    comparison: Comparison | None
    recalibrated: Recalibrated | None
    notes: tuple[str, ...]


def calibrate(model: RateModel[P], *, seed: int = 1) -> Calibrated[P]:
    """Choose the shape and rescale spreads by what a model expected of clients it didn't know.

    Parameters
    ----------
    model : RateModel
        Fitted.
    seed : int
        Of folds and particles.

    Returns
    -------
    Calibrated

    Notes
    -----
    A visit whose looks weren't written down is scored jointly with "not at the goal at the looks before".
    Where that holds for all visits nothing is rescaled: when people looked is then a guess.
    """
    clients = model.predictive_.basis.clients
    if clients < ENOUGH:
        return _unchecked(
            model, f"bands aren't checked: that takes {ENOUGH} clients, and the log has {clients}"
        )
    folds = Folds.of(model)
    try:
        held, comparison = _choose(model, folds, seed)
    except (InputError, FitError) as cause:
        return _unchecked(
            model, f"bands can't be checked, a fit without a fifth of the clients fails: {cause}"
        )
    if not model.any_looks_:
        recalibrated = Recalibrated.unchanged(len(held.predictives), 0)
        reason = "no looks are written down, so when people looked is a guess"
    else:
        recalibrated = recalibrate(held, held.told.n_readings > 0, seed)
        reason = f"{recalibrated.clients} clients with readings are too few"
    checked = recalibrated.clients >= ENOUGH
    notes = () if checked else (f"bands aren't rescaled: {reason}; they rest on the fit alone",)
    held = held.each_with(recalibrated.by_fold)
    whole = _whole(model, comparison)
    predictive = replace(
        whole,
        recalibration=recalibrated.recalibration,
        basis=replace(whole.basis, calibrated=checked),
        notes=(*whole.notes, *notes),
    )
    return Calibrated(predictive, held, comparison, recalibrated, notes)


def _unchecked(model: RateModel[P], reason: str) -> Calibrated[P]:
    whole = model.predictive_
    return Calibrated(replace(whole, notes=(*whole.notes, reason)), None, None, None, (reason,))


def _choose(model: RateModel[P], folds: Folds[P], seed: int) -> tuple[HeldOut[P], Comparison | None]:
    """The folds' forecasts by the better shape, or by both; and how the shapes compare."""
    likelier, *others = sorted(model.fits_, key=lambda family: model.behind_[family])
    fits = {likelier: [folds.fit_without(number, likelier) for number in range(folds.count)]}
    if not others:
        return folds.held_out(fits[likelier]), None
    other = others[0]
    fits[other] = []
    if len(folds.told.n_readings) < _FEW:
        model.fine_fit(other)
    first = folds.told.first_visit
    scored = (folds.told.n_readings > 0)[first]
    comparison = None
    while len(fits[other]) < folds.count:
        done = len(fits[other]) + 1
        fits[other].append(folds.fit_without(done - 1, other))
        at = np.flatnonzero(scored & (folds.fold < done))
        comparison = compare({family: _scores(folds, fits[family][:done], seed)[at] for family in fits})
        if comparison.clients >= ENOUGH and comparison.difference > _RACE * comparison.se:
            break
    assert comparison is not None
    better = comparison.better
    fits[better] += [folds.fit_without(number, better) for number in range(len(fits[better]), folds.count)]
    held = folds.held_out(fits[better])
    if not comparison.is_decided:
        held = held.mixed(folds.held_out(fits[comparison.other]), comparison.share)
    return held, comparison


def _scores(folds: Folds[P], fits: Sequence[MixedFit], seed: int) -> FloatArray:
    """Log score of every client's first visit, (C,); of clients in the first so many folds."""
    found = folds.held_out(fits).follow(PARTICLES, seed, visits=1)
    return found.log_chance[folds.told.first_visit]


def _whole(model: RateModel[P], comparison: Comparison | None) -> P:
    """The forecast of the whole log's fit by the better shape, or by both."""
    if comparison is None:
        return model.predictive_
    whole = model.predictive_of(comparison.better)
    other = model.fits_[comparison.other]
    if not comparison.is_decided:
        whole = mix(whole, model.predictive_of(comparison.other), comparison.share)
        other = model.fine_fit(comparison.other)
    assert other.shape is not None
    beside = {
        **other.shape.to_dict(),
        "share": comparison.share,
        "score_difference": comparison.difference,
        "score_difference_se": comparison.se,
        "clients": comparison.clients,
    }
    return replace(whole, effects={**whole.effects, "other": beside})
