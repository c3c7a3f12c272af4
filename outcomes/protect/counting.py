"""How many different clients, or findings, stand behind a combination of values."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
import pandas as pd

__all__ = ["combination_codes", "distinct_behind", "distinct_of"]

IntArray = npt.NDArray[np.int64]


def combination_codes(frame: pd.DataFrame, columns: Sequence[str]) -> IntArray:
    """A number for each combination of values, from 0; an empty cell is a value like any other.

    Parameters
    ----------
    frame : DataFrame (n rows)
    columns : sequence of str

    Returns
    -------
    ndarray of int (n,)
    """
    if not len(frame):
        return np.zeros(0, dtype=np.int64)
    return np.asarray(frame.groupby(list(columns), sort=False, dropna=False).ngroup(), dtype=np.int64)


def distinct_of(codes: IntArray, of: IntArray) -> IntArray:
    """How many different things each code has.

    Parameters
    ----------
    codes, of : ndarray of int (n,)
        From 0.

    Returns
    -------
    ndarray of int (codes,)
    """
    if not len(codes):
        return np.zeros(0, dtype=np.int64)
    width = int(of.max()) + 1
    pairs = np.unique(codes * width + of)
    return np.bincount(pairs // width, minlength=int(codes.max()) + 1).astype(np.int64)


def distinct_behind(frame: pd.DataFrame, columns: Sequence[str], of: str) -> IntArray:
    """For every row, how many different values of a column the rows with its combination have.

    The smallest, with clients as the column, is the k of k-anonymity; with findings, the l of l-diversity.

    Parameters
    ----------
    frame : DataFrame (n rows)
    columns : sequence of str
        The combination.
    of : str
        What is counted; an empty cell counts as one more.

    Returns
    -------
    ndarray of int (n,)

    References
    ----------
    Sweeney, L. (2002). k-anonymity: a model for protecting privacy. Int. J. Uncertain. Fuzz. Knowl. Syst. 10,
    557-570. doi:10.1142/S0218488502001648. Machanavajjhala, A. et al. (2007). l-diversity: privacy beyond
    k-anonymity. ACM Trans. Knowl. Discov. Data 1, 3. doi:10.1145/1217299.1217302.
    """
    codes = combination_codes(frame, columns)
    things = pd.factorize(frame[of], use_na_sentinel=False)[0].astype(np.int64)
    return distinct_of(codes, things)[codes]
