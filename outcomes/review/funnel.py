"""Funnel limits: how far a share may lie from the target by chance, for so many visits.

The limits are exact binomial ones, since normal ones pass 100 % where few visits meet a high target. Where
units differ by more than chance would have them, they're widened for all alike.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from outcomes.calibration.given import given_share
from outcomes.errors import InputError

__all__ = [
    "INNER",
    "OUTER",
    "Overdispersion",
    "binomial_band",
    "binomial_limits",
    "overdispersion",
    "widened",
]

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]

INNER = (0.025, 0.975)
OUTER = (0.001, 0.999)
_WINSORISED = 0.1  # of the z-scores at either end


@dataclass(frozen=True)
class Overdispersion:
    """How much units differ beyond chance.

    Attributes
    ----------
    ratio : float
        Mean of squared winsorised z-scores; 1 is chance alone.
    between : float
        Sd of the units' own true shares about the target; 0 where chance explains what is seen.
    units : int
    """

    ratio: float
    between: float
    units: int


def binomial_limits(target: float, n: npt.ArrayLike, p: Sequence[float]) -> FloatArray:
    """Limits on an observed share under a true one.

    Parameters
    ----------
    target : float
        The true share, between 0 and 1.
    n : array_like of int (k,)
        Visits, 1 or more.
    p : sequence of float (m)
        Chances of a share below each limit.

    Returns
    -------
    ndarray (k, m)
        Between 0 and 1.

    Raises
    ------
    InputError
        A target that isn't between 0 and 1, no visits, chances that aren't between 0 and 1.

    References
    ----------
    Spiegelhalter, D. J. (2005). Funnel plots for comparing institutional performance. Stat. Med. 24,
    1185-1202, appendix A.1. doi:10.1002/sim.1970 (quantiles interpolated between whole numbers of cases).
    """
    from scipy.stats import binom

    visits = np.atleast_1d(np.asarray(n))
    chances = np.asarray(p, dtype=np.float64)
    target = given_share("target", target)
    if (visits < 1).any() or (visits != np.round(visits)).any():
        raise InputError(
            "n: found a number of visits that isn't whole or is below 1; 1, 2, 3 ... are expected"
        )
    if ((chances <= 0.0) | (chances >= 1.0)).any():
        raise InputError(f"p {list(p)}; chances between 0 and 1 are expected")
    of, chance = visits[:, None], chances[None, :]
    cases = binom.ppf(chance, of, target)
    upto, before = binom.cdf(cases, of, target), binom.cdf(cases - 1, of, target)
    back = (upto - chance) / (upto - before)
    return np.asarray(np.clip((cases - back) / of, 0.0, 1.0), dtype=np.float64)


def overdispersion(observed: npt.ArrayLike, target: float, variance: npt.ArrayLike) -> Overdispersion:
    """How much units differ beyond chance, as an additive spread of their true shares.

    Parameters
    ----------
    observed : array_like (k,)
        Shares.
    target : float
    variance : array_like (k,)
        Of each share by chance, above 0.

    Returns
    -------
    Overdispersion

    References
    ----------
    Spiegelhalter (2005), as in `binomial_limits`, section 3 and appendix A.2: z-scores winsorised at 10 %
    (one at either end, where there are fewer than 20), the spread between units by moments (DerSimonian, R.
    & Laird, N. 1986, Control. Clin. Trials 7, 177-188).
    """
    shares = np.asarray(observed, dtype=np.float64)
    chance = np.asarray(variance, dtype=np.float64)
    k = len(shares)
    if k < 2:
        return Overdispersion(1.0, 0.0, k)
    z = (shares - target) / np.sqrt(chance)
    cut = max(1, int(_WINSORISED * k)) if k > 2 else 0
    ordered = np.sort(z)
    ratio = float(np.mean(np.clip(z, ordered[cut], ordered[k - 1 - cut]) ** 2))
    weight = 1.0 / chance
    spare = k * ratio - (k - 1)
    between = spare / (weight.sum() - (weight**2).sum() / weight.sum()) if spare > 0.0 else 0.0
    return Overdispersion(ratio, float(np.sqrt(between)), k)


def widened(limits: FloatArray, target: float, variance: npt.ArrayLike, between: float) -> FloatArray:
    """Limits moved away from the target as the standard error grows with a spread between units.

    Parameters
    ----------
    limits : ndarray (k, m)
        Exact ones.
    target : float
    variance : array_like (k,)
        By chance alone.
    between : float
        Sd.

    Returns
    -------
    ndarray (k, m)
        Between 0 and 1.
    """
    chance = np.asarray(variance, dtype=np.float64)[:, None]
    further = np.sqrt((chance + between**2) / chance)
    return np.asarray(np.clip(target + (limits - target) * further, 0.0, 1.0), dtype=np.float64)


def binomial_band(count: npt.ArrayLike, n: npt.ArrayLike, coverage: float) -> tuple[FloatArray, FloatArray]:
    """Exact band of a share from a count.

    Parameters
    ----------
    count, n : array_like of int (k,)
    coverage : float

    Returns
    -------
    low, high : ndarray (k,)

    References
    ----------
    Clopper, C. J. & Pearson, E. S. (1934). The use of confidence or fiducial limits illustrated in the case
    of the binomial. Biometrika 26, 404-413. doi:10.1093/biomet/26.4.404.
    """
    from scipy.stats import beta

    came, of = np.asarray(count, dtype=np.float64), np.asarray(n, dtype=np.float64)
    tail = 0.5 * (1.0 - coverage)
    with np.errstate(invalid="ignore"):
        low = np.where(came > 0.0, beta.ppf(tail, came, of - came + 1.0), 0.0)
        high = np.where(came < of, beta.ppf(1.0 - tail, came + 1.0, of - came), 1.0)
    return low, high
