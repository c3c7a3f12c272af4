"""What a question on the page may be made of."""

from __future__ import annotations

from typing import Any

import numpy as np

from outcomes.answers.inputs import MOST_WASHES
from outcomes.answers.question import LONGEST, SHORTEST, WEAKEST
from outcomes.answers.shades import shade_words
from outcomes.answers.wording import CAUTIONS
from outcomes.log.schema import PEROXIDE_LIMIT
from outcomes.predictive.fade import FadePredictive
from outcomes.predictive.lift import LiftPredictive
from outcomes.predictive.plans import HAIR, HEAT
from outcomes.predictive.saved import SalonModel
from outcomes.show.page.pack_fade import PLACES

__all__ = ["choices_of"]

_USUAL = (1.5, 3.0, 6.0, 9.0, 12.0)  # %, developer as it's sold: 5 to 40 volume


def choices_of(model: SalonModel) -> dict[str, Any]:
    """Words, codes and ends of ranges, and what every view shows.

    Parameters
    ----------
    model : SalonModel

    Returns
    -------
    dict
        JSON values; described where `openModel` is.
    """
    lift = model.lift
    looks = lift.look_gaps.usual()
    fade = {
        measure: model.fade[measure]
        for measure, place in PLACES.items()
        if measure in model.fade and place in model.fade[measure].covariates
    }
    return {
        "hair": list(HAIR),
        "heat": list(HEAT),
        "strengths": _strengths(lift),
        "peroxide": [WEAKEST, PEROXIDE_LIMIT],
        "minutes": [SHORTEST, LONGEST],
        "washes": [1, MOST_WASHES],
        "levels": [float(level) for level in np.arange(1.0, lift.top + lift.step / 2, lift.step)],
        "stylists": [] if lift.basis.starter and not lift.basis.stylists else list(lift.stylists),
        "roots": _read("root_tone", fade.get("level")),
        "toner": _read("toner_tone", fade.get("tone_left")),
        "leftOut": {
            measure: model.left_out.get(measure, "the log has no readings of it after washes")
            for measure in PLACES
            if measure not in fade
        },
        "chairTimes": len(lift.visit_times.later.shares) > 0,
        "condition": len(lift.condition_losses.coefficients) > 0,
        "lookMinutes": None if looks is None else list(looks),
        "looksAssumed": lift.look_gaps.assumed,
        "basis": lift.basis.to_dict(),
        "until": lift.basis.until,
        "cautions": list(CAUTIONS),
    }


def _strengths(lift: LiftPredictive) -> list[float]:
    low, _, _, high = lift.support.numbers.get("peroxide_pct", (_USUAL[0],) * 2 + (_USUAL[-1],) * 2)
    return [strength for strength in _USUAL if low <= strength <= high]


def _read(tone: str, fade: FadePredictive | None) -> dict[str, Any] | None:
    """What was read after washes."""
    if fade is None:
        return None
    found: dict[str, Any] = {
        "tones": list(shade_words(fade, tone)),
        "shampoos": list(shade_words(fade, "shampoo")),
        "longest": fade.support.numbers["washes"][3],
        "basis": fade.basis.to_dict(),
    }
    if tone == "root_tone":
        found["levels"] = [float(word) for word in shade_words(fade, "root_level")]
    return found
