"""Effects on the lift rate as tables, in words that a colourist uses."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np
import pandas as pd

from outcomes.engine import MixedFit

__all__ = ["effects_table", "lift_effects"]

_COVERAGE = 0.95
_NORMAL = 1.959963984540054


def effects_table(fit: MixedFit) -> pd.DataFrame:
    """Ratios of lift rates with their 95 % intervals.

    Returns
    -------
    DataFrame
        `term`, `kind` ("ratio", or "value" for an exponent or levels), `estimate`, `low`, `high`,
        `coverage`, `meaning`.
    """
    rows = []
    names = [str(name) for name in fit.coefficients.index]
    errors = np.sqrt(np.diagonal(fit.joint_covariance.to_numpy(dtype=np.float64)))[: len(names)]
    for term, value, se in zip(names, fit.coefficients.to_numpy(dtype=np.float64), errors, strict=True):
        if term == "intercept":
            continue
        ends = (value, value - _NORMAL * se, value + _NORMAL * se)
        kind, meaning = _meaning(term)
        estimate, low, high = (float(np.exp(end)) for end in ends) if kind == "ratio" else ends
        rows.append((term.removeprefix("additive:"), kind, estimate, low, high, _COVERAGE, meaning))
    return pd.DataFrame(rows, columns=["term", "kind", "estimate", "low", "high", "coverage", "meaning"])


def _meaning(term: str) -> tuple[str, str]:
    if term == "additive:look":
        return "value", "levels that a look at wet hair reads above the rinsed result"
    if term == "peroxide":
        return "value", "exponent: twice the strength lifts 2 to this power times as fast"
    if term in ("mix_ratio", "applications"):
        return "value", f"exponent on {term.replace('_', ' ')}"
    if term == "later_session":
        return "ratio", "lift rate in a later session of a course against the first"
    if term.startswith("start_level"):
        return "ratio", "curve of the lift rate over the start level"
    column, _, rest = term.partition("[")
    against = {
        "heat": "no heat",
        "hair": "natural hair",
        "texture": "medium texture",
        "zone": "lengths",
        "wrap": "foil",
        "colour_history": "no older dark colour",
    }.get(column, "the reference")
    return "ratio", f"lift rate with {column.replace('_', ' ')} {rest.rstrip(']')} against {against}"


def lift_effects(fit: MixedFit) -> dict[str, Any]:
    """The same as the model file keeps it: `shape`, `terms`, `coverage`, `sd`."""
    terms = []
    for row in effects_table(fit).to_dict("records"):
        numbers = {str(row["kind"]): row["estimate"], "low": row["low"], "high": row["high"]}
        terms.append({"term": row["term"], **numbers, "meaning": row["meaning"]})
    reading: dict[object, float] = (
        dict(fit.reading_sd) if isinstance(fit.reading_sd, Mapping) else {"result": fit.reading_sd}
    )
    sd: dict[str, float | None] = {
        name: fit.group_sd.get(name) for name in ("stylist", "client", "product", "visit")
    }
    sd |= {"reading": reading.get("result"), "look": reading.get("look")}
    assert fit.shape is not None  # lift is always fitted with a shape
    return {"shape": fit.shape.to_dict(), "terms": terms, "coverage": _COVERAGE, "sd": sd}
