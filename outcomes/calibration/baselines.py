"""Honest peers: levels gained as a competent user would predict them from covariates and minutes.

One row is the first look of a visit, or its result where nobody looked. A gain is a difference of readings in
half steps; bands and scores are of it as a continuous number, log scores of the half step that was written.
"""

from __future__ import annotations

from abc import abstractmethod
from typing import Any

import numpy as np
import numpy.typing as npt
from scipy.special import ndtr, ndtri, stdtr, stdtrit

from outcomes.calibration.boosted import (
    LEVELS,
    QuantileTrees,
    best_of,
    chance_below,
    conformal_ends,
    split_clients,
    tune,
)
from outcomes.calibration.crps import crps_quantiles, crps_student
from outcomes.calibration.given import given_share
from outcomes.calibration.peer import Peer
from outcomes.calibration.scores import log_score_rounded
from outcomes.errors import InputError
from outcomes.readings.aliases import independent_columns

__all__ = ["BASELINES", "BoostedQuantiles", "LeastSquares", "TeamAverage"]

FloatArray = npt.NDArray[np.float64]
# mean, scale and degrees of freedom of Student's t; infinite: normal
Law = tuple[FloatArray, FloatArray, float]


class _Bell(Peer):
    """A peer whose predictions are normal, or Student's t where their spread was estimated."""

    @abstractmethod
    def _law(self, rows: FloatArray, minutes: FloatArray) -> Law: ...

    def _band(self, rows: FloatArray, minutes: FloatArray, coverage: float) -> tuple[FloatArray, FloatArray]:
        mean, scale, df = self._law(rows, minutes)
        upper = 0.5 + 0.5 * coverage
        reach = scale * (ndtri(upper) if np.isposinf(df) else stdtrit(df, upper))
        return mean - reach, mean + reach

    def _crps(self, rows: FloatArray, minutes: FloatArray, gain: FloatArray) -> FloatArray:
        return crps_student(gain, *self._law(rows, minutes))

    def _log_score(self, rows: FloatArray, minutes: FloatArray, gain: FloatArray) -> FloatArray:
        return log_score_rounded(gain, *self._law(rows, minutes))

    def _reached(self, rows: FloatArray, minutes: FloatArray, need: FloatArray) -> FloatArray:
        mean, scale, df = self._law(rows, minutes)
        z = (mean - need) / scale
        return np.asarray(ndtr(z) if np.isposinf(df) else stdtr(df, z), dtype=np.float64)


class TeamAverage(_Bell):
    """Everybody gains what the team gains on average: normal, with the sd of the gains.

    Attributes
    ----------
    mean_, sd_ : float
        In levels.
    """

    def _learn(self, rows: FloatArray, minutes: FloatArray, gain: FloatArray, client: Any) -> None:
        if len(gain) < 2 or not gain.std() > 0.0:
            raise InputError(
                f"gain: {len(gain)} rows without a spread; two that differ are expected; add rows"
            )
        self.mean_, self.sd_ = float(gain.mean()), float(gain.std(ddof=1))

    def _law(self, rows: FloatArray, minutes: FloatArray) -> Law:
        return np.full(len(rows), self.mean_), np.full(len(rows), self.sd_), np.inf


class LeastSquares(_Bell):
    """Least squares of levels gained on log minutes and covariates.

    The band is statsmodels' prediction interval (`obs_ci`): Student's t, the uncertainty of the coefficients
    included; scores and chances are of the same distribution. An intercept is added; columns that are
    combinations of earlier ones are left out.

    Attributes
    ----------
    kept_ : list of int
        Columns of [intercept, log minutes, covariates] that stayed.
    fit_ : statsmodels results
    """

    def _learn(self, rows: FloatArray, minutes: FloatArray, gain: FloatArray, client: Any) -> None:
        from statsmodels.regression.linear_model import OLS  # a second that other peers can do without

        design = self._design(rows, minutes)
        # statsmodels' pseudo-inverse takes a rounding error for news
        self.kept_ = independent_columns(design)[0]
        if len(gain) < len(self.kept_) + 2:
            raise InputError(
                f"gain: {len(gain)} rows for {len(self.kept_)} columns; two more than columns are expected; "
                "add rows or leave covariates out"
            )
        self.fit_ = OLS(gain, design[:, self.kept_]).fit()

    @staticmethod
    def _design(rows: FloatArray, minutes: FloatArray) -> FloatArray:
        return np.column_stack([np.ones(len(rows)), np.log(minutes / 45.0), rows])

    def _law(self, rows: FloatArray, minutes: FloatArray) -> Law:
        told = self.fit_.get_prediction(self._design(rows, minutes)[:, self.kept_])
        return told.predicted_mean, told.se_obs, float(self.fit_.df_resid)


