"""How far apart two measured colours are: CIEDE2000, plain CIELAB, and the nearest step of the grey scale."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from outcomes.errors import InputError

__all__ = ["GREY_SCALE", "ciede2000", "cielab_difference", "grey_scale_step"]

FloatArray = npt.NDArray[np.float64]

GREY_SCALE = {
    "5": 0.0, "4-5": 0.8, "4": 1.7, "3-4": 2.5, "3": 3.4, "2-3": 4.8, "2": 6.8, "1-2": 9.6, "1": 13.6,
}  # fmt: skip
"""CIELAB difference of each step of the grey scale for change in colour: ISO 105-A02, as given in an excerpt
of EN 20105-A02:1994."""


def ciede2000(first: npt.ArrayLike, second: npt.ArrayLike) -> FloatArray:
    """Colour difference CIEDE2000, with all three weights 1.

    Parameters
    ----------
    first, second : array_like (n, 3)
        L*, a*, b* under one illuminant and observer.

    Returns
    -------
    ndarray (n,)
        NaN where a value is missing.

    Raises
    ------
    InputError
        Shapes that aren't (n, 3) and alike.

    References
    ----------
    Sharma, G., Wu, W. & Dalal, E. N. (2005). The CIEDE2000 color-difference formula. Color Res. Appl. 30,
    21-30. doi:10.1002/col.20070.
    """
    from coloraide import Color  # a fifth of a second that no other command needs

    one, two = _pair(first, second)
    found = np.full(len(one), np.nan)
    for i in np.flatnonzero(np.isfinite(one).all(axis=1) & np.isfinite(two).all(axis=1)):
        # its space "lab" is another illuminant's, and would be adapted first
        here, there = (Color("lab-d65", lab[i].tolist()) for lab in (one, two))
        found[i] = here.delta_e(there, method="2000")
    return found


def cielab_difference(first: npt.ArrayLike, second: npt.ArrayLike) -> FloatArray:
    """Colour difference of CIE 1976: the distance in L*, a*, b*.

    Parameters
    ----------
    first, second : array_like (n, 3)

    Returns
    -------
    ndarray (n,)

    Raises
    ------
    InputError
        As `ciede2000`.
    """
    one, two = _pair(first, second)
    return np.asarray(np.sqrt(((one - two) ** 2).sum(axis=1)), dtype=np.float64)


def grey_scale_step(difference: npt.ArrayLike) -> npt.NDArray[np.object_]:
    """The step of the grey scale whose CIELAB difference lies nearest.

    The scale is for eyes that compare; a step named so is the nearest one, not a rating by the standard.

    Parameters
    ----------
    difference : array_like (n,)
        As `cielab_difference`.

    Returns
    -------
    ndarray of str (n,)
        "5" (no change) to "1"; None where the difference is missing. Half way between two it is the stronger
        change.
    """
    given = np.atleast_1d(np.asarray(difference, dtype=np.float64))
    names, values = np.array(list(GREY_SCALE), dtype=object), np.array(list(GREY_SCALE.values()))
    between = 0.5 * (values[1:] + values[:-1])
    found: npt.NDArray[np.object_] = names[np.searchsorted(between, np.nan_to_num(given), side="right")]
    found[np.isnan(given)] = None
    return found


def _pair(first: npt.ArrayLike, second: npt.ArrayLike) -> tuple[FloatArray, FloatArray]:
    one, two = (np.asarray(lab, dtype=np.float64) for lab in (first, second))
    if one.ndim != 2 or one.shape[1:] != (3,) or one.shape != two.shape:
        raise InputError(
            f"found colours of shapes {one.shape} and {two.shape}; expected (n, 3) twice; "
            "give L*, a*, b* of each"
        )
    return one, two
