"""What a visit column gives and what it leaves empty, from arrays alone (numpy and the standard library)."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np
import numpy.typing as npt

from outcomes.errors import InputError

__all__ = [
    "NOT_GIVEN",
    "Columns",
    "FloatArray",
    "applies",
    "given_numbers",
    "given_words",
    "needed_numbers",
]

FloatArray = npt.NDArray[np.float64]
Columns = Mapping[str, npt.NDArray[Any]]

NOT_GIVEN = "not given"
"""The category of a value that a log leaves empty in some of its visits."""


def applies(columns: Columns, zones: tuple[str, ...], n: int) -> npt.NDArray[np.bool_]:
    """Rows in these zones; all where there are none to choose by.

    Parameters
    ----------
    columns : mapping of str to ndarray (n,)
    zones : tuple of str
    n : int

    Returns
    -------
    ndarray (n,) of bool
    """
    if not zones or "zone" not in columns:
        return np.ones(n, dtype=bool)
    return np.isin(np.asarray(columns["zone"]).astype(str), zones)


def given_words(columns: Columns, column: str, n: int) -> tuple[npt.NDArray[Any], npt.NDArray[np.bool_]]:
    """Words of a column, and where one is given; an absent column gives none.

    Parameters
    ----------
    columns : mapping of str to ndarray (n,)
    column : str
    n : int

    Returns
    -------
    words : ndarray (n,) of object
    given : ndarray (n,) of bool
    """
    if column not in columns:
        return np.full(n, None, dtype=object), np.zeros(n, dtype=bool)
    words = np.asarray(columns[column], dtype=object)
    # A value that differs from itself is a NaN, which is how frames leave a word out.
    missing = (words == np.array(None, dtype=object)) | (words != words) | (words == "")
    return words, ~missing.astype(bool)


def given_numbers(columns: Columns, column: str, n: int) -> FloatArray:
    """Numbers of a column; an absent column is all NaN.

    Parameters
    ----------
    columns : mapping of str to ndarray (n,)
    column : str
    n : int

    Returns
    -------
    ndarray (n,)
        NaN where none is given.
    """
    if column not in columns:
        return np.full(n, np.nan)
    return np.asarray(columns[column], dtype=np.float64)


def needed_numbers(columns: Columns, column: str, n: int) -> FloatArray:
    """Numbers of a column, one in each row.

    Parameters
    ----------
    columns : mapping of str to ndarray (n,)
    column : str
    n : int

    Returns
    -------
    ndarray (n,)

    Raises
    ------
    InputError
        A row without a number.
    """
    values = given_numbers(columns, column, n)
    if np.isnan(values).any():
        raise InputError(
            f"{column}: found no value in {int(np.isnan(values).sum())} of {len(values)} rows; "
            "a number is needed in each; give it"
        )
    return values