class BoostedQuantiles(Peer):
    """Boosted trees of seven quantiles, tuned by cross-validation, their bands conformal.

    Learned and tuned on some clients and calibrated on the others. A band then holds with its coverage for a
    row exchangeable with those it was calibrated on: of a new client, and of one row a client exactly.

    Parameters
    ----------
    leaves, iterations : tuple of int
        Sizes of a tree and numbers of trees, each pair a candidate; a lone one is taken untried.
    share : float
        Of the clients, to calibrate on.
    seed : int

    Attributes
    ----------
    losses_ : dict of (leaves, iterations) to float
        Cross-validated pinball loss, in levels.
    size_ : tuple of int
        Leaves and iterations that were taken.
    learned_, calibrated_ : ndarray of bool (n,)
        Which rows each was done on.

    References
    ----------
    Romano, Y., Patterson, E. & Candès, E. J. (2019). Conformalized quantile regression. Advances in Neural
    Information Processing Systems 32, 3543-3553.
    """

    def __init__(
        self,
        leaves: tuple[int, ...] = (3, 6, 12),
        iterations: tuple[int, ...] = (40, 80, 160),
        share: float = 0.25,
        seed: int = 1,
    ) -> None:
        self.leaves = leaves
        self.iterations = iterations
        self.share = share
        self.seed = seed

    def _learn(self, rows: FloatArray, minutes: FloatArray, gain: FloatArray, client: Any) -> None:
        features = np.column_stack([minutes, rows])
        share = given_share("share", self.share)
        self.learned_, self.calibrated_ = split_clients(client, share, self.seed)
        taught, true, whose = features[self.learned_], gain[self.learned_], client[self.learned_]
        self.losses_: dict[tuple[int, int], float] = {}
        self.size_ = (min(self.leaves), min(self.iterations))
        # a lone candidate needs no trial, and a lone client allows none
        if len(self.leaves) * len(self.iterations) > 1 and len(np.unique(whose)) > 1:
            self.losses_ = tune(taught, true, whose, self.leaves, self.iterations, self.seed)
            self.size_ = best_of(self.losses_)
        self.trees_ = QuantileTrees(*self.size_, self.seed).fit(taught, true)
        self._calibration = self.trees_.predict(features[self.calibrated_])
        self._gain = gain[self.calibrated_]

    def _told(self, rows: FloatArray, minutes: FloatArray) -> FloatArray:
        return self.trees_.predict(np.column_stack([minutes, rows]))

    def _held(self, rows: FloatArray, minutes: FloatArray) -> FloatArray:
        """Quantiles with the bands' corrections, (n, L); the median stays. None is infinite."""
        told = self._told(rows, minutes)
        held = told.copy()
        for at, level in enumerate(LEVELS[: len(LEVELS) // 2]):
            ends = conformal_ends(told, 1.0 - 2.0 * level, self._calibration, self._gain, finite=True)
            held[:, at], held[:, -1 - at] = ends
        return np.sort(held, axis=1)

    def _band(self, rows: FloatArray, minutes: FloatArray, coverage: float) -> tuple[FloatArray, FloatArray]:
        return conformal_ends(self._told(rows, minutes), coverage, self._calibration, self._gain)

    def _crps(self, rows: FloatArray, minutes: FloatArray, gain: FloatArray) -> FloatArray:
        return crps_quantiles(LEVELS, self._held(rows, minutes), gain)

    def _log_score(self, rows: FloatArray, minutes: FloatArray, gain: FloatArray) -> FloatArray:
        return np.full(len(rows), np.nan)

    def _reached(self, rows: FloatArray, minutes: FloatArray, need: FloatArray) -> FloatArray:
        return 1.0 - chance_below(self._held(rows, minutes), need)


BASELINES: dict[str, type[Peer]] = {
    "team_average": TeamAverage,
    "least_squares": LeastSquares,
    "boosted_quantiles": BoostedQuantiles,
}
"""Peers by name, the simplest first."""
