"""What every peer of the model can be asked, and what it is handed for that: arrays, checked here once."""

from __future__ import annotations

from abc import ABC, abstractmethod
from typing import Any, Self

import numpy as np
import numpy.typing as npt

from outcomes.calibration.given import given_numbers, given_positive, given_share
from outcomes.errors import InputError, NotFittedError

__all__ = ["Peer"]

FloatArray = npt.NDArray[np.float64]


class Peer(ABC):
    """What all peers can be asked.

    Rows are of a design matrix without the minutes, and may have no column.
    """

    _width = -1  # columns of the rows that were learned from

    def fit(
        self, rows: npt.ArrayLike, minutes: npt.ArrayLike, gain: npt.ArrayLike, client: npt.ArrayLike
    ) -> Self:
        """Learn from looks.

        Parameters
        ----------
        rows : array_like (n, p)
            Covariates.
        minutes : array_like (n,)
            Since application, above 0.
        gain : array_like (n,)
            Levels gained.
        client : array_like (n,)
            Code of each row's client.

        Returns
        -------
        Peer
            Itself.

        Raises
        ------
        InputError
            Arrays that don't fit each other; too few rows or clients.
        """
        covariates = given_numbers("rows", rows, (-1, -1))
        gained = given_numbers("gain", gain, (len(covariates),))
        whose = np.asarray(client)
        if whose.shape != gained.shape:
            raise InputError(f"client of shape {whose.shape}; {gained.shape} is expected; give one a row")
        self._learn(covariates, self._minutes(minutes, len(gained)), gained, whose)
        self._width = covariates.shape[1]
        return self

    def band(
        self, rows: npt.ArrayLike, minutes: npt.ArrayLike, coverage: float
    ) -> tuple[FloatArray, FloatArray]:
        """Central band of the levels gained.

        Parameters
        ----------
        rows : array_like (n, p)
        minutes : array_like (n,)
        coverage : float

        Returns
        -------
        low, high : ndarray (n,)
            Infinite where a conformal peer has too few rows to calibrate on.

        Raises
        ------
        InputError
            Arrays that don't fit each other or what was learned from; minutes at or below 0; no coverage.
        NotFittedError
            Before `fit`.
        """
        return self._band(*self._asked(rows, minutes), given_share("coverage", coverage))

    def crps(self, rows: npt.ArrayLike, minutes: npt.ArrayLike, gain: npt.ArrayLike) -> FloatArray:
        """Continuous ranked probability score of what was gained.

        Parameters
        ----------
        rows : array_like (n, p)
        minutes, gain : array_like (n,)

        Returns
        -------
        ndarray (n,)
            In levels.

        Raises
        ------
        InputError
            Arrays that don't fit each other or what was learned from; minutes at or below 0.
        NotFittedError
            Before `fit`.
        """
        asked = self._asked(rows, minutes)
        return self._crps(*asked, given_numbers("gain", gain, (len(asked[0]),)))

    def log_score(self, rows: npt.ArrayLike, minutes: npt.ArrayLike, gain: npt.ArrayLike) -> FloatArray:
        """Minus the log chance of the half step that was written.

        Parameters
        ----------
        rows : array_like (n, p)
        minutes, gain : array_like (n,)

        Returns
        -------
        ndarray (n,)
            NaN from a peer that has no density.

        Raises
        ------
        InputError
            Arrays that don't fit each other or what was learned from; minutes at or below 0.
        NotFittedError
            Before `fit`.
        """
        asked = self._asked(rows, minutes)
        return self._log_score(*asked, given_numbers("gain", gain, (len(asked[0]),)))

    def chance_reached(self, rows: npt.ArrayLike, minutes: npt.ArrayLike, need: npt.ArrayLike) -> FloatArray:
        """Chance that at least so much is gained.

        Parameters
        ----------
        rows : array_like (n, p)
        minutes : array_like (n,)
        need : array_like (n,) or float
            On the continuous scale: to be read at a goal, a quarter of a level less than the goal asks for.

        Returns
        -------
        ndarray (n,)

        Raises
        ------
        InputError
            Arrays that don't fit each other or what was learned from; minutes at or below 0.
        NotFittedError
            Before `fit`.
        """
        asked = self._asked(rows, minutes)
        needed = np.broadcast_to(np.asarray(need, dtype=np.float64), asked[1].shape)
        return self._reached(*asked, given_numbers("need", needed, asked[1].shape))

    def _asked(self, rows: npt.ArrayLike, minutes: npt.ArrayLike) -> tuple[FloatArray, FloatArray]:
        if self._width < 0:
            raise NotFittedError(f"{type(self).__name__} isn't fitted; call `fit` before anything else")
        covariates = given_numbers("rows", rows, (-1, self._width))
        return covariates, self._minutes(minutes, len(covariates))

    @staticmethod
    def _minutes(minutes: npt.ArrayLike, n: int) -> FloatArray:
        return given_positive("minutes", given_numbers("minutes", minutes, (n,)))

    @abstractmethod
    def _learn(self, rows: FloatArray, minutes: FloatArray, gain: FloatArray, client: Any) -> None: ...

    @abstractmethod
    def _band(
        self, rows: FloatArray, minutes: FloatArray, coverage: float
    ) -> tuple[FloatArray, FloatArray]: ...

    @abstractmethod
    def _crps(self, rows: FloatArray, minutes: FloatArray, gain: FloatArray) -> FloatArray: ...

    @abstractmethod
    def _log_score(self, rows: FloatArray, minutes: FloatArray, gain: FloatArray) -> FloatArray: ...

    @abstractmethod
    def _reached(self, rows: FloatArray, minutes: FloatArray, need: FloatArray) -> FloatArray: ...
