"""Boosted trees of quantiles: split by client, tuned by cross-validation, their band made to hold.

Conformalised quantile regression: Romano, Y., Patterson, E. & Candès, E. J. (2019). Advances in Neural
Information Processing Systems 32, 3543-3553. Trees by scikit-learn.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import product

import numpy as np
import numpy.typing as npt
from scipy.special import ndtr, ndtri
from sklearn.ensemble import HistGradientBoostingRegressor
from sklearn.model_selection import GroupKFold, GroupShuffleSplit
from threadpoolctl import threadpool_limits

from outcomes.calibration.conformal import conformal_quantile
from outcomes.calibration.crps import pinball
from outcomes.errors import InputError

__all__ = ["LEVELS", "QuantileTrees", "best_of", "chance_below", "conformal_ends", "split_clients", "tune"]

FloatArray = npt.NDArray[np.float64]
BoolArray = npt.NDArray[np.bool_]
Candidate = tuple[int, int]

LEVELS = (0.05, 0.1, 0.25, 0.5, 0.75, 0.9, 0.95)
"""Levels of the quantiles: the ends of bands that hold 0.5, 0.8 and 0.9, and the median."""

_TUNED = (0.1, 0.5, 0.9)
_FOLDS = 3
_RATE = 0.1
# Trees of some thousand rows are too small to share out: on two cores a second thread won nothing, and with
# another process on one of them the two waited for each other, 28 s instead of 4.
_THREADS = 1
# Half steps tie: a cell of no width is a step.
_STEP = 1e-9


def split_clients(client: npt.ArrayLike, share: float, seed: int) -> tuple[BoolArray, BoolArray]:
    """Clients to learn from and clients to calibrate on, none in both.

    Parameters
    ----------
    client : array_like (n,)
        Code of each row's client.
    share : float
        Of the clients, to calibrate on.
    seed : int

    Returns
    -------
    learned, calibrated : ndarray of bool (n,)

    Raises
    ------
    InputError
        Fewer than two clients.
    """
    codes = np.unique(np.asarray(client), return_inverse=True)[1]
    if len(codes) == 0 or codes.max() == 0:
        raise InputError(f"client: found {len(set(codes))}; two or more are expected; give a larger log")
    splitter = GroupShuffleSplit(n_splits=1, test_size=share, random_state=seed)
    calibrated = np.zeros(len(codes), dtype=bool)
    calibrated[next(splitter.split(codes, groups=codes))[1]] = True
    return ~calibrated, calibrated


def _trees(level: float, leaves: int, iterations: int, seed: int) -> HistGradientBoostingRegressor:
    return HistGradientBoostingRegressor(
        loss="quantile",
        quantile=level,
        learning_rate=_RATE,
        max_iter=iterations,
        max_leaf_nodes=leaves,
        early_stopping=False,
        random_state=seed,
    )


def tune(
    features: FloatArray,
    gain: FloatArray,
    client: npt.ArrayLike,
    leaves: Sequence[int],
    iterations: Sequence[int],
    seed: int,
) -> dict[Candidate, float]:
    """Pinball loss of each size of trees on clients that it wasn't learned from.

    Parameters
    ----------
    features : ndarray (n, q)
    gain : ndarray (n,)
    client : array_like (n,)
        Two clients or more; three folds, or one for each client where there are two.
    leaves, iterations : sequence of int
        Every pair is tried; the fewer iterations come out of the same trees as the most.
    seed : int

    Returns
    -------
    dict of (leaves, iterations) to float
        Mean over rows and the levels 0.1, 0.5 and 0.9, in levels gained.
    """
    codes = np.unique(np.asarray(client), return_inverse=True)[1]
    folds = list(GroupKFold(min(_FOLDS, int(codes.max()) + 1)).split(features, gain, codes))
    most = max(iterations)
    losses = {(size, count): 0.0 for size in leaves for count in iterations}
    with threadpool_limits(_THREADS):
        for size, level, (learned, tried) in product(leaves, _TUNED, folds):
            trees = _trees(level, size, most, seed).fit(features[learned], gain[learned])
            for count, told in enumerate(trees.staged_predict(features[tried]), start=1):
                if (size, count) in losses:
                    losses[size, count] += float(pinball(gain[tried], told, level).sum())
    return {size: loss / (len(gain) * len(_TUNED)) for size, loss in losses.items()}


def best_of(losses: Mapping[Candidate, float]) -> Candidate:
    """The size of trees with the least loss; of equal ones the smallest.

    Parameters
    ----------
    losses : mapping of (leaves, iterations) to float

    Returns
    -------
    tuple of int
    """
    return min(losses, key=lambda size: (losses[size], size))


class QuantileTrees:
    """One set of boosted trees for each of `LEVELS`.

    Parameters
    ----------
    leaves, iterations : int
        Size of a tree, and how many.
    seed : int
    """

    def __init__(self, leaves: int, iterations: int, seed: int) -> None:
        self._each = [_trees(level, leaves, iterations, seed) for level in LEVELS]

    def fit(self, features: FloatArray, gain: FloatArray) -> QuantileTrees:
        """Learn the quantiles.

        Parameters
        ----------
        features : ndarray (n, q)
        gain : ndarray (n,)

        Returns
        -------
        QuantileTrees
            Itself.
        """
        with threadpool_limits(_THREADS):
            for trees in self._each:
                trees.fit(features, gain)
        return self

    def predict(self, features: FloatArray) -> FloatArray:
        """Quantiles, sorted: trees of two levels know nothing of each other and may cross.

        Parameters
        ----------
        features : ndarray (n, q)

        Returns
        -------
        ndarray (n, L)
        """
        with threadpool_limits(_THREADS):
            return np.sort(np.column_stack([trees.predict(features) for trees in self._each]), axis=1)


def _between(told: FloatArray, level: float) -> FloatArray:
    """Quantile of a level between those known, normal from one to the next; beyond them the outermost."""
    place = float(np.interp(ndtri(level), ndtri(LEVELS), np.arange(len(LEVELS))))
    first = min(int(place), len(LEVELS) - 2)
    return told[:, first] + (place - first) * (told[:, first + 1] - told[:, first])


def conformal_ends(
    told: FloatArray, coverage: float, calibration: FloatArray, gain: FloatArray, *, finite: bool = False
) -> tuple[FloatArray, FloatArray]:
    """Ends of a central band, moved out or in until it holds for the calibration clients.

    Parameters
    ----------
    told : ndarray (n, L)
        Quantiles to make a band of.
    coverage : float
    calibration : ndarray (m, L)
        Quantiles of rows that nothing was learned from.
    gain : ndarray (m,)
        What was gained there.
    finite : bool
        Where there are too few rows for a bound, take the largest score instead of none.

    Returns
    -------
    low, high : ndarray (n,)
        Equal where moving in would have crossed them.
    """
    tail = 0.5 * (1.0 - coverage)
    below, above = _between(calibration, tail) - gain, gain - _between(calibration, 1.0 - tail)
    scores = np.maximum(below, above)
    shift = conformal_quantile(scores, coverage)
    if finite:
        shift = min(shift, float(scores.max()))
    low, high = _between(told, tail) - shift, _between(told, 1.0 - tail) + shift
    crossed = low > high
    centre = 0.5 * (_between(told, tail) + _between(told, 1.0 - tail))
    return np.where(crossed, centre, low), np.where(crossed, centre, high)


def chance_below(told: FloatArray, value: FloatArray) -> FloatArray:
    """Distribution function that goes through some quantiles, normal from one to the next and beyond them.

    Parameters
    ----------
    told : ndarray (n, L)
        Quantiles of `LEVELS`, sorted.
    value : ndarray (n,)

    Returns
    -------
    ndarray (n,)
    """
    at = np.clip((told <= value[:, None]).sum(axis=1) - 1, 0, len(LEVELS) - 2)
    row = np.arange(len(told))
    first, second = told[row, at], told[row, at + 1]
    z = ndtri(LEVELS)
    past = value >= second  # only in the last cell; from its end, which is beyond a step
    part = past + (value - np.where(past, second, first)) / np.maximum(second - first, _STEP)
    return np.asarray(ndtr(z[at] + part * (z[at + 1] - z[at])), dtype=np.float64)
