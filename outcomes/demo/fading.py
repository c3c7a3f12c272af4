"""Readings after washes: how the root shade and the toner of a visit fade.

After w washes a fade with rate F has gone as far as m = F (w/10)^0.8. On roots m counts levels: the shade
reads root_level + m, since it washes out to lighter. On other zones the share of the tone that is left is 100
exp(-m) %.

    log F = log F10 + tone + shampoo + client + visit

F10 is the progress in 10 washes of a neutral root shade (0.55 level) or a beige toner (0.45), washed with
plain shampoo. A client's effect (sd 0.25) is the same in all visits; a visit's has sd 0.15. Levels are read
with an error of 0.2 and rounded to half steps, shares with an error of 8 % and rounded to 25 %.
"""

from __future__ import annotations

from collections.abc import Mapping
from math import log

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from outcomes.demo.columns import as_table
from outcomes.demo.worlds import FloatArray, World

__all__ = [
    "FADE_THETA", "LOG_ROOT_RATE", "LOG_TONE_RATE", "ROOT_TONE", "SHAMPOO", "TONER_TONE", "draw_washes",
]  # fmt: skip

FADE_THETA = 0.8
LOG_ROOT_RATE = log(0.55)
LOG_TONE_RATE = log(0.45)
ROOT_TONE: Mapping[str, float] = {"neutral": 0.0, "ash": 0.15, "violet": 0.2, "gold": -0.05, "copper": 0.3}
TONER_TONE: Mapping[str, float] = {
    "silver": 0.3, "beige": 0.0, "pearl": 0.15, "violet": 0.25, "ash": 0.2, "gold": -0.1,
}  # fmt: skip
SHAMPOO: Mapping[str, float] = {"plain": 0.0, "sulphate_free": -0.2, "pigmented": -0.45}
SD_VISIT = 0.15
LEVEL_ERROR = 0.2
SHARE_ERROR = 8.0
LAB_ERROR = (0.6, 0.3, 0.5)


def draw_washes(
    world: World, visits: pd.DataFrame, clients: pd.DataFrame, rng: np.random.Generator
) -> pd.DataFrame:
    """Readings after washes for a share of the visits, one to four each.

    Parameters
    ----------
    world : World
        Its `wash_share`.
    visits : DataFrame (n)
        Canonical visits.
    clients : DataFrame (n)
        The client of each row of visits: shampoo, fade_effect.
    rng : numpy Generator

    Returns
    -------
    DataFrame
        Canonical washes, in order of visit, zone and washes; zone as in the visit, or
        roots. Salon L1 also measures L*a*b*,
        with a reading at 0 washes.
    """
    own = np.flatnonzero(rng.random(len(visits)) < world.wash_share)
    measured = visits["salon"].to_numpy()[own] == "L1"
    times = rng.integers(1, 5, size=len(own)) + measured
    # the root shade of a visit that lightened lengths or ends is read as well in half of them
    with_roots = visits["visit"].isin(visits.loc[visits["zone"] == "roots", "visit"]).to_numpy()[own]
    other = np.isin(visits["zone"].to_numpy()[own], ["lengths", "ends"]) & ~with_roots
    extra = np.flatnonzero(other & (rng.random(len(own)) < 0.5))
    source = np.concatenate([np.arange(len(own)), extra])
    number, washes = _occasions(times, measured, rng)
    fading = visits.iloc[own[source]]
    zone = np.where(np.arange(len(source)) < len(own), fading["zone"].to_numpy(), "roots")
    log_rate = _log_rates(fading, zone, clients.iloc[own[source]], rng)
    # the readings of the extra ones stand at the same washes as those of their visit
    first = np.cumsum(times) - times
    counts = times[source]
    row = np.repeat(np.arange(len(source)), counts)
    place = (
        np.repeat(first[source], counts) + np.arange(len(row)) - np.repeat(np.cumsum(counts) - counts, counts)
    )
    order = np.lexsort((number[place], zone[row], own[source][row]))
    row, washes = row[order], washes[place][order]
    measured, root = measured[source][row], (zone == "roots")[row]
    visits, clients = fading, clients.iloc[own[source]]
    progress = np.exp(log_rate)[row] * (washes / 10.0) ** FADE_THETA
    level = world.rounded(
        visits["root_level"].to_numpy()[row] + progress + LEVEL_ERROR * rng.standard_normal(len(row))
    )
    share = 100.0 * np.exp(-progress) + SHARE_ERROR * rng.standard_normal(len(row))
    lab = _colorimeter(visits, row, progress, rng)
    lab = np.where((measured & ~root)[:, None], lab, np.nan)
    return as_table(
        "washes",
        {
            "visit": visits["visit"].to_numpy()[row],
            "zone": zone[row],
            "washes": washes,
            "level": np.where(root, level, np.nan),
            "tone_left": np.where(root, np.nan, np.clip(25.0 * np.round(share / 25.0), 0.0, 100.0)),
            "L": lab[:, 0],
            "a": lab[:, 1],
            "b": lab[:, 2],
            "shampoo": clients["shampoo"].to_numpy(dtype=object)[row],
        },
    )


def _occasions(
    times: NDArray[np.int64], measured: NDArray[np.bool_], rng: np.random.Generator
) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Number (0, 1, ...) and washes of each reading; where a colorimeter is used the first is at 0 washes."""
    number = np.arange(times.sum()) - np.repeat(np.cumsum(times) - times, times)
    at_zero = (number == 0) & np.repeat(measured, times)
    run = np.cumsum(np.where(at_zero, 0, rng.integers(3, 11, size=len(number))))
    before = np.concatenate([[0], run])[np.cumsum(times) - times]
    return number, run - np.repeat(before, times)


def _log_rates(
    visits: pd.DataFrame, zone: NDArray[np.object_], clients: pd.DataFrame, rng: np.random.Generator
) -> FloatArray:
    """log F of each visit and zone that is read."""
    is_root = zone == "roots"
    tone = np.where(is_root, visits["root_tone"].map(ROOT_TONE), visits["toner_tone"].map(TONER_TONE))
    return np.asarray(
        np.where(is_root, LOG_ROOT_RATE, LOG_TONE_RATE)
        + tone.astype(np.float64)
        + clients["shampoo"].map(SHAMPOO).to_numpy(dtype=np.float64)
        + clients["fade_effect"].to_numpy(dtype=np.float64)
        + SD_VISIT * rng.standard_normal(len(visits)),
        dtype=np.float64,
    )


def _colorimeter(
    visits: pd.DataFrame, row: NDArray[np.int64], progress: FloatArray, rng: np.random.Generator
) -> FloatArray:
    """L*, a*, b* (n, 3): toned hair, drifting to the warm undertone of its level."""
    level = visits["achieved_level"].to_numpy()[row]
    gone = 1.0 - np.exp(-progress)
    bare = np.column_stack([18.0 + 6.2 * level, 9.0 - 0.8 * level, 14.0 + 1.2 * level])
    toner = np.column_stack([np.full(len(row), -3.0), np.full(len(row), -1.5), np.full(len(row), -11.0)])
    error = rng.standard_normal((len(row), 3)) * np.array(LAB_ERROR)
    return np.asarray(np.round(bare + toner * (1.0 - gone)[:, None] + error, 1), dtype=np.float64)
