"""What the page carries of fade: of each measure the place that the page asks about, and its draws."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from outcomes.answers.shades import shade_words
from outcomes.predictive.fade import FadePredictive
from outcomes.predictive.washes import encode_shade
from outcomes.show.page.arrays import PackedArrays

__all__ = ["LEVELS", "PLACES", "fade_meta"]

PLACES: Mapping[str, str] = {"level": "roots", "tone_left": "toned"}
"""By measure: where it's asked about, root shades by level and toners by the tone left."""

LEVELS = tuple(float(level) for level in np.arange(1.0, 10.25, 0.5))

_DRAWS = ("shape", "saturating", "sd_client", "sd_product", "sd_visit", "coefficients")
_BY_CODE = ("stylist", "product")

Value = str | float | None


def fade_meta(fade: FadePredictive, place: str, arrays: PackedArrays, *, coarse: bool) -> dict[str, Any]:
    """JSON values; draws are added to `arrays` under "MEASURE.".

    Parameters
    ----------
    fade : FadePredictive
    place : {"roots", "toned"}
        Among those read.
    arrays : PackedArrays
    coarse : bool
        Whether effects of single stylists and shades are kept in fewer bits.

    Returns
    -------
    dict
    """
    for name in (*_DRAWS, *_BY_CODE):
        arrays.add(f"{fade.measure}.{name}", fade.draws[name], coarse=coarse and name in _BY_CODE)
    columns = {
        column: list(dict.fromkeys([*(value for value, _ in listed), *_asked(fade, column)]))
        for column, listed in fade.covariates[place].items()
    }
    first = {column: values[0] for column, values in columns.items()}
    base = encode_shade(fade, first)
    return {
        "top": fade.top if np.isfinite(fade.top) else None,
        "base": base.tolist(),
        "columns": {
            column: {
                "values": values,
                "rows": [(encode_shade(fade, {**first, column: value}) - base).tolist() for value in values],
                "share": [share for _, share in fade.covariates[place][column]],
            }
            for column, values in columns.items()
        },
        "follow_up": {
            column: {word: one.missing for word, one in found.items()}
            for column, found in fade.follow_up.items()
        },
    }


def _asked(fade: FadePredictive, column: str) -> tuple[Value, ...]:
    """Values of a column that may be asked about besides those logged."""
    if column == "root_level":
        return LEVELS
    return shade_words(fade, column) if column in ("root_tone", "toner_tone", "shampoo") else ()
