"""How often bands hold, by group: readings of clients who were left out.

A reading is rounded, so what was expected of it gives an interval of probability integral transforms. Its
share inside the middle 80 % is how often a value drawn within it would lie in the 80 % band.

A client's first reading counts 1, the second a half, the third a third: a client with many of them doesn't
outweigh others, and what a reading counts is known before it's read. Shared out evenly (a half each, of two)
it would depend on how many came after. Hair that lifts fast is looked at less often, so it would count more,
and the right forecast look too dark.
"""

from __future__ import annotations

import re

import numpy as np
import numpy.typing as npt
import pandas as pd
from scipy.stats import false_discovery_control, norm

from outcomes.calibration.scores import effective_number, wilson

__all__ = [
    "FEWEST",
    "NOMINAL",
    "coverage_table",
    "flags_table",
    "inside_share",
    "printed_holds",
    "reading_weights",
]

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


class _Part:
    """Readings of one group, first or later in their visits, each client's in the order they were read."""

    def __init__(self, rows: pd.DataFrame) -> None:
        self.low, self.high = (rows[name].to_numpy() for name in ("low", "high"))
        client = rows["client"].to_numpy()
        self._number = np.unique(client, return_inverse=True)[1]
        self._weight = reading_weights(client)
        self._by_client = np.bincount(self._number, self._weight)

    @property
    def n(self) -> int:
        return len(self._by_client)

    @property
    def effective(self) -> float:
        """How many clients of equal weight tell as much."""
        return effective_number(self._by_client)

    def mean(self, values: npt.ArrayLike) -> float:
        """Weighted mean over readings."""
        return float(self._weight @ np.asarray(values, dtype=np.float64) / self._weight.sum())

    def away(self, values: npt.ArrayLike, expected: float) -> FloatArray:
        """What each client adds to the weighted mean's deviation, times their number, (clients,)."""
        deviation = self._weight * (np.asarray(values, dtype=np.float64) - expected)
        return np.asarray(np.bincount(self._number, deviation) / self._by_client.mean(), dtype=np.float64)


def reading_weights(client: npt.ArrayLike) -> FloatArray:
    """What each reading counts: 1, 1/2, 1/3 ... in the order in which a client's come.

    Parameters
    ----------
    client : array_like (n,)
        Code of each reading's client.

    Returns
    -------
    ndarray (n,)

    Notes
    -----
    Whatever makes people look again, weighted deviations of a right forecast have mean 0 as long as a weight
    depends on what came before alone (a martingale; Dawid, A. P. 1984, J. R. Stat. Soc. A 147, 278-292). On
    six invented logs the mean place of readings in what was expected of them came out at 0.518 with even
    shares and at 0.501 with these, both with a standard error of 0.003.
    """
    codes = pd.Series(np.asarray(client))
    return np.asarray(1.0 / (1.0 + codes.groupby(codes).cumcount().to_numpy()), dtype=np.float64)


