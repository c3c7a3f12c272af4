"""Prior values from the trade: one table, a row with its source each."""

from __future__ import annotations

from collections.abc import Iterable
from functools import cache
from importlib.resources import files

import numpy as np
import numpy.typing as npt
import pandas as pd

from outcomes.engine import Prior
from outcomes.predictive.hazard import HAZARD_TERMS

FloatArray = npt.NDArray[np.float64]

__all__ = [
    "condition_prior",
    "drawn",
    "parameter_of",
    "prior_row",
    "rate_prior",
    "starter_table",
    "usual_range",
]


@cache
def starter_table() -> pd.DataFrame:
    """Every prior: `parameter` (index), `mean`, `sd`, `scale`, `source`."""
    with files("outcomes.models").joinpath("starter.csv").open(encoding="utf-8") as file:
        return pd.read_csv(file).set_index("parameter")


def rate_prior(
    measure: str,
    coefficients: Iterable[str],
    groups: Iterable[str],
    kinds: Iterable[str],
    family: str,
) -> Prior:
    """Weakly informative priors of a fit of lift or fade.

    Parameters
    ----------
    measure : str
        "lift", or a measure of fade.
    coefficients : iterable of str
        Names as the design has them ("heat[low]" takes the row of "heat"); "additive:look" besides.
    groups, kinds : iterable of str
        Names of groups, and kinds of readings whose sd is estimated.
    family : {"power", "saturating"}

    Returns
    -------
    Prior
    """

    def row(name: str) -> tuple[float, float]:
        return prior_row(parameter_of(measure, name))

    return Prior(
        coefficients={name: row("coefficient:" + name.split("[")[0]) for name in coefficients},
        log_group_sd={name: row(f"log_group_sd:{name}") for name in groups},
        log_reading_sd={name: row(f"log_reading_sd:{name}") for name in kinds},
        log_shape=row(f"log_shape:{family}"),
    )


def parameter_of(measure: str, name: str) -> str:
    """Row of the table: of lift under its plain name, of fade under the measure's or else under fade's.

    Parameters
    ----------
    measure, name : str

    Returns
    -------
    str
    """
    if measure == "lift":
        return name
    own = f"{measure}:{name}"
    return own if own in starter_table().index else f"fade:{name}"


def condition_prior() -> dict[str, tuple[float, float]]:
    """Mean and sd of every term of the hazard of a stop for condition, log odds for five minutes."""
    return {term: prior_row(f"condition:{term}") for term in HAZARD_TERMS}


def usual_range(column: str) -> tuple[float, float]:
    """What the trade usually does.

    Parameters
    ----------
    column : {"start_level", "goal_level", "gain", "peroxide_pct", "minutes", "sessions"}

    Returns
    -------
    low, high : float
    """
    middle, reach = prior_row(f"range:{column}")
    return middle - reach, middle + reach


def drawn(parameter: str, n: int, rng: np.random.Generator) -> FloatArray:
    """Values of one parameter drawn from its prior; of a logarithm the parameter itself.

    Parameters
    ----------
    parameter : str
        A row of the table, such as "log_group_sd:client".
    n : int
    rng : Generator

    Returns
    -------
    ndarray (n,)
    """
    mean, sd = prior_row(parameter)
    values = mean + sd * rng.standard_normal(n)
    return np.asarray(np.exp(values) if "log_" in parameter else values, dtype=np.float64)


def prior_row(name: str) -> tuple[float, float]:
    """Mean and sd of one parameter.

    Parameters
    ----------
    name : str
        A row of the table.

    Returns
    -------
    mean, sd : float
    """
    table = starter_table()
    return float(table.loc[name, "mean"]), float(table.loc[name, "sd"])  # type: ignore[arg-type]
