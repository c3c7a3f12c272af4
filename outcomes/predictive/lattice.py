"""Evenly spread points in many dimensions: a rank-1 lattice, shifted at random by the seed.

Averages over such points have a fraction of the error that as many independent draws leave.
"""

from __future__ import annotations

import random

import numpy as np
import numpy.typing as npt

from outcomes.errors import InputError

__all__ = ["DIMENSIONS", "SIZES", "lattice"]

SIZES = (32, 64, 128, 256, 512, 1024, 2048, 4096, 8192, 16384)

# Found component by component (best of 400 odd candidates each) for all of SIZES at once: the smallest
# largest-over-sizes ratio of the worst-case error in the weighted Korobov space of smoothness 1, with weights
# j^-1.5, to the best one at that size. So the first dimensions are spread best.
_GENERATOR = (
    1, 3473, 3001, 5269, 1995, 2875, 2589, 2217, 3337, 6307, 4547, 679, 4877, 4227, 2641, 7603, 2785, 389,
    1947, 6843, 6517, 7945, 355, 1551, 5251, 1191, 2027, 2181, 2517, 1687, 921, 933, 5127, 2471, 1615,
    3617, 1725, 3675, 555, 2259, 4323, 1443, 4657, 5401, 7183, 8073, 5241, 1817, 2167, 7375, 6177, 2685,
    7049, 2825, 147, 87, 7143, 1627, 6041, 6083, 4703, 4187, 1271, 5929,
)  # fmt: skip

DIMENSIONS = len(_GENERATOR)


def lattice(n: int, dimensions: int, seed: int) -> npt.NDArray[np.float64]:
    """Points of the unit cube, one column each.

    Parameters
    ----------
    n : int
        Number of points, one of `SIZES`.
    dimensions : int
        At most `DIMENSIONS`.
    seed : int
        The same seed gives the same points.

    Returns
    -------
    ndarray (dimensions, n)
        In [0, 1); in each row every interval [i/n, (i+1)/n) holds exactly one point.

    Raises
    ------
    InputError
        Another n, or too many dimensions.
    """
    if n not in SIZES or not 1 <= dimensions <= DIMENSIONS:
        raise InputError(
            f"lattice of {n} points in {dimensions} dimensions; expected one of {', '.join(map(str, SIZES))} "
            f"points and at most {DIMENSIONS} dimensions"
        )
    generator = np.array(_GENERATOR[:dimensions], dtype=np.int64)
    # The standard library's generator: numpy's would be loaded for these few numbers alone.
    source = random.Random(seed)
    shift = np.array([source.random() for _ in range(dimensions)])
    points = (generator[:, None] * np.arange(n) % n) / n + shift[:, None]
    points -= points >= 1.0
    return np.asarray(points, dtype=np.float64)
