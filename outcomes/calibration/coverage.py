"""How often bands hold, by group: readings of clients who were left out, each client counting once.

A reading is rounded, so what was expected of it gives an interval of probability integral transforms. Its
share inside the middle 80 % is how often a value drawn within it would lie in the 80 % band.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd
from scipy.stats import false_discovery_control, norm

from outcomes.calibration.scores import wilson

__all__ = ["NOMINAL", "coverage_table", "flags_table", "inside_share", "printed_holds"]

FloatArray = npt.NDArray[np.float64]

NOMINAL = (0.5, 0.8, 0.95)

FEWEST = 20
"""Clients that a group needs to be shown."""

FALSE_ALARMS = 0.01
"""Share of the groups called off that are allowed to be so by chance."""

WHOLE = ("all", "new clients")
"""Groups that are tested by themselves, not among the many others."""

_RELEVANT_OF_WHOLE = 0.025
_RELEVANT = {"coverage": 0.04, "centre": 0.06}
"""Smaller deviations are no reason to warn anybody, however surely they're there."""


def inside_share(low: FloatArray, high: FloatArray, coverage: float) -> FloatArray:
    """Share of intervals of probability integral transforms inside the central band.

    Parameters
    ----------
    low, high : ndarray (n,)
    coverage : float
        Of the band.

    Returns
    -------
    ndarray (n,)
        The mean of "a value drawn evenly from the interval is inside" over such draws.
    """
    first, last = 0.5 * (1.0 - coverage), 0.5 * (1.0 + coverage)
    wide = np.maximum(high - low, 1e-12)
    inside = np.minimum(high, last) - np.maximum(low, first)
    return np.asarray(np.clip(inside / wide, 0.0, 1.0), dtype=np.float64)


def printed_holds(low: FloatArray, high: FloatArray, coverage: float) -> npt.NDArray[np.bool_]:
    """Whether a band printed in recording steps holds the reading.

    Its ends are the levels at which the chance of a reading up to there first reaches the ends of the central
    band, both included, so it holds more often than it must.

    Parameters
    ----------
    low, high : ndarray (n,)
    coverage : float

    Returns
    -------
    ndarray of bool (n,)
    """
    first, last = 0.5 * (1.0 - coverage), 0.5 * (1.0 + coverage)
    return np.asarray((high >= first) & (low < last))


@dataclass(frozen=True, eq=False)
class _Part:
    """Readings of one group, first or later in their visits."""

    low: FloatArray
    high: FloatArray
    client: npt.NDArray[np.intp]

    @property
    def n(self) -> int:
        return len(np.unique(self.client))

    def by_client(self, values: npt.ArrayLike) -> FloatArray:
        """Mean of each client's readings, (clients,)."""
        number = np.unique(self.client, return_inverse=True)[1]
        sums = np.bincount(number, np.asarray(values, dtype=np.float64))
        return np.asarray(sums / np.bincount(number), dtype=np.float64)


def _parts(readings: pd.DataFrame) -> dict[tuple[str, str], _Part]:
    """Every group with enough clients, in order of appearance."""
    found: dict[tuple[str, str], _Part] = {}
    columns = [name for name in readings.columns if name.startswith("group ")]
    for column in columns:
        values = readings[column]
        for label in sorted(values.dropna().unique(), key=_by_number):
            for reading in ("first", "later"):
                rows = readings[(values == label) & (readings["reading"] == reading)]
                part = _Part(*(rows[name].to_numpy() for name in ("low", "high", "client")))
                if part.n >= FEWEST:
                    found[str(label), reading] = part
    return found


def _by_number(label: str) -> tuple[tuple[int, float, str], ...]:
    """Sorts "peroxide 3 %" before "peroxide 12 %"."""
    words = re.split(r"(\d+(?:\.\d+)?)", label)
    return tuple((0, float(word), "") if word[:1].isdigit() else (1, 0.0, word) for word in words)


