"""The rank that makes a band hold for the next observation, whatever the distribution.

Where n scores and the next one are exchangeable, the next lies at or below the k-th smallest of the n with
chance k / (n + 1) at least; given the n, that chance is itself drawn from a beta distribution (k, n + 1 - k).
"""

from __future__ import annotations

from fractions import Fraction
from math import ceil, inf

import numpy as np
import numpy.typing as npt

from outcomes.calibration.given import given_share
from outcomes.errors import InputError

__all__ = ["conformal_quantile", "conformal_rank"]


def conformal_rank(n: int, coverage: float) -> int:
    """The least k with k / (n + 1) at or above the coverage.

    Parameters
    ----------
    n : int
        Number of scores.
    coverage : float
        Wanted of the next observation; up to six decimals count exactly, so that 0.8 of 10 is 8 and not 9.

    Returns
    -------
    int
        1 to n + 1; n + 1 where no score is large enough, and the band has no end.

    Raises
    ------
    InputError
        A coverage that isn't between 0 and 1; an n below 0.

    References
    ----------
    Vovk, V., Gammerman, A. & Shafer, G. (2005). Algorithmic Learning in a Random World. Springer; Lei, J.,
    G'Sell, M., Rinaldo, A., Tibshirani, R. J. & Wasserman, L. (2018). Distribution-free predictive inference
    for regression. J. Am. Stat. Assoc. 113, 1094-1111. doi:10.1080/01621459.2017.1307116. Given the scores:
    Vovk, V. (2012). Conditional validity of inductive conformal predictors. Proc. Mach. Learn. Res. 25,
    475-490.
    """
    if n < 0:
        raise InputError(f"n {n!r}; the number of scores is expected, 0 or more; count them")
    # the float nearest to 0.8 lies above it, and 1 - 0.2 may not be that float
    share = Fraction(given_share("coverage", coverage)).limit_denominator(10**6)
    return ceil((n + 1) * share)


def conformal_quantile(scores: npt.ArrayLike, coverage: float) -> float:
    """The score below which the next one lies with at least this chance.

    Parameters
    ----------
    scores : array_like (n,)
        Of a calibration set that nothing was learned from; infinite ones are allowed.
    coverage : float
        As in `conformal_rank`.

    Returns
    -------
    float
        The k-th smallest score, k from `conformal_rank`; infinite where there are too few.

    Raises
    ------
    InputError
        A coverage that isn't between 0 and 1; scores that aren't a row of numbers.

    References
    ----------
    As `conformal_rank`.
    """
    found = np.asarray(scores, dtype=np.float64)
    if found.ndim != 1 or np.isnan(found).any():
        raise InputError(
            f"scores of shape {found.shape} with {int(np.isnan(found).sum())} NaN; one row of numbers is "
            "expected; leave out what has no score"
        )
    rank = conformal_rank(len(found), coverage)
    return float(np.partition(found, rank - 1)[rank - 1]) if rank <= len(found) else inf
