"""What log R is made of, term by term and draw by draw, looked up instead of encoded course by course.

The linear predictor is a sum with one term for each column of the log. So the effect of a value is the
difference between two encoded rows that differ in it alone, and a course's predictor is a sum of look-ups.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from outcomes.predictive.lift import LiftPredictive
from outcomes.predictive.plans import HAIR, HEAT, stand_in

__all__ = ["RateTables", "encoded_values", "rate_tables"]

FloatArray = npt.NDArray[np.float64]
Value = str | float | None

_ASKED = ("start_level", "hair", "heat", "peroxide_pct")
_NUMBERS = ("peroxide_pct", "start_level", "mix_ratio", "applications")


@dataclass(frozen=True, eq=False)
class RateTables:
    """Parts of log R; the last axis of every table has the D draws, then their mean.

    Attributes
    ----------
    base : ndarray (D + 1,)
        Natural hair (or the log's reference), no heat, 6 %, first session, first value of every covariate.
    start : ndarray (L, D + 1)
        By start level, 1 to the top of the scale in recording steps.
    hair, heat : ndarray (3 or 4, D + 1)
        In the order of `HAIR` and `HEAT`; what the log never had is worked out as its stand-in.
    later : ndarray (D + 1,)
    peroxide : mapping of float to ndarray (D + 1,)
    covariates : mapping of column to (values, ndarray (number of values, D + 1))
    stylist : ndarray (S, D + 1)
    product : ndarray (P + 1, D + 1)
        The last row stands for no product given.
    """

    base: FloatArray
    start: FloatArray
    hair: FloatArray
    heat: FloatArray
    later: FloatArray
    peroxide: Mapping[float, FloatArray]
    covariates: Mapping[str, tuple[tuple[Value, ...], FloatArray]]
    stylist: FloatArray
    product: FloatArray


def rate_tables(predictive: LiftPredictive, peroxides: tuple[float, ...]) -> RateTables:
    """Tables for plans that use these developer strengths.

    Parameters
    ----------
    predictive : LiftPredictive
    peroxides : tuple of float
        Every strength that will be looked up, %.

    Returns
    -------
    RateTables
    """
    asked, encoded = encoded_values(predictive, peroxides)
    covariates = {column: values for column, values in asked.items() if column not in _ASKED}
    coefficients = predictive.draws["coefficients"]
    with_mean = np.vstack([coefficients, coefficients.mean(axis=0)])
    parts = encoded @ with_mean.T
    effects = parts - parts[0]
    found: dict[str, FloatArray] = {}
    at = 2
    for column, values in asked.items():
        found[column] = effects[at : at + len(values)]
        at += len(values)
    product = np.vstack([_by_code(predictive.draws["product"]), np.zeros(len(with_mean))])
    return RateTables(
        base=parts[0],
        start=found["start_level"],
        hair=found["hair"],
        heat=found["heat"],
        later=effects[1],
        peroxide=dict(zip(peroxides, found["peroxide_pct"], strict=True)),
        covariates={column: (values, found[column]) for column, values in covariates.items()},
        stylist=_by_code(predictive.draws["stylist"]),
        product=product,
    )


def encoded_values(
    predictive: LiftPredictive, peroxides: tuple[float, ...]
) -> tuple[dict[str, tuple[Value, ...]], FloatArray]:
    """Encoded rows that differ from a reference in one value each.

    Parameters
    ----------
    predictive : LiftPredictive
    peroxides : tuple of float
        Strengths, %.

    Returns
    -------
    asked : dict of column to tuple
        Every value of each: start level, hair and heat (as `RateTables` has them), strengths, covariates.
    rows : ndarray (n, p)
        The reference, the reference as a later session, then the values in their order.
    """
    design = predictive.design
    covariates = _covariate_values(predictive)
    levels = np.arange(1.0, predictive.top + predictive.step / 2, predictive.step)
    reference: dict[str, Value] = {
        "hair": stand_in(design, "hair", "natural"),
        "heat": stand_in(design, "heat", "none"),
        "peroxide_pct": 6.0,
        "start_level": float(levels[0]),
        **{column: values[0] for column, values in covariates.items()},
    }
    asked: dict[str, tuple[Value, ...]] = {
        "start_level": tuple(float(level) for level in levels),
        "hair": tuple(stand_in(design, "hair", word) for word in HAIR),
        "heat": tuple(stand_in(design, "heat", word) for word in HEAT),
        "peroxide_pct": peroxides,
        **covariates,
    }
    rows = [reference, reference]
    rows += [{**reference, column: value} for column, values in asked.items() for value in values]
    later = np.zeros(len(rows), dtype=bool)
    later[1] = True
    return asked, design.encode({column: _column(column, rows) for column in reference}, later)


def _covariate_values(predictive: LiftPredictive) -> dict[str, tuple[Value, ...]]:
    """Every value that a covariate of the design takes, whatever the hair."""
    used = predictive.design.columns
    values: dict[str, dict[Value, None]] = {}
    for shares in predictive.covariates.values():
        for column, listed in shares.items():
            if column in used:
                values.setdefault(column, {}).update((value, None) for value, _ in listed)
    return {column: tuple(found) for column, found in values.items()}


def _column(column: str, rows: list[dict[str, Value]]) -> npt.NDArray[np.object_] | FloatArray:
    """One visit column of some rows, as the design reads it."""
    values = [row[column] for row in rows]
    if column in _NUMBERS:
        return np.array([np.nan if value is None else value for value in values], dtype=np.float64)
    words = np.empty(len(values), dtype=object)
    words[:] = values
    return words


def _by_code(effects: FloatArray) -> FloatArray:
    """(D, S) effects as (S, D + 1), their mean in the last column."""
    return np.vstack([effects, effects.mean(axis=0)]).T
