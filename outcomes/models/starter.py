"""Prior values from the trade: one table, a row with its source each."""

from __future__ import annotations

from collections.abc import Iterable
from functools import cache
from importlib.resources import files

import pandas as pd

from outcomes.engine import Prior

__all__ = ["lift_prior", "starter_table"]


@cache
def starter_table() -> pd.DataFrame:
    """Every prior: `parameter` (index), `mean`, `sd`, `scale`, `source`."""
    with files("outcomes.models").joinpath("starter.csv").open(encoding="utf-8") as file:
        return pd.read_csv(file).set_index("parameter")


def lift_prior(
    coefficients: Iterable[str], groups: Iterable[str], kinds: Iterable[str], family: str
) -> Prior:
    """Weakly informative priors of a lift fit.

    Parameters
    ----------
    coefficients : iterable of str
        Names as the design has them ("heat[low]" takes the row of "heat"); "additive:look" besides.
    groups, kinds : iterable of str
        Names of groups, and kinds of readings whose sd is estimated.
    family : {"power", "saturating"}

    Returns
    -------
    Prior
    """
    table = starter_table()

    def row(name: str) -> tuple[float, float]:
        return float(table.loc[name, "mean"]), float(table.loc[name, "sd"])  # type: ignore[arg-type]

    return Prior(
        coefficients={name: row("coefficient:" + name.split("[")[0]) for name in coefficients},
        log_group_sd={name: row(f"log_group_sd:{name}") for name in groups},
        log_reading_sd={name: row(f"log_reading_sd:{name}") for name in kinds},
        log_shape=row(f"log_shape:{family}"),
    )
