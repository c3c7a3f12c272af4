"""A salon's own visit logs in, calibrated expectations out.

Public names are loaded when first asked for, so that the commands used at the chair start fast.
"""

from __future__ import annotations

from importlib import import_module
from typing import Any

__version__ = "0.1.0"

_PUBLIC = {
    "read_log": "outcomes.log.read",
    "VisitLog": "outcomes.log.read",
    "LiftModel": "outcomes.models.lift",
    "load_model": "outcomes.predictive.saved",
    "save_model": "outcomes.predictive.saved",
    "sessions": "outcomes.answers.sessions",
    "past_of_client": "outcomes.models.client",
    "ask": "outcomes.answers.question",
    "compare": "outcomes.answers.compare",
    "read_options": "outcomes.answers.compare",
    "today": "outcomes.answers.today",
    "course_costs": "outcomes.answers.costs",
    "course_condition": "outcomes.answers.condition",
    "lift_curve": "outcomes.answers.lift_curve",
    "fade_readings": "outcomes.readings.fade",
    "FadeModel": "outcomes.models.fade",
    "fade_curves": "outcomes.answers.fade_curve",
    "fade": "outcomes.answers.shades",
    "root_shade": "outcomes.answers.root_shade",
    "refresh": "outcomes.answers.refresh",
    "study_size": "outcomes.answers.study_size",
    "aftercare": "outcomes.answers.aftercare",
    "fit_salon": "outcomes.calibration.salon",
    "audit_fade": "outcomes.calibration.audit",
    "calibrate": "outcomes.calibration.calibrate",
    "audit": "outcomes.calibration.audit",
    "team_review": "outcomes.review.team",
    "TeamReview": "outcomes.review.team_review",
    "expected_visits": "outcomes.review.expected",
    "binomial_limits": "outcomes.review.funnel",
    "run_length": "outcomes.review.control_chart",
    "Recalibration": "outcomes.predictive.distribution",
}

__all__ = sorted([*_PUBLIC, "__version__"])


def __getattr__(name: str) -> Any:
    if name in _PUBLIC:
        return getattr(import_module(_PUBLIC[name]), name)
    raise AttributeError(f"module 'outcomes' has no attribute {name!r}")


def __dir__() -> list[str]:
    return __all__
