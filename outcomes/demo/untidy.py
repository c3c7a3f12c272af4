"""What busy people make of a clean log: round minutes, looks not written down, optional columns left empty.

Nothing here is a fault; faulty rows are made in `slips.py`.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import pandas as pd

from outcomes.demo.columns import as_table

__all__ = ["odd_habits", "untidied"]

# invented shares of empty cells; columns of one group are empty together
EMPTY_SHARES: Mapping[tuple[str, ...], float] = {
    ("texture",): 0.03,
    ("product",): 0.03,
    ("mix_ratio",): 0.08,
    ("wrap",): 0.04,
    ("planned_minutes",): 0.10,
    ("applications",): 0.05,
    ("condition_before",): 0.03,
    ("condition_after",): 0.06,
    ("warmth",): 0.10,
    ("evenness",): 0.20,
    ("colour_history",): 0.06,
    ("chair_minutes",): 0.12,
    ("quoted_sessions",): 0.25,
    ("patch_test", "strand_test"): 0.15,
    ("root_level", "root_tone"): 0.15,
    ("toner_tone", "toner_minutes", "toner_ratio"): 0.15,
}
ROUNDS_TO_FIVE = ("S03", "S07", "S11")
COUNTS_LOOKS_ONLY = ("S09",)
WRITES_NO_LOOKS = ("S05",)


def untidied(
    tables: Mapping[str, pd.DataFrame], intervals: Mapping[str, float], rng: np.random.Generator
) -> dict[str, pd.DataFrame]:
    """The same log as a real group would have written it.

    Three stylists write minutes in fives, one counts looks without writing them down, one writes nothing of
    them but the usual interval, and optional cells are left empty at random (never what a wash reading rests
    on).

    Parameters
    ----------
    tables : mapping
        "visits", "checks", "washes" from `simulate_log`.
    intervals : mapping
        Usual minutes between looks by stylist code.
    rng : numpy Generator

    Returns
    -------
    dict
        New frames with the same columns.
    """
    visits, checks = _looks_left_out(*_rounded_minutes(tables["visits"], tables["checks"]), intervals)
    washed = pd.MultiIndex.from_frame(tables["washes"][["visit", "zone"]])
    is_washed = pd.MultiIndex.from_frame(visits[["visit", "zone"]]).isin(washed)
    for columns, share in EMPTY_SHARES.items():
        empty = rng.random(len(visits)) < share
        if {"root_tone", "toner_tone"} & set(columns):
            empty &= ~is_washed
        visits.loc[empty, list(columns)] = np.nan
    return {"visits": visits, "checks": checks, "washes": tables["washes"].copy()}


def _rounded_minutes(visits: pd.DataFrame, checks: pd.DataFrame) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Minutes to the nearest five for some stylists; of looks that fall together the last one is kept."""
    visits = visits.copy()
    rounds = visits["stylist"].isin(ROUNDS_TO_FIVE).to_numpy()
    minutes = visits["minutes"].to_numpy()
    visits["minutes"] = np.where(rounds, np.maximum(5.0, 5.0 * np.round(minutes / 5.0)), minutes)
    keys = ["visit", "zone"]
    joined = checks.merge(
        visits[[*keys, "minutes"]].assign(rounds=rounds), on=keys, how="left", suffixes=("", "_rinsed")
    )
    looked = np.maximum(5.0, 5.0 * np.round(joined["minutes"].to_numpy() / 5.0))
    looked = np.minimum(looked, joined["minutes_rinsed"].to_numpy())
    joined["minutes"] = np.where(joined["rounds"].to_numpy(dtype=bool), looked, joined["minutes"].to_numpy())
    kept = joined.drop_duplicates([*keys, "minutes"], keep="last")[list(checks.columns)]
    counts = kept.groupby(keys).size()
    counted = counts.reindex(pd.MultiIndex.from_frame(visits[keys]), fill_value=0).to_numpy(dtype=np.float64)
    visits["looks"] = np.where(rounds, counted, visits["looks"].to_numpy())
    return visits, as_table("checks", {name: kept[name].to_numpy() for name in kept.columns})


def _looks_left_out(
    visits: pd.DataFrame, checks: pd.DataFrame, intervals: Mapping[str, float]
) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Leave out the looks of those who don't write them, and the count of those who don't count either."""
    silent = visits["stylist"].isin(WRITES_NO_LOOKS).to_numpy()
    habit = visits["stylist"].map(dict(intervals)).to_numpy(dtype=np.float64)
    visits["looks"] = np.where(silent, np.nan, visits["looks"].to_numpy())
    visits["look_every"] = np.where(silent, habit, np.nan)
    unwritten = visits.loc[visits["stylist"].isin([*WRITES_NO_LOOKS, *COUNTS_LOOKS_ONLY]), "visit"]
    return visits, checks[~checks["visit"].isin(unwritten)].reset_index(drop=True)


def odd_habits(tables: Mapping[str, pd.DataFrame]) -> tuple[dict[str, pd.DataFrame], list[str]]:
    """A small log with habits and readings that deserve a warning.

    Parameters
    ----------
    tables : mapping
        "visits", "checks", "washes" from `simulate_log`, of stylists S01, S02, S03.

    Returns
    -------
    tables : dict
        New frames: S01 and S03 write no looks, S02 calls every rinse for time a target, S03 always writes 45
        minutes; one look reads four levels above the one before, one later session starts two levels below
        the last result.
    visits : list of str
        Codes of the visits that show the last two.
    """
    visits, checks = tables["visits"].copy(), tables["checks"]
    stylist = visits["stylist"].to_numpy()
    visits["looks"] = np.where(np.isin(stylist, ["S01", "S03"]), np.nan, visits["looks"].to_numpy())
    called = (stylist == "S02") & (visits["stop"].to_numpy() == "time")
    visits["stop"] = np.where(called, "target", visits["stop"].to_numpy())
    visits["minutes"] = np.where(stylist == "S03", 45.0, visits["minutes"].to_numpy())
    later = visits["course"].duplicated().to_numpy() & (visits["start_level"].to_numpy() >= 3.0)
    far = int(np.flatnonzero(later)[0])
    start = visits["start_level"].to_numpy().copy()
    start[far] -= 2.0
    visits["start_level"] = start
    checks = checks[~checks["visit"].isin(visits.loc[np.isin(stylist, ["S01", "S03"]), "visit"])]
    level = checks["level"].to_numpy().copy()
    # the second look of a visit of which the first leaves room for four levels more
    room = np.concatenate([[False], level[:-1] <= 6.0])
    jump = int(np.flatnonzero(checks["visit"].duplicated().to_numpy() & room)[0])
    level[jump] = level[jump - 1] + 4.0
    checks = checks.assign(level=level).reset_index(drop=True)
    course = visits["course"].to_numpy()
    spared = [*visits.loc[course == course[far], "visit"], checks["visit"].iloc[jump]]
    return {"visits": visits, "checks": checks, "washes": tables["washes"]}, spared
