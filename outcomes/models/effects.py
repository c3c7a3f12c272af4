"""Effects on a rate as tables, in words that a colourist uses."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np
import pandas as pd

from outcomes.engine import MixedFit
from outcomes.readings.design import Design
from outcomes.readings.given import NOT_GIVEN
from outcomes.readings.terms import Categories

__all__ = ["effects_table", "rate_effects"]

_COVERAGE = 0.95
_NORMAL = 1.959963984540054

# how a category of a column is said
_SAID = {
    "heat": {"none": "no heat", "low": "low heat", "medium": "medium heat", "high": "high heat"},
    "colour_history": {"one": "one layer of older dark colour", "several": "several such layers"},
    "zone": {"all": "all of the hair"},
    "wrap": {"open": "no wrap"},
    "shampoo": {
        "plain": "plain shampoo",
        "sulphate_free": "sulphate-free shampoo",
        "pigmented": "pigmented shampoo",
    },
}


# numbers whose effect is a ratio for each unit
_PER_UNIT = {
    "root_level": "a root shade one level lighter",
    "condition": "strand condition one point stronger",
}


def effects_table(fit: MixedFit, design: Design) -> pd.DataFrame:
    """Effects on the rate with their 95 % intervals.

    Parameters
    ----------
    fit : MixedFit
    design : Design
        Says what each category is read against.

    Returns
    -------
    DataFrame
        `term`; `ratio` of rates, or else `value` (an exponent, or levels; the other is NaN); `low`,
        `high`, `coverage`; `meaning` in plain words. Rows of values that weren't given come last.
    """
    against = {term.column: term.reference for term in design.terms if isinstance(term, Categories)}
    rows = []
    names = [str(name) for name in fit.coefficients.index]
    errors = np.sqrt(np.diagonal(fit.joint_covariance.to_numpy(dtype=np.float64)))[: len(names)]
    for term, value, se in zip(names, fit.coefficients.to_numpy(dtype=np.float64), errors, strict=True):
        if term == "intercept":
            continue
        ends = np.array([value, value - _NORMAL * se, value + _NORMAL * se])
        is_ratio, meaning = _meaning(term, against)
        estimate, low, high = map(float, np.exp(ends) if is_ratio else ends)
        ratio, plain = (estimate, np.nan) if is_ratio else (np.nan, estimate)
        rows.append((term.removeprefix("additive:"), ratio, plain, low, high, _COVERAGE, meaning))
    rows.sort(key=lambda row: row[0].endswith(f"[{NOT_GIVEN}]"))
    return pd.DataFrame(rows, columns=["term", "ratio", "value", "low", "high", "coverage", "meaning"])


def _meaning(term: str, against: Mapping[str, str]) -> tuple[bool, str]:
    """Whether a term is a ratio, and what it says."""
    column, _, rest = term.partition("[")
    category = rest.rstrip("]")
    if category == NOT_GIVEN:
        return True, f"visits that don't give {column.replace('_', ' ')}"
    if term == "additive:look":
        return False, "levels that a look at wet hair reads above the rinsed result"
    if term == "peroxide":
        return False, "exponent: lift goes with strength to this power"
    if term in _PER_UNIT:
        return True, _PER_UNIT[term]
    if term in ("mix_ratio", "applications"):
        return False, f"exponent: lift goes with {term.replace('_', ' ')} to this power"
    if term == "later_session":
        return True, "a later session of a course against the first"
    if column == "start_level":
        part = f" (part {category}; read the parts together)" if category else ""
        return True, f"curve over the start level{part}"
    return True, f"{_said(column, category)} against {_said(column, against[column])}"


def _said(column: str, category: str) -> str:
    return _SAID.get(column, {}).get(category, category)


def rate_effects(fit: MixedFit, design: Design, *, looks: bool = True) -> dict[str, Any]:
    """The effects as the model file keeps them.

    Parameters
    ----------
    fit : MixedFit
    design : Design
    looks : bool
        Whether there are looks during the exposure, so that `sd` names their error.

    Returns
    -------
    dict
        `shape`, `terms` (the rows of `effects_table`), `coverage`, `sd`.
    """
    terms = []
    for row in effects_table(fit, design).to_dict("records"):
        name = "value" if np.isnan(row["ratio"]) else "ratio"
        numbers = {name: row[name], "low": row["low"], "high": row["high"]}
        terms.append({"term": row["term"], **numbers, "meaning": row["meaning"]})
    reading: dict[object, float] = (
        dict(fit.reading_sd) if isinstance(fit.reading_sd, Mapping) else {"result": fit.reading_sd}
    )
    sd: dict[str, float | None] = {
        name: fit.group_sd.get(name) for name in ("stylist", "client", "product", "visit")
    }
    sd["reading"] = reading.get("result", reading.get("look"))
    if looks:
        sd["look"] = reading.get("look")
    assert fit.shape is not None  # rates are always fitted with a shape
    return {"shape": fit.shape.to_dict(), "terms": terms, "coverage": _COVERAGE, "sd": sd}
