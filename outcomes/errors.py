"""One family of errors; the command line turns each into one line and exit code 2."""

from __future__ import annotations

__all__ = ["FitError", "InputError", "ModelFileError", "NotFittedError", "OutcomesError"]


class OutcomesError(Exception):
    """Parent of every error that this package raises on purpose."""


class InputError(OutcomesError, ValueError):
    """A value, option or file that can't be used; says what was found, expected, and what to do."""


class ModelFileError(OutcomesError):
    """A model file that is damaged, cut short, or of a newer form than this package reads."""


class FitError(OutcomesError):
    """A fit that could not be carried out; says which part and what to look at."""


class NotFittedError(OutcomesError, ValueError, AttributeError):
    """An estimator was asked for results before `fit`."""
