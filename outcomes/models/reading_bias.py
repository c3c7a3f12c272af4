"""How light each stylist's eye reads, told by a colorimeter where some hair was measured too.

A level by eye and a colorimeter's L* of the same hair: at the same L* one stylist writes a higher level than
another. Without an instrument that can't be told from hair that lifts faster.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from outcomes.engine import Prior, fit_interval_mixed
from outcomes.errors import FitError, InputError
from outcomes.models.starter import prior_row
from outcomes.readings.bounds import HALF_STEP, TOP
from outcomes.readings.intervals import copied_starts

__all__ = ["FEWEST", "ReadingBias", "reading_bias"]

FloatArray = npt.NDArray[np.float64]

FEWEST = 20
"""Measured readings that are needed, of two stylists or more."""

_BOTTOM = 1.0
_NORMAL = 1.959963984540054
_READINGS = {"start": ("start_level", "start_L"), "result": ("achieved_level", "achieved_L")}


@dataclass(frozen=True, eq=False)
class ReadingBias:
    """Biases of reading.

    Attributes
    ----------
    frame : DataFrame
        `reading` ("start" or "result"), `stylist`, `value` (levels read above the team's usual eye), `low`,
        `high` (95 %), `n` (measured readings); empty where too few were measured.
    notes : tuple of str
    """

    frame: pd.DataFrame
    notes: tuple[str, ...]

    def to_dict(self) -> dict[str, Any]:
        """Rows as JSON values, under `reading_bias`; nothing where nothing was measured."""
        rows = self.frame.to_dict("records")
        return {"reading_bias": [{str(key): row[key] for key in row} for row in rows]} if rows else {}

    def of_gain(self, visits: pd.DataFrame) -> FloatArray:
        """Levels by which a visit's gain is read too high, (visits,).

        The start's bias against the result's. Where starts weren't measured they are taken to be read as
        results are; a start copied from a result has that result's bias.

        Parameters
        ----------
        visits : DataFrame (n rows)
            With the columns of `assign_courses`.

        Returns
        -------
        ndarray (n,)
        """
        known = {
            reading: rows.set_index("stylist")["value"] for reading, rows in self.frame.groupby("reading")
        }
        if not {"start", "result"} <= set(known):
            return np.zeros(len(visits))
        result, start = (
            visits["stylist"].map(known[reading]).fillna(0.0).to_numpy(dtype=np.float64)
            for reading in ("result", "start")
        )
        columns = ("previous", "linked", "start_level", "achieved_level")
        before = copied_starts(*(visits[name].to_numpy() for name in columns))
        return np.asarray(result - np.where(before >= 0, result[before], start), dtype=np.float64)


def reading_bias(visits: pd.DataFrame) -> ReadingBias:
    """Estimate how each stylist's eye differs from the team's.

    A level is a smooth function of L* plus the stylist's bias plus an error, read in half steps; biases are
    normal about 0, so few measurements give little bias.

    Parameters
    ----------
    visits : DataFrame
        Canonical columns, those of the colorimeter where there are any, and those of `assign_courses`.

    Returns
    -------
    ReadingBias
    """
    parts, notes = [], []
    for reading, (level, lightness) in _READINGS.items():
        if lightness not in visits.columns:
            continue
        measured = visits[visits[lightness].notna()]
        if reading == "start":
            measured = measured[measured["session"] == 1]  # later starts are copied from results
        if not len(measured):
            continue
        if len(measured) < FEWEST or measured["stylist"].nunique() < 2:
            notes.append(
                f"{lightness}: {len(measured)} visits of {measured['stylist'].nunique()} stylists were "
                f"measured; {FEWEST} of two or more are needed to tell how eyes differ"
            )
            continue
        found = _fit(*(measured[name] for name in (level, lightness, "stylist")))
        if found is None:
            notes.append(f"{lightness}: levels by eye don't follow it closely enough to tell how eyes differ")
            continue
        parts.append(found.assign(reading=reading))
    columns = ["reading", "stylist", "value", "low", "high", "n"]
    frame = pd.concat(parts, ignore_index=True)[columns] if parts else pd.DataFrame(columns=columns)
    return ReadingBias(frame, (*notes, *_said(frame)))


def _fit(level: pd.Series, lightness: pd.Series, stylist: pd.Series) -> pd.DataFrame | None:
    """`stylist`, `value`, `low`, `high`, `n`; None where it fails."""
    read = level.to_numpy(dtype=np.float64)
    x = (lightness - lightness.mean()).to_numpy(dtype=np.float64) / 10.0
    design = pd.DataFrame({"level": np.ones(len(x)), "lightness": x, "lightness^2": x**2})
    lower = np.where(read <= _BOTTOM, -np.inf, read - HALF_STEP)
    upper = np.where(read >= TOP, np.inf, read + HALF_STEP)
    try:
        fit = fit_interval_mixed(
            lower,
            upper,
            design if x.any() else design[["level"]],
            {"stylist": stylist.reset_index(drop=True)},
            prior=Prior(log_group_sd={"stylist": prior_row("log_group_sd:reading_bias")}),
        )
    except (InputError, FitError):
        return None
    if not fit.converged:
        return None
    effects = fit.group_effects["stylist"]
    counts = stylist.value_counts()
    return pd.DataFrame(
        {
            "stylist": [str(code) for code in effects.index],
            "value": effects["effect"].to_numpy(),
            "low": (effects["effect"] - _NORMAL * effects["sd"]).to_numpy(),
            "high": (effects["effect"] + _NORMAL * effects["sd"]).to_numpy(),
            "n": counts.reindex(effects.index).to_numpy(dtype=int),
        }
    )


def _said(frame: pd.DataFrame) -> Sequence[str]:
    """Who reads light or dark for sure, for people."""
    notes = []
    for row in frame.to_dict("records"):
        if row["low"] > 0 or row["high"] < 0:
            side = "lighter" if row["value"] > 0 else "darker"
            low, high = sorted((abs(row["low"]), abs(row["high"])))
            notes.append(
                f"by colorimeter, {row['stylist']} reads {row['reading']}s {abs(row['value']):.1f} level "
                f"{side} than the team ({low:.1f} to {high:.1f}, {row['n']} measured)"
            )
    return notes
