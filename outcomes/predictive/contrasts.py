"""Comparisons of estimates: which are compared, bands that hold together, and whether two are alike."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from outcomes.errors import InputError
from outcomes.predictive.largest import max_abs_t_quantile
from outcomes.predictive.student import check_df, upper_tail

__all__ = ["Comparisons", "Equivalence", "against", "equivalence", "pairs", "simultaneous"]

FloatArray = npt.NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Comparisons:
    """Contrasts with bands that all hold at once.

    Attributes
    ----------
    value, se, low, high : ndarray (m,)
    critical : float
        Standard errors from a value to the ends of its band.
    coverage : float
        Of all bands together.
    """

    value: FloatArray
    se: FloatArray
    low: FloatArray
    high: FloatArray
    critical: float
    coverage: float


@dataclass(frozen=True)
class Equivalence:
    """Two one-sided tests.

    Attributes
    ----------
    p_lower, p_upper : float
        Of a value at or below minus the margin, and at or above the margin.
    equivalent : bool
        Whether both are below 0.05.
    """

    p_lower: float
    p_upper: float
    equivalent: bool


def against(k: int, reference: int = 0) -> FloatArray:
    """Each of k estimates less the reference, (k - 1, k).

    Parameters
    ----------
    k : int
        2 or more.
    reference : int
        Its place.

    Returns
    -------
    ndarray (k - 1, k)

    Raises
    ------
    InputError
        Fewer than 2 estimates, a reference that isn't one of them.
    """
    if k < 2 or not 0 <= reference < k:
        raise InputError(
            f"contrasts: found {k} estimates and reference {reference}; expected 2 or more, and the "
            "reference's place among them, counted from 0"
        )
    contrasts = np.delete(np.eye(k), reference, axis=0)
    contrasts[:, reference] = -1.0
    return contrasts


def pairs(k: int) -> FloatArray:
    """Each of k estimates less every earlier one, (k (k - 1) / 2, k).

    Parameters
    ----------
    k : int
        2 or more.

    Returns
    -------
    ndarray (k (k - 1) / 2, k)

    Raises
    ------
    InputError
        Fewer than 2 estimates.
    """
    if k < 2:
        raise InputError(f"contrasts: found {k} estimates; expected 2 or more to compare")
    one, other = np.tril_indices(k, -1)
    return np.asarray(np.eye(k)[one] - np.eye(k)[other])


def simultaneous(
    estimates: FloatArray,
    covariance: FloatArray,
    contrasts: FloatArray,
    coverage: float = 0.95,
    df: float | None = None,
) -> Comparisons:
    """Contrasts of estimates within bands that all hold at once.

    Parameters
    ----------
    estimates : ndarray (k,)
    covariance : ndarray (k, k)
    contrasts : ndarray (m, k)
    coverage : float
        Of all bands together.
    df : float, optional
        Degrees of freedom of the variance that the covariance shares; by default it's known.

    Returns
    -------
    Comparisons

    Raises
    ------
    InputError
        As `max_abs_t_quantile`; another number of estimates than the covariance's.
    """
    contrasts = np.atleast_2d(np.asarray(contrasts, dtype=np.float64))
    estimates = np.asarray(estimates, dtype=np.float64)
    if estimates.shape != np.shape(covariance)[:1]:
        raise InputError(
            f"estimates: found shape {estimates.shape}, covariance {np.shape(covariance)}; expected one row "
            "of the covariance for each estimate"
        )
    critical = max_abs_t_quantile(covariance, contrasts, coverage, df)
    value = contrasts @ estimates
    se = np.sqrt(np.einsum("ij,jk,ik->i", contrasts, covariance, contrasts))
    return Comparisons(value, se, value - critical * se, value + critical * se, critical, coverage)


def equivalence(value: float, se: float, margin: float, df: float | None = None) -> Equivalence:
    """Whether a value is surely within a margin stated beforehand.

    Parameters
    ----------
    value, se : float
        Se above 0.
    margin : float
        Above 0, in the value's unit.
    df : float, optional
        Of Student's t, 1 or more; by default normal.

    Returns
    -------
    Equivalence

    Raises
    ------
    InputError
        An se or margin that isn't above 0, too few degrees of freedom.

    References
    ----------
    Schuirmann, D. J. (1987). A comparison of the two one-sided tests procedure and the power approach.
    J. Pharmacokinet. Biopharm. 15, 657-680. doi:10.1007/BF01068419.
    """
    if not (se > 0 and margin > 0):
        raise InputError(f"equivalence: found se {se} and margin {margin}; expected both above 0")
    check_df(df)
    lower, upper = upper_tail((value + margin) / se, df), upper_tail((margin - value) / se, df)
    return Equivalence(lower, upper, max(lower, upper) < 0.05)
