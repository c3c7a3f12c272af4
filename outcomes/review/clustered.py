"""A mean over visits or courses of which one client may have several."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

__all__ = ["ClusteredMean", "clustered_mean"]


@dataclass(frozen=True)
class ClusteredMean:
    """A mean, its error over clients, and how likely a mean as far from 0 is where there's none.

    Attributes
    ----------
    value, low, high : float
        NaN ends where fewer than 2 clients have values.
    n, clients : int
    p : float
        1 where there's no band.
    """

    value: float
    low: float
    high: float
    n: int
    clients: int
    p: float


def clustered_mean(
    values: npt.ArrayLike, client: npt.ArrayLike, coverage: float, step: float = 0.0
) -> ClusteredMean:
    """Mean with a band that heeds clients with several values.

    Parameters
    ----------
    values : array_like (n,)
        At least one.
    client : array_like (n,)
        Codes.
    coverage : float
    step : float
        Of recording: values that are all alike are known no better than to within it.

    Returns
    -------
    ClusteredMean

    References
    ----------
    Liang, K.-Y. & Zeger, S. L. (1986). Longitudinal data analysis using generalized linear models. Biometrika
    73, 13-22. doi:10.1093/biomet/73.1.13: sums of residuals by cluster, here times G / (G - 1), and t with
    G - 1 degrees of freedom for G clients.
    """
    from scipy.stats import t

    found = np.asarray(values, dtype=np.float64)
    mean = float(found.mean())
    number, names = pd.factorize(np.asarray(client, dtype=object))
    clients = len(names)
    if clients < 2:
        return ClusteredMean(mean, np.nan, np.nan, len(found), clients, 1.0)
    by_client = np.bincount(number, found - mean)
    error = np.sqrt(clients / (clients - 1) * (by_client**2).sum()) / len(found)
    error = max(float(error), step / np.sqrt(12.0 * clients))
    if error == 0.0:
        return ClusteredMean(mean, mean, mean, len(found), clients, float(mean == 0.0))
    reach = float(t.ppf(0.5 + 0.5 * coverage, clients - 1)) * error
    p = float(2.0 * t.sf(abs(mean) / error, clients - 1))
    return ClusteredMean(mean, mean - reach, mean + reach, len(found), clients, p)
