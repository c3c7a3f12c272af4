"""A model as the page carries it: JSON values, arrays as text, and a checksum over both."""

from __future__ import annotations

import json
import random
import zlib
from typing import Any

from outcomes.answers.plan_support import FEW_COURSES, HARDLY, NO_COURSES, NOT_CONVERGED, RARE, STARTER
from outcomes.answers.sessions import MOST_SESSIONS
from outcomes.log.schema import COURSE_GOAL_WITHIN, COURSE_START_WITHIN
from outcomes.predictive import lattice
from outcomes.predictive.distribution import Predictive
from outcomes.predictive.saved import SalonModel
from outcomes.predictive.unknowns import MOST_PAST
from outcomes.show.page.arrays import PackedArrays
from outcomes.show.page.choices import choices_of
from outcomes.show.page.pack_fade import PLACES, fade_meta
from outcomes.show.page.pack_lift import lift_meta

__all__ = ["FORMAT", "VERSION", "page_model"]

FORMAT, VERSION = "outcomes-page-model", 1

LIMIT, SEED = 6, 1  # as `outcomes sessions` has them by default

_MOST = 900_000
"""Characters of arrays: of a team so large that it takes more, effects of single stylists and shades are kept
in 16 bits, to 1 part in 65,000 of their range."""


def page_model(model: SalonModel) -> dict[str, Any]:
    """What the page's scripts open (`openModel`).

    Parameters
    ----------
    model : SalonModel

    Returns
    -------
    dict
        `format`, `version`; `about`, a JSON text in ASCII; `arrays`, a text (`PackedArrays`); `checksum`,
        CRC-32 of the two texts one after the other, as eight hexadecimal digits.
    """
    about, arrays = _parts(model, coarse=False)
    if len(arrays) > _MOST:
        about, arrays = _parts(model, coarse=True)
    checksum = f"{zlib.crc32((about + arrays).encode('ascii')):08x}"
    return {"format": FORMAT, "version": VERSION, "about": about, "arrays": arrays, "checksum": checksum}


def _parts(model: SalonModel, *, coarse: bool) -> tuple[str, str]:
    arrays = PackedArrays()
    about = {
        "choices": choices_of(model),
        "lattice": _lattice(),
        "limit": LIMIT,
        "most_sessions": MOST_SESSIONS,
        "starter_note": STARTER,
        "rare_note": RARE,
        "few_courses": FEW_COURSES,
        "hardly_note": HARDLY,
        "no_courses": NO_COURSES,
        "most_past": MOST_PAST,
        "course_rule": {"start_within": COURSE_START_WITHIN, "goal_within": COURSE_GOAL_WITHIN},
        "lift": {
            **lift_meta(model.lift, arrays, coarse=coarse),
            **_common(model.lift),
            "converged": not any(note.startswith(NOT_CONVERGED) for note in model.lift.notes),
        },
        "fade": {
            measure: {
                **fade_meta(model.fade[measure], place, arrays, coarse=coarse),
                **_common(model.fade[measure]),
            }
            for measure, place in PLACES.items()
            if measure in model.fade and place in model.fade[measure].covariates
        },
        "arrays": arrays.index,
    }
    return json.dumps(about, allow_nan=False, separators=(",", ":")), arrays.text


def _common(of: Predictive) -> dict[str, Any]:
    """What lift and fade have alike."""
    recalibration, support = of.recalibration, of.support
    return {
        "reference": of.reference,
        "stylists": list(of.stylists),
        "stylist_visits": of.stylist_visits.tolist(),
        "products": list(of.products),
        "product_visits": of.product_visits.tolist(),
        "recalibration": {
            "spread": recalibration.spread,
            "reading": recalibration.reading,
            "df": recalibration.df,
            "later": recalibration.later,
        },
        "support": {
            "numbers": {column: list(ends) for column, ends in support.numbers.items()},
            "categories": {column: dict(counts) for column, counts in support.categories.items()},
            "sessions": {str(number): count for number, count in support.sessions.items()},
        },
        "basis": of.basis.to_dict(),
        "notes": list(of.notes),
    }


def _lattice() -> dict[str, Any]:
    source = random.Random(SEED)
    return {
        "generator": list(lattice.GENERATOR),
        "shift": [source.random() for _ in lattice.GENERATOR],
        "seed": SEED,
    }
