"""What was read in logged visits that are like a plan: to be shown behind a forecast, not to make one."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from outcomes.readings.looks import place_looks

if TYPE_CHECKING:
    from outcomes.log.read import VisitLog

__all__ = ["readings_alike"]

BIN = 5.0  # minutes


def readings_alike(log: VisitLog, hair: str, peroxide: float, heat: str) -> pd.DataFrame:
    """Levels gained, as read, in visits with this hair, developer and heat, whatever their start.

    Parameters
    ----------
    log : VisitLog
    hair, heat : str
    peroxide : float
        %; visits whose strength differs by more than 0.25 aren't alike.

    Returns
    -------
    DataFrame
        `minutes` (in fives), `gained` (levels, half steps), `kind` ("look" or "result"), `n` (readings
        there), in this order of columns, sorted by them.
    """
    visits = log.visits.reset_index(drop=True)
    alike = (
        (visits["hair"] == hair)
        & (visits["heat"] == heat)
        & ((visits["peroxide_pct"] - peroxide).abs() <= 0.25)
    ).to_numpy(dtype=bool)
    start = visits["start_level"].to_numpy(dtype=np.float64)
    looks = place_looks(log)
    looks = looks[alike[looks["visit"].to_numpy(dtype=int)]]
    rows = np.flatnonzero(alike)
    read = pd.concat(
        [
            pd.DataFrame(
                {
                    "minutes": looks["minutes"],
                    "gained": looks["level"] - start[looks["visit"]],
                    "kind": "look",
                }
            ),
            pd.DataFrame(
                {
                    "minutes": visits["minutes"].to_numpy(dtype=np.float64)[rows],
                    "gained": visits["achieved_level"].to_numpy(dtype=np.float64)[rows] - start[rows],
                    "kind": "result",
                }
            ),
        ]
    ).dropna()
    # a half is rounded up: numpy's own rounding would put 12.5 and 17.5 in bins of different width
    read["minutes"] = np.floor(read["minutes"] / BIN + 0.5) * BIN
    return read.groupby(["minutes", "gained", "kind"], as_index=False).size().rename(columns={"size": "n"})
