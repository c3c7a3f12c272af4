"""What the funnel and the control charts of a review are drawn from."""

from __future__ import annotations

from collections.abc import Collection

import numpy as np
import pandas as pd

from outcomes.review.control_chart import chart
from outcomes.review.funnel import INNER, OUTER, Overdispersion, binomial_limits, widened

__all__ = ["FEWEST_CHARTED", "NO_LIMITS", "control_charts", "funnel_limits"]

FEWEST_CHARTED = 10
"""Visits with a reading, below which a chart shows nothing."""

_POINTS = 80
NO_LIMITS = pd.DataFrame(columns=["n", "target", "low_95", "high_95", "low_998", "high_998"])

_COLUMNS = ("stylist", "visit", "mean", "limit", "signal")


def funnel_limits(most: int, target: float, beyond: Overdispersion) -> pd.DataFrame:
    """Limits of a share by number of visits.

    Parameters
    ----------
    most : int
        Visits of the busiest stylist.
    target : float
        Expected share.
    beyond : Overdispersion

    Returns
    -------
    DataFrame
        As `TeamReview.funnel`.
    """
    end = max(10, int(np.ceil(1.15 * most)))
    n = np.unique(np.round(np.linspace(1.0, np.sqrt(end), _POINTS) ** 2).astype(np.int64))
    inside = float(np.clip(target, 1e-6, 1.0 - 1e-6))
    limits = binomial_limits(inside, n, (*INNER, *OUTER))
    limits = widened(limits, inside, inside * (1.0 - inside) / n, beyond.between)
    names = ("low_95", "high_95", "low_998", "high_998")
    return pd.DataFrame({"n": n, "target": target, **dict(zip(names, limits.T, strict=True))})


def control_charts(visits: pd.DataFrame, shown: Collection[str]) -> pd.DataFrame:
    """A chart of each stylist's residuals in order of time.

    Parameters
    ----------
    visits : DataFrame
        The quarter's, in order of date: `stylist`, `residual`.
    shown : collection of str

    Returns
    -------
    DataFrame
        As `TeamReview.chart`.
    """
    parts = []
    for code, residual in visits.groupby("stylist")["residual"]:
        values = residual.dropna().to_numpy(dtype=np.float64)
        if str(code) in shown and len(values) >= FEWEST_CHARTED:
            found = chart(values)
            visit = np.arange(1, len(values) + 1)
            columns = (str(code), visit, found.mean, found.limit, found.signals)
            parts.append(pd.DataFrame(dict(zip(_COLUMNS, columns, strict=True))))
    return pd.concat(parts, ignore_index=True) if parts else pd.DataFrame(columns=list(_COLUMNS))
