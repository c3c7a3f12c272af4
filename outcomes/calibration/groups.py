"""Groups that bands are checked by: a column for each kind of group, None where a row is in none."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pandas as pd

__all__ = ["fade_groups", "lift_groups"]

_WASHED = (5.5, 15.5)


def lift_groups(visits: pd.DataFrame) -> pd.DataFrame:
    """Groups of visits that lightened hair.

    Parameters
    ----------
    visits : DataFrame (V)
        Of `LiftReadings`, with `number` (of the visit within its client, from 0).

    Returns
    -------
    DataFrame (V)
    """
    start = visits["start_level"].to_numpy(dtype=np.float64)
    parts = np.select([start < 4.0, start < 7.0], ["start 1 to 3.5", "start 4 to 6.5"], "start 7 and above")
    session = visits["session"].to_numpy() > 1
    return pd.DataFrame(
        {
            **_everybody(visits),
            "group session": pd.Series(session).map({True: "later sessions, given the earlier ones"}),
            "group start": parts,
            "group strength": [f"peroxide {value:g} %" for value in visits["peroxide_pct"]],
            "group hair": visits["hair"].astype(str) + " hair",
            **_practice(visits),
        }
    )


def fade_groups(
    visits: pd.DataFrame, at: npt.NDArray[np.intp], washes: npt.NDArray[np.float64]
) -> pd.DataFrame:
    """Groups of readings after washes.

    Parameters
    ----------
    visits : DataFrame (V)
        Of `FadeReadings`, with `number` (within its client, from 0).
    at : ndarray of int (n,)
        Row of each reading.
    washes : ndarray (n,)

    Returns
    -------
    DataFrame (n)
    """
    few, many = _WASHED
    parts = np.select(
        [washes < few, washes < many], ["up to 5 washes", "6 to 15 washes"], "more than 15 washes"
    )
    at_roots = (visits["zone"] == "roots").to_numpy(dtype=bool)
    level = visits["root_level"].to_numpy(dtype=np.float64)
    known = at_roots & ~np.isnan(level)
    names = {
        "group zone": "zone " + visits["zone"].astype(str),
        "group level": pd.Series([f"root level {value:g}" for value in level]).where(known),
        "group tone": _said("root tone", visits["root_tone"]).where(at_roots),
        "group toner": _said("toner", visits["toner_tone"]).where(~at_roots),
        "group shampoo": _said("shampoo", visits["shampoo"]),
        "group hair": visits["hair"].astype(str) + " hair",
    }
    several = {name: labels for name, labels in names.items() if len(labels.dropna().unique()) > 1}
    frame = pd.DataFrame({**_everybody(visits), **several, **_practice(visits)})
    return frame.iloc[at].reset_index(drop=True).assign(**{"group washes": parts})


def _said(what: str, words: pd.Series) -> pd.Series:
    return (f"{what} " + words.astype(object).astype(str)).where(words.notna())


def _everybody(visits: pd.DataFrame) -> dict[str, object]:
    known = visits["number"].to_numpy() > 0
    return {
        "group all": "all",
        "group known": np.where(known, "known clients, given earlier visits", "new clients"),
    }


def _practice(visits: pd.DataFrame) -> dict[str, object]:
    quarter = visits["date"].dt.to_period("Q").astype(str)
    several = len(visits["stylist"].unique()) > 1  # else they are everybody
    return {
        "group stylist": "stylist " + visits["stylist"].astype(str) if several else None,
        "group quarter": "quarter " + quarter,
    }