def coverage_table(readings: pd.DataFrame) -> pd.DataFrame:
    """Coverage of the one-look-ahead bands.

    Parameters
    ----------
    readings : DataFrame (n rows)
        `client` (code), `reading` ("first" of its visit, or "later"), `low`, `high` (interval of probability
        integral transforms), and columns named "group ..." with labels; NaN: in none of that kind.

    Returns
    -------
    DataFrame
        `group`, `reading`, `nominal`, `observed`, `low`, `high` (Wilson 95 %, by clients), `printed` (how
        often the band held that is printed in recording steps), `n` (clients). Groups of fewer than 20
        clients are left out.

    References
    ----------
    Czado, C., Gneiting, T. & Held, L. (2009). Predictive model assessment for count data. Biometrics 65,
    1254-1261. doi:10.1111/j.1541-0420.2009.01191.x.
    """
    rows = []
    for (group, reading), part in _parts(readings).items():
        for nominal in NOMINAL:
            observed = float(part.by_client(inside_share(part.low, part.high, nominal)).mean())
            printed = float(part.by_client(printed_holds(part.low, part.high, nominal)).mean())
            low, high = wilson(observed * part.n, part.n)
            rows.append((group, reading, nominal, observed, float(low), float(high), printed, part.n))
    columns = ["group", "reading", "nominal", "observed", "low", "high", "printed", "n"]
    return pd.DataFrame(rows, columns=columns)


def flags_table(readings: pd.DataFrame) -> pd.DataFrame:
    """Groups whose expectations are off: in how often the 80 % band holds, or in where its middle lies.

    Parameters
    ----------
    readings : DataFrame
        As for `coverage_table`.

    Returns
    -------
    DataFrame
        `group`, `reading`, `what` ("coverage": share inside the 80 % band; "centre": share below what came,
        0.5 expected), `observed`, `expected`, `n`, `p`. Everybody and new clients are named where p is below
        0.01 in eight (Bonferroni) and the deviation 0.025 or more; other groups where 1 in 100 of those named
        may be there by chance (Benjamini & Hochberg 1995), and the deviation is 0.04 (coverage) or 0.06
        (centre) or more.

    Notes
    -----
    The p of a coverage is that of the mean distance of the values from their middle, 0.25 expected: a third
    more is told by it than by the share inside any one band.
    """
    rows = []
    usual: dict[tuple[str, str], float] = {}
    for (group, reading), part in _parts(readings).items():
        middle = 0.5 * (part.low + part.high)
        inside = float(part.by_client(inside_share(part.low, part.high, 0.8)).mean())
        for what, expected, values, tested in (
            ("coverage", 0.8, _from_middle(part.low, part.high), 0.25),
            ("centre", 0.5, middle, 0.5),
        ):
            means = part.by_client(values)
            # the first group is everybody: few clients who happen to be alike are no surer than they are
            sd = float(means.std(ddof=1))
            se = max(sd, usual.setdefault((reading, what), sd)) / np.sqrt(part.n)
            if se == 0.0:
                continue
            observed = inside if what == "coverage" else float(means.mean())
            p = 2.0 * float(norm.sf(abs(means.mean() - tested) / se))
            rows.append((group, reading, what, observed, expected, part.n, p))
    columns = ["group", "reading", "what", "observed", "expected", "n", "p"]
    table = pd.DataFrame(rows, columns=columns)
    if not len(table):
        return table
    whole = table["group"].isin(WHOLE).to_numpy()
    surely = np.array(table["p"] <= FALSE_ALARMS / max(whole.sum(), 1))
    if not whole.all():
        surely[~whole] = false_discovery_control(table.loc[~whole, "p"].to_numpy()) <= FALSE_ALARMS
    least = np.where(whole, _RELEVANT_OF_WHOLE, table["what"].map(_RELEVANT))
    far = ((table["observed"] - table["expected"]).abs() >= least).to_numpy()
    flagged: pd.DataFrame = table[surely & far].reset_index(drop=True)
    return flagged


def _from_middle(low: FloatArray, high: FloatArray) -> FloatArray:
    """Mean distance from 0.5 of values drawn evenly from intervals."""
    wide = np.maximum(high - low, 1e-12)

    def upto(at: FloatArray) -> FloatArray:
        """Integral of |u - 0.5| from 0.5 to `at`, negative below it."""
        return np.asarray(0.5 * np.sign(at - 0.5) * (at - 0.5) ** 2, dtype=np.float64)

    found = (upto(high) - upto(low)) / wide
    return np.where(high - low < 1e-9, np.abs(0.5 * (low + high) - 0.5), found)
