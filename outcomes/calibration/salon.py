"""All that a log tells, fitted and checked: lift, and every measure of fade that it has readings of."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import AbstractContextManager, nullcontext
from typing import TYPE_CHECKING

from outcomes.calibration.audit import audit, audit_fade, with_audit
from outcomes.calibration.calibrate import calibrate
from outcomes.errors import FitError, InputError
from outcomes.models.fade import FadeModel
from outcomes.models.lift import LiftModel
from outcomes.predictive.fade import FadePredictive
from outcomes.predictive.saved import SalonModel
from outcomes.readings.fade import MEASURES

if TYPE_CHECKING:
    from outcomes.log.read import VisitLog

__all__ = ["fit_fade", "fit_salon"]

Doing = Callable[[str], AbstractContextManager[object]]


def fit_salon(log: VisitLog, *, doing: Doing = nullcontext) -> SalonModel:
    """Fit, calibrate and audit all that a log tells.

    Parameters
    ----------
    log : VisitLog
    doing : callable
        Makes a context from a few words, entered while that is worked on.

    Returns
    -------
    SalonModel

    Raises
    ------
    InputError, FitError
        As `LiftModel.fit`. A measure of fade that can't be fitted is left out, with the reason.
    """
    with doing("fitting"):
        model = LiftModel().fit(log)
    with doing("checking the bands"):
        calibrated = calibrate(model)
        found = audit(model, calibrated, peers=False)
    with doing("fitting fade"):
        fade, left_out = fit_fade(log)
    return SalonModel(with_audit(calibrated.predictive_, found), fade, left_out)


def fit_fade(log: VisitLog, *, ahead: bool = False) -> tuple[dict[str, FadePredictive], dict[str, str]]:
    """Fit, calibrate and audit every measure of fade that a log has readings enough of.

    Parameters
    ----------
    log : VisitLog
    ahead : bool
        Whether the last quarter is told by those before, which takes another fit.

    Returns
    -------
    fade : dict of measure to FadePredictive
    left_out : dict of measure to str
        Why the others couldn't be fitted.
    """
    fade: dict[str, FadePredictive] = {}
    left_out: dict[str, str] = {}
    for measure in MEASURES:
        try:
            model = FadeModel(measure).fit(log)
        except (InputError, FitError) as cause:
            left_out[measure] = str(cause)
            continue
        calibrated = calibrate(model)
        found = audit_fade(model, calibrated, log if ahead else None)
        fade[measure] = with_audit(calibrated.predictive_, found)
    return fade, left_out
