"""Sessions until the goal, quarter by quarter, as the visits of each quarter have them."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pandas as pd

__all__ = ["grouped_median", "sessions_trend"]

FloatArray = npt.NDArray[np.float64]

_MOST = 12  # sessions, as far as a course is followed
_QUARTERS = 8
_RESAMPLES = 400


def sessions_trend(
    visits: pd.DataFrame, last: pd.Period, least: int, coverage: float = 0.9, seed: int = 1
) -> pd.DataFrame:
    """The median number of sessions until the goal, of the two years up to a quarter.

    As a life table of a period has it: of the visits of a quarter that were a first session, so many reached
    the goal; of those that were a second one, so many; put behind each other they tell what a course would
    take that was worked in that quarter alone. Courses that aren't done yet count as far as they went.

    Parameters
    ----------
    visits : DataFrame (n rows)
        `quarter` (Period), `client`, `session`, `reached`, `chance`.
    last : Period
    least : int
        Clients of a quarter, below which nothing is shown of it.
    coverage : float
        Of the bands, by drawing clients anew.
    seed : int

    Returns
    -------
    DataFrame
        `quarter`, `median`, `low`, `high`, `expected` (by `chance` instead of what came), `visits`. NaN where
        half of the courses don't get there within the sessions seen; `high` is inf where in more draws than
        the band leaves out they don't.
    """
    rng = np.random.default_rng(seed)
    rows = []
    for quarter in sorted(q for q in visits["quarter"].unique() if last - _QUARTERS < q <= last):
        rows.append((str(quarter), *_of_quarter(visits[visits["quarter"] == quarter], least, coverage, rng)))
    return pd.DataFrame(rows, columns=["quarter", "median", "low", "high", "expected", "visits"])


def _of_quarter(
    rows: pd.DataFrame, least: int, coverage: float, rng: np.random.Generator
) -> tuple[float, float, float, float, float]:
    client, names = pd.factorize(rows["client"])
    if len(names) < least:
        return (np.nan,) * 5
    session = np.minimum(rows["session"].to_numpy(dtype=np.int64), _MOST) - 1

    def by_client(values: npt.ArrayLike) -> FloatArray:
        flat = np.bincount(client * _MOST + session, np.asarray(values, dtype=np.float64), len(names) * _MOST)
        return np.asarray(flat.reshape(len(names), _MOST), dtype=np.float64)

    worked, reached, expected = (
        by_client(values) for values in (np.ones(len(rows)), rows["reached"], rows["chance"])
    )
    weights = rng.multinomial(len(names), np.full(len(names), 1.0 / len(names)), _RESAMPLES)
    medians = grouped_median(weights @ worked, weights @ reached)
    tail = 0.5 * (1.0 - coverage)
    whole = np.ones((1, len(names)))
    # where half don't get there in many a draw, the band has no upper end
    ends = np.where(np.isnan(medians), np.inf, medians)
    low, high = np.quantile(ends, [tail, 1.0 - tail], method="nearest")
    if np.isinf(low):
        low, high = np.nan, np.nan
    found, by_chance = (
        float(grouped_median(whole @ worked, whole @ came)[0]) for came in (reached, expected)
    )
    return found, float(low), float(high), by_chance, float(len(rows))


def grouped_median(worked: FloatArray, reached: FloatArray) -> FloatArray:
    """Median of whole numbers of sessions, from how many of each were worked and reached the goal.

    Parameters
    ----------
    worked, reached : ndarray (m, sessions)
        Visits that were a first, second ... session, and how many of these reached the goal.

    Returns
    -------
    ndarray (m,)
        Session k stands for k - 1/2 to k + 1/2, so that the median moves evenly; NaN where half don't get
        there.

    References
    ----------
    The median of grouped data, as in any textbook of descriptive statistics; chances of a period as in its
    life table (Preston, S. H., Heuveline, P. & Guillot, M. 2001, Demography, chapter 3).
    """
    with np.errstate(invalid="ignore", divide="ignore"):
        hazard = np.where(worked > 0.0, reached / worked, 0.0)
    left = np.cumprod(1.0 - np.minimum(hazard, 1.0), axis=1)
    before = np.hstack([np.ones((len(left), 1)), left[:, :-1]])
    there = left <= 0.5
    k = there.argmax(axis=1)
    at = np.arange(len(left))
    fell = before[at, k] - left[at, k]
    with np.errstate(invalid="ignore", divide="ignore"):
        median = k + 0.5 + (before[at, k] - 0.5) / fell
    return np.asarray(np.where(there.any(axis=1), median, np.nan), dtype=np.float64)
