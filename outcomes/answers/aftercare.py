"""Does the shampoo matter? Fade rates by shampoo, and what that means in washes until a refresh."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from outcomes.answers.fade_answer import FadeAnswer
from outcomes.answers.shades import fade
from outcomes.answers.wording import CAUTIONS
from outcomes.errors import InputError
from outcomes.predictive.fade import FadePredictive
from outcomes.predictive.saved import Fitted, SalonModel

__all__ = ["AftercareAnswer", "aftercare"]

_ZONES = {"level": "roots", "tone_left": "lengths"}


@dataclass(frozen=True)
class AftercareAnswer:
    """Fade by shampoo, at the roots and at the lengths, as far as the log tells.

    Attributes
    ----------
    answers : tuple of FadeAnswer
    left_out : tuple of str
        What can't be told, and why.
    """

    answers: tuple[FadeAnswer, ...]
    left_out: tuple[str, ...]

    def to_dict(self) -> dict[str, Any]:
        """The answer as JSON values."""
        return {
            **{_ZONES[one.measure]: one.to_dict() for one in self.answers},
            "left_out": list(self.left_out),
            "cautions": list(CAUTIONS),
        }


def aftercare(model: SalonModel | FadePredictive | Fitted, *, seed: int = 1) -> AftercareAnswer:
    """Rates of fade by shampoo as ratios, and washes until a level, or half the tone, is gone.

    Parameters
    ----------
    model : SalonModel, FadePredictive or fitted FadeModel
    seed : int
        The same seed gives the same answer.

    Returns
    -------
    AftercareAnswer

    Raises
    ------
    InputError
        A model that tells of neither roots nor lengths.
    """
    answers, left_out = [], []
    for measure in _ZONES:
        try:
            answers.append(fade(model, "shampoo", measure=measure, seed=seed))
        except InputError as cause:
            left_out.append(str(cause))
    if not answers:
        raise InputError(left_out[0])
    return AftercareAnswer(tuple(answers), tuple(left_out))
