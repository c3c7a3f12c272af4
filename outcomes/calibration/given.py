"""What is handed to checks and peers, turned into arrays, or refused with what was expected."""

from __future__ import annotations

from typing import Any

import numpy as np
import numpy.typing as npt

from outcomes.errors import InputError

__all__ = ["given_numbers", "given_positive", "given_share", "given_weights"]

FloatArray = npt.NDArray[np.float64]


def given_share(name: str, value: float) -> float:
    """A coverage or confidence: a share between 0 and 1, neither of them.

    Parameters
    ----------
    name : str
        What the error calls it.
    value : float

    Returns
    -------
    float

    Raises
    ------
    InputError
        Anything else; a percentage is the usual slip.
    """
    if not 0.0 < value < 1.0:
        raise InputError(f"{name} {value!r}; a share between 0 and 1 is expected; write 80 % as 0.8")
    return float(value)


def given_positive(name: str, value: npt.ArrayLike) -> FloatArray:
    """Numbers above 0, such as standard deviations.

    Parameters
    ----------
    name : str
        What the error calls them.
    value : array_like
        Any shape.

    Returns
    -------
    ndarray
        Same shape.

    Raises
    ------
    InputError
        A number at or below 0, or NaN.
    """
    found = np.asarray(value, dtype=np.float64)
    bad = ~(found > 0.0)
    if bad.any():
        raise InputError(f"{name} {float(found[bad][0])!r}; a number above 0 is expected; check its source")
    return found


def given_numbers(name: str, value: npt.ArrayLike, shape: tuple[int, ...]) -> FloatArray:
    """Finite numbers of one shape.

    Parameters
    ----------
    name : str
        What the error calls them.
    value : array_like
    shape : tuple of int
        -1 for any length.

    Returns
    -------
    ndarray (shape)

    Raises
    ------
    InputError
        Another shape; a number that isn't finite.
    """
    found = np.asarray(value, dtype=np.float64)
    if found.ndim != len(shape) or any(n not in (-1, m) for n, m in zip(shape, found.shape, strict=True)):
        wanted = " x ".join("n" if n == -1 else str(n) for n in shape)
        raise InputError(f"{name} of shape {found.shape}; {wanted} is expected; give one row per observation")
    if not np.isfinite(found).all():
        raise InputError(
            f"{name} holds {int((~np.isfinite(found)).sum())} NaN or infinite; leave such rows out"
        )
    return found


def given_weights(weights: npt.ArrayLike | None, n: int) -> FloatArray:
    """Weights of n rows; 1 each where none are given.

    Parameters
    ----------
    weights : array_like (n,) or None
    n : int

    Returns
    -------
    ndarray (n,)

    Raises
    ------
    InputError
        A negative weight, or none above 0.
    """
    found: Any = np.ones(n) if weights is None else given_numbers("weights", weights, (n,))
    if (found < 0.0).any() or not found.sum() > 0.0:
        least = float(found.min()) if n else None
        raise InputError(
            f"weights down to {least!r}; none below 0 and one above 0 are expected; check the rows"
        )
    return np.asarray(found, dtype=np.float64)