def _parts(readings: pd.DataFrame) -> dict[tuple[str, str], _Part]:
    """Every group with enough clients, in order of appearance."""
    found: dict[tuple[str, str], _Part] = {}
    columns = [name for name in readings.columns if name.startswith("group ")]
    for column in columns:
        values = readings[column]
        for label in sorted(values.dropna().unique(), key=_by_number):
            for reading in ("first", "later"):
                rows = readings[(values == label) & (readings["reading"] == reading)]
                part = _Part(rows)
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
        In order of time within each client. `client` (code), `reading` ("first" of its visit, or "later"),
        `low`, `high` (interval of probability integral transforms), and columns named "group ..." with
        labels; NaN: in none of that kind.

    Returns
    -------
    DataFrame
        `group`, `reading`, `nominal`, `observed`, `low`, `high` (Wilson 95 %, by the effective number of
        clients), `printed` (how often the band held that is printed in recording steps), `n` (clients).
        Groups of fewer than 20 clients are left out.

    References
    ----------
    Czado, C., Gneiting, T. & Held, L. (2009). Predictive model assessment for count data. Biometrics 65,
    1254-1261. doi:10.1111/j.1541-0420.2009.01191.x.
    """
    rows = []
    for (group, reading), part in _parts(readings).items():
        for nominal in NOMINAL:
            observed = part.mean(inside_share(part.low, part.high, nominal))
            printed = part.mean(printed_holds(part.low, part.high, nominal))
            low, high = wilson(min(observed, 1.0) * part.effective, part.effective)
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
        0.5 expected), `observed`, `expected`, `n`, `p`. Everybody and new clients are named where p, of first
        or later readings or of both together, is below 0.01 in twelve tests (Bonferroni) and the deviation
        0.025 or more; other groups where 1 in 100 of those named may be there by chance (Benjamini & Hochberg
        1995), and the deviation is 0.04 (coverage) or 0.06 (centre) or more.

    Notes
    -----
    The p of a coverage is that of the mean distance of the values from their middle, 0.25 expected: a third
    more is told by it than by the share inside any one band.
    """
    rows = []
    usual: dict[tuple[str, str], float] = {}
    for (group, reading), part in _parts(readings).items():
        middle = 0.5 * (part.low + part.high)
        inside = part.mean(inside_share(part.low, part.high, 0.8))
        for what, expected, values, tested in (
            ("coverage", 0.8, _from_middle(part.low, part.high), 0.25),
            ("centre", 0.5, middle, 0.5),
        ):
            away = part.away(values, tested)
            # the first group is everybody: few clients who happen to be alike are no surer than they are
            sd = float(away.std(ddof=1))
            se = max(sd, usual.setdefault((reading, what), sd)) / np.sqrt(part.n)
            if se == 0.0:
                continue
            observed = inside if what == "coverage" else part.mean(values)
            rows.append((group, reading, what, observed, expected, part.n, float(away.mean()) / se))
    columns = ["group", "reading", "what", "observed", "expected", "n", "z"]
    table = pd.DataFrame(rows, columns=columns)
    z = table.pop("z")
    table["p"] = _two_sided(z)
    if not len(table):
        return table
    whole = table["group"].isin(WHOLE).to_numpy()
    # first and later readings tell of the same bands: together they're surer than either
    both = z.groupby([table["group"], table["what"]])
    together = _two_sided(both.transform("sum") / np.sqrt(both.transform("size")))
    table.loc[whole, "p"] = np.minimum(table["p"], together)[whole]
    tests = whole.sum() + len(table.loc[whole, ["group", "what"]].drop_duplicates())
    surely = np.array(table["p"] <= FALSE_ALARMS / max(tests, 1))
    if not whole.all():
        surely[~whole] = false_discovery_control(table.loc[~whole, "p"].to_numpy()) <= FALSE_ALARMS
    least = np.where(whole, _RELEVANT_OF_WHOLE, table["what"].map(_RELEVANT))
    far = ((table["observed"] - table["expected"]).abs() >= least).to_numpy()
    flagged: pd.DataFrame = table[surely & far].reset_index(drop=True)
    return flagged


def _two_sided(z: pd.Series) -> FloatArray:
    return np.asarray(2.0 * norm.sf(np.abs(z.to_numpy(dtype=np.float64))), dtype=np.float64)


def _from_middle(low: FloatArray, high: FloatArray) -> FloatArray:
    """Mean distance from 0.5 of values drawn evenly from intervals."""
    wide = np.maximum(high - low, 1e-12)

    def upto(at: FloatArray) -> FloatArray:
        """Integral of |u - 0.5| from 0.5 to `at`, negative below it."""
        return np.asarray(0.5 * np.sign(at - 0.5) * (at - 0.5) ** 2, dtype=np.float64)

    found = (upto(high) - upto(low)) / wide
    return np.where(high - low < 1e-9, np.abs(0.5 * (low + high) - 0.5), found)
