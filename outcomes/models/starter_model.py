"""Expectations before any visit is logged: the priors of the trade by themselves, wide and labelled so."""

from __future__ import annotations

from dataclasses import replace
from itertools import product

import numpy as np
import numpy.typing as npt

from outcomes.models.draws import start_sd
from outcomes.models.starter import condition_prior, drawn, usual_range
from outcomes.predictive.distribution import Basis
from outcomes.predictive.hazard import HAZARD_TERMS, ConditionHazard
from outcomes.predictive.lift import LiftPredictive
from outcomes.predictive.plans import HAIR, HEAT
from outcomes.predictive.practice import LookGaps
from outcomes.predictive.support import ENOUGH, Support
from outcomes.readings.design import Design
from outcomes.readings.learn import learn_design
from outcomes.readings.lift import REFERENCE_MINUTES
from outcomes.readings.looks import UNKNOWN_GAPS

__all__ = ["NOTE", "STARTER_VISITS", "as_starter", "starter_design", "starter_predictive"]

FloatArray = npt.NDArray[np.float64]

STARTER_VISITS = 50
"""Visits below which a log is held up by the trade's values: they are still a good part of every answer."""

NOTE = (
    "starter values of the trade (common practice, no source) stand in for what logged visits can't tell yet"
)

_COVERAGE = 0.95
_MEANING = {"heat": "no heat", "hair": "natural"}


def starter_predictive(n: int, seed: int) -> LiftPredictive:
    """The distribution of a salon whose log is empty.

    One stylist stands for all, of whom nothing is known but how much stylists differ. Both shapes have half
    of the draws.

    Parameters
    ----------
    n : int
        Draws.
    seed : int

    Returns
    -------
    LiftPredictive
    """
    rng = np.random.default_rng(seed)
    design = starter_design()
    result = drawn("log_reading_sd:result", n, rng)
    saturating = (np.arange(n) % 2).astype(np.float64)
    shapes = {family: drawn(f"log_shape:{family}", n, rng) for family in ("power", "saturating")}
    draws = {
        "coefficients": np.column_stack(
            [drawn("coefficient:" + name.split("[")[0], n, rng) for name in design.names]
        ),
        "shape": np.where(saturating > 0, shapes["saturating"], shapes["power"]),
        "saturating": saturating,
        **{
            f"sd_{name}": drawn(f"log_group_sd:{name}", n, rng)
            for name in ("client", "stylist", "product", "visit")
        },
        "sd_result": result,
        "sd_look": drawn("log_reading_sd:look", n, rng),
        "look_offset": drawn("coefficient:additive:look", n, rng),
        "sd_start": start_sd(result),
        "product": np.zeros((n, 0)),
    }
    draws["stylist"] = (draws["sd_stylist"] * rng.standard_normal(n))[:, None]
    gaps = UNKNOWN_GAPS
    share = gaps["share"].to_numpy(dtype=np.float64)
    hazard = np.array([condition_prior()[term][0] for term in HAZARD_TERMS])
    return as_starter(
        LiftPredictive(
            family="power",
            design=design,
            draws=draws,
            stylists=("anybody",),
            stylist_visits=np.ones(1, dtype=np.int64),
            products=(),
            product_visits=np.zeros(0, dtype=np.int64),
            look_gaps=LookGaps(gaps["minutes"].to_numpy(dtype=np.float64), share, share[None], assumed=True),
            covariates={hair: {} for hair in HAIR},
            later_hair={hair: {"lightened": 1.0} for hair in HAIR},
            hazard=ConditionHazard(hazard, None, None, 0, 0),
            support=Support({}, {"hair": {}, "heat": {}}, {}),
            basis=Basis(0, 0, 0),
            effects=_effects(design, draws, shapes),
            reference=REFERENCE_MINUTES,
        )
    )


def as_starter(predictive: LiftPredictive) -> LiftPredictive:
    """A small log's distribution, labelled, and covering what the trade usually does besides.

    Parameters
    ----------
    predictive : LiftPredictive

    Returns
    -------
    LiftPredictive
    """
    support = predictive.support
    numbers: dict[str, tuple[float, float, float, float]] = {}
    for column in ("start_level", "goal_level", "gain", "peroxide_pct", "minutes"):
        low, high = usual_range(column)
        ends = support.numbers.get(column, (low, low, high, high))
        numbers[column] = (min(low, ends[0]), min(low, ends[1]), max(high, ends[2]), max(high, ends[3]))
    words = {"hair": HAIR, "heat": HEAT}
    categories = {
        column: {word: max(support.categories[column].get(word, 0), ENOUGH) for word in listed}
        for column, listed in words.items()
    }
    sessions = {number: 1 for number in range(1, int(usual_range("sessions")[1]) + 1)}
    sessions = {**sessions, **{number: max(count, 1) for number, count in support.sessions.items()}}
    notes = (*(note for note in predictive.notes if note != NOTE), NOTE)
    return replace(
        predictive,
        support=Support(numbers, categories, sessions),
        basis=replace(predictive.basis, starter=True),
        notes=notes,
    )


def starter_design() -> Design:
    """The columns that a question gives; one row of every kind stands for what a log would teach.

    Returns
    -------
    Design
    """
    kinds = list(product(HAIR, HEAT, (3.0, 12.0), (2.0, 8.0), (False, True)))
    hair, heat, peroxide, start, later = (list(column) for column in zip(*kinds, strict=True))
    columns = {
        "hair": np.array(hair, dtype=object),
        "heat": np.array(heat, dtype=object),
        "peroxide_pct": np.array(peroxide),
        "start_level": np.array(start),
    }
    return replace(learn_design(columns, np.array(later)), notes=())


def _effects(
    design: Design, draws: dict[str, FloatArray], shapes: dict[str, FloatArray]
) -> dict[str, object]:
    """What `outcomes effects` shows: the priors, with their bands."""

    def band(values: FloatArray) -> dict[str, float]:
        tail = 0.5 * (1.0 - _COVERAGE)
        low, high = np.quantile(values, [tail, 1.0 - tail])
        return {"low": float(low), "high": float(high)}

    terms = []
    for name, values in zip(design.names, draws["coefficients"].T, strict=True):
        if name == "intercept":
            continue
        column = name.split("[")[0]
        is_ratio = name != "peroxide"
        said = np.exp(values) if is_ratio else values
        against = f", against {_MEANING[column]}" if column in _MEANING else ""
        terms.append(
            {
                "term": name,
                ("ratio" if is_ratio else "value"): float(np.median(said)),
                **band(said),
                "meaning": f"starter value of the trade, no log behind it{against}",
            }
        )
    shape, other = (
        {"family": family, "value": float(np.median(values)), **band(values)}
        for family, values in shapes.items()
    )
    sd = {name: float(np.median(draws[f"sd_{name}"])) for name in ("stylist", "client", "product", "visit")}
    sd |= {"reading": float(np.median(draws["sd_result"])), "look": float(np.median(draws["sd_look"]))}
    return {"shape": shape, "other": {**other, "share": 0.5}, "terms": terms, "coverage": _COVERAGE, "sd": sd}
