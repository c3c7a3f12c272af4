"""What one reading of a level says of the levels gained."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

__all__ = ["HALF_STEP", "TOP", "reading_bounds"]

FloatArray = npt.NDArray[np.float64]

HALF_STEP = 0.25
"""Half the recording step, levels."""

TOP = 10.0
"""The end of the scale: a reading there says "this or lighter"."""


def reading_bounds(level: FloatArray, start: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Lower and upper bound of the levels gained that a level read stands for.

    Parameters
    ----------
    level, start : ndarray (n,)
        As read, and as written before.

    Returns
    -------
    lower, upper : ndarray (n,)
        Infinite where open: at or below the start, and at the top of the scale.
    """
    gained = level - start
    lower = np.where(gained <= 0, -np.inf, gained - HALF_STEP)
    upper = np.where(level >= TOP, np.inf, np.maximum(gained, 0.0) + HALF_STEP)
    return lower, upper
