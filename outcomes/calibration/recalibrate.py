"""Factors on spreads, and a tail, that the clients left out ask for.

The log score of the first visit of every client who was left out is raised over the factors, with its exact
derivatives; each client counts once. A second visit, given the first, has a factor of its own.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import numpy.typing as npt
from scipy.optimize import minimize

from outcomes.calibration.folds import HeldOut
from outcomes.predictive.distribution import Recalibration

__all__ = ["Recalibrated", "recalibrate"]

FloatArray = npt.NDArray[np.float64]
BoolArray = npt.NDArray[np.bool_]

PARTICLES = 256

PRIOR_SD = 0.1
"""Of the log of each factor about no change: with 50 clients it weighs as much as they do."""

TAILS = (30.0, 15.0, 10.0, 7.0, 5.0, 4.0, 3.0)
"""Degrees of freedom that are tried, one after another, as long as they score better."""

TAIL_MARGIN = 2.0
"""Log score by which a tail must beat none at all."""

TAIL_PRIOR = 0.05
"""Mean of an exponential prior of 1 / df: 20 degrees of freedom cost a log score of 1, 4 cost 5."""

ENOUGH = 20
"""Clients that can be scored; with fewer nothing is rescaled."""

_PLACE = {"spread": 0, "reading": 1, "later": 2}  # among the derivatives of `Followed`
_DONE = 0.2  # gradient at which a climb ends, in standard errors: a log score of 0.02 is left
_LOGS = (-1.5, 1.5)  # of any factor
_NEAR, _ROUNDS = 0.08, 4


@dataclass(frozen=True, eq=False)
class Recalibrated:
    """What was found.

    Attributes
    ----------
    recalibration : Recalibration
        Of all clients.
    by_fold : tuple of Recalibration
        Of the clients outside each fold, so that the fold can be judged by it.
    gain : float
        Log score of first visits that it adds, over all clients, less what the priors take for it.
    clients, again : int
        Clients who were scored, and those of them scored on a second visit.
    """

    recalibration: Recalibration
    by_fold: tuple[Recalibration, ...]
    gain: float
    clients: int
    again: int

    @classmethod
    def unchanged(cls, folds: int, clients: int) -> Recalibrated:
        """Nothing rescaled.

        Parameters
        ----------
        folds : int
        clients : int
            Who could have been scored.

        Returns
        -------
        Recalibrated
        """
        return cls(Recalibration(), (Recalibration(),) * folds, 0.0, clients, 0)

    def to_dict(self) -> dict[str, float | int | None]:
        """As JSON values."""
        found: dict[str, float | int | None] = dict(vars(self.recalibration))
        return found | {"clients": self.clients, "clients_again": self.again, "log_score_gain": self.gain}


def recalibrate(held: HeldOut[Any], usable: BoolArray, seed: int) -> Recalibrated:
    """Raise the log score of clients who were left out, shrunk towards no change.

    Parameters
    ----------
    held : HeldOut
    usable : ndarray of bool (V,)
        Visits that can be scored.
    seed : int

    Returns
    -------
    Recalibrated
        Unchanged with fewer than `ENOUGH` clients.
    """
    first = held.told.first_visit
    ok = usable[first]
    folds = len(held.predictives)
    if ok.sum() < ENOUGH:
        return Recalibrated.unchanged(folds, int(ok.sum()))
    climbs = _Climb(held, first[ok], held.fold[ok], ("spread", "reading"), seed)
    plain = climbs.score(Recalibration())
    best, best_score = climbs.top(Recalibration())
    for df in TAILS:
        found, score = climbs.top(
            replace(best, df=df, spread=best.spread * (0.97 if best.df is None else 1.0))
        )
        if score <= best_score + (TAIL_MARGIN if best.df is None else 0.0):
            break
        best, best_score = found, score
    if best_score <= plain:  # particles placed anew may take back what a climb seemed to gain
        best, best_score = Recalibration(), plain
    by_fold = climbs.without_each_fold(best, folds)

    second = first + 1
    again = (held.told.n_visits > 1) & ok
    again[again] = usable[second[again]]
    if again.sum() >= ENOUGH:
        climbs = _Climb(held, second[again], held.fold[again], ("later",), seed)
        best, _ = climbs.top(best)
        later = climbs.without_each_fold(best, folds)
        by_fold = tuple(replace(one, later=two.later) for one, two in zip(by_fold, later, strict=True))
    gain = best_score - plain
    return Recalibrated(best, by_fold, float(gain), int(ok.sum()), int(again.sum()))


class _Climb:
    """The log score of some visits, one of each client, raised over some of the factors."""

    def __init__(
        self,
        held: HeldOut[Any],
        at: npt.NDArray[np.intp],
        fold: npt.NDArray[np.intp],
        names: tuple[str, ...],
        seed: int,
    ) -> None:
        self.held, self.at, self.fold, self.names, self.seed = held, at, fold, names, seed
        again = "later" in names
        self.visits = 2 if again else 1
        self._known: dict[tuple[Recalibration, Recalibration], tuple[float, FloatArray]] = {}

    def _logs(self, at: Recalibration) -> FloatArray:
        return np.log([getattr(at, name) for name in self.names])

    def _with(self, at: Recalibration, logs: FloatArray) -> Recalibration:
        return replace(at, **{name: float(np.exp(log)) for name, log in zip(self.names, logs, strict=True)})

    def _follow(self, at: Recalibration, pilot: Recalibration | None = None) -> tuple[float, FloatArray]:
        """Penalised log score, and each client's derivatives of its own, (k, names)."""
        pilot = pilot or at
        if (at, pilot) in self._known:
            return self._known[at, pilot]
        held = self.held.with_recalibration(at)
        found = held.follow(PARTICLES, self.seed, visits=self.visits, slopes=True, pilot=pilot)
        penalty = 0.5 * np.sum((self._logs(at) / PRIOR_SD) ** 2)
        penalty += 0.0 if at.df is None else 1.0 / (at.df * TAIL_PRIOR)
        places = [_PLACE[name] for name in self.names]
        score = float(found.log_chance[self.at].sum() - penalty)
        self._known[at, pilot] = score, found.slope[self.at][:, places]
        return self._known[at, pilot]

    def score(self, at: Recalibration) -> float:
        """Penalised log score."""
        return self._follow(at)[0]

    def _terms(self, at: Recalibration, slopes: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Curvature, from the spread of the clients' derivatives (BHHH), and gradient."""
        centred = slopes - slopes.mean(axis=0)
        curvature = centred.T @ centred + np.eye(len(self.names)) / PRIOR_SD**2
        return curvature, slopes.sum(axis=0) - self._logs(at) / PRIOR_SD**2

    def top(self, start: Recalibration) -> tuple[Recalibration, float]:
        """Best factors from here on, the tail held, and their penalised log score."""
        best = self._climb(start)
        for _ in range(_ROUNDS):
            # particles lie where the start placed them: far from it they are to be placed anew
            if np.abs(self._logs(best) - self._logs(start)).max() < _NEAR:
                break
            start, best = best, self._climb(best)
        return best, self._follow(best)[0]

    def _climb(self, start: Recalibration) -> Recalibration:
        """Best factors with particles that stay where `start` places them: the score is smooth then."""
        curvature, _ = self._terms(start, self._follow(start)[1])
        # in units of about a standard error each
        unit = 1.0 / np.sqrt(np.diagonal(curvature))

        def worse(at: FloatArray) -> tuple[float, FloatArray]:
            here = self._with(start, np.clip(at * unit, *_LOGS))
            score, slopes = self._follow(here, start)
            return -score, -self._terms(here, slopes)[1] * unit

        found = minimize(
            worse, self._logs(start) / unit, jac=True, method="BFGS", options={"gtol": _DONE, "maxiter": 30}
        )
        return self._with(start, np.clip(found.x * unit, *_LOGS))

    def without_each_fold(self, best: Recalibration, folds: int) -> tuple[Recalibration, ...]:
        """Where the climb without each fold's clients would end, by one step from `best`."""
        slopes, logs = self._follow(best)[1], self._logs(best)
        found = []
        for number in range(folds):
            curvature, gradient = self._terms(best, slopes[self.fold != number])
            found.append(self._with(best, logs + np.clip(np.linalg.solve(curvature, gradient), -0.2, 0.2)))
        return tuple(found)
