"""Factors on spreads, and a tail, that the clients left out ask for.

The log score of the first visit of every client who was left out is raised over the factors, with its exact
derivatives; each client counts once. A second visit, given the first, has a factor of its own.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from outcomes.calibration.folds import HeldOut
from outcomes.predictive.distribution import Recalibration

__all__ = ["Recalibrated", "recalibrate"]

FloatArray = npt.NDArray[np.float64]
BoolArray = npt.NDArray[np.bool_]

PARTICLES = 512

PARTICLES_AGAIN = 1024
"""For second visits: what a first visit tells leaves few of its particles much weight."""

PRIOR_SD = 0.1
"""Of the log of each factor about no change: with 50 clients it weighs as much as they do."""

TAILS = (30.0, 15.0, 10.0, 7.0, 5.0, 4.0, 3.0)
"""Degrees of freedom that are tried, one after another, as long as they score better."""

TAIL_PRIOR = 0.05
"""Mean of an exponential prior of 1 / df: 20 degrees of freedom cost a log score of 1, 4 cost 5."""

ENOUGH = 20
"""Clients that can be scored; with fewer nothing is rescaled."""

_PLACE = {"spread": 0, "reading": 1, "later": 2}  # among the derivatives of `Followed`
_STEPS = 8
_DONE = 0.02  # log score still to be gained


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
        Log score that it adds, over all clients.
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


def recalibrate(held: HeldOut, usable: BoolArray, seed: int) -> Recalibrated:
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
        if score <= best_score:
            break
        best, best_score = found, score
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
    """Newton's method on the log score of some visits, one of each client, over some of the factors."""

    def __init__(
        self,
        held: HeldOut,
        at: npt.NDArray[np.intp],
        fold: npt.NDArray[np.intp],
        names: tuple[str, ...],
        seed: int,
    ) -> None:
        self.held, self.at, self.fold, self.names, self.seed = held, at, fold, names, seed
        again = "later" in names
        self.visits, self.particles = (2, PARTICLES_AGAIN) if again else (1, PARTICLES)
        self._known: dict[Recalibration, tuple[float, FloatArray]] = {}

    def _logs(self, at: Recalibration) -> FloatArray:
        return np.log([getattr(at, name) for name in self.names])

    def _with(self, at: Recalibration, logs: FloatArray) -> Recalibration:
        return replace(at, **{name: float(np.exp(log)) for name, log in zip(self.names, logs, strict=True)})

    def _follow(self, at: Recalibration) -> tuple[float, FloatArray]:
        """Penalised log score, and each client's derivatives of its own, (k, names)."""
        if at in self._known:
            return self._known[at]
        held = self.held.with_recalibration(at)
        found = held.follow(self.particles, self.seed, visits=self.visits, slopes=True)
        penalty = 0.5 * np.sum((self._logs(at) / PRIOR_SD) ** 2)
        penalty += 0.0 if at.df is None else 1.0 / (at.df * TAIL_PRIOR)
        places = [_PLACE[name] for name in self.names]
        score = float(found.log_chance[self.at].sum() - penalty)
        self._known[at] = score, found.slope[self.at][:, places]
        return self._known[at]

    def score(self, at: Recalibration) -> float:
        """Penalised log score."""
        return self._follow(at)[0]

    def _newton(self, at: Recalibration, slopes: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Step, and its gradient; curvature from the spread of the clients' derivatives (BHHH)."""
        centred = slopes - slopes.mean(axis=0)
        curvature = centred.T @ centred + np.eye(len(self.names)) / PRIOR_SD**2
        gradient = slopes.sum(axis=0) - self._logs(at) / PRIOR_SD**2
        return np.linalg.solve(curvature, gradient), gradient

    def top(self, start: Recalibration) -> tuple[Recalibration, float]:
        """Best factors from here on, the tail held, and their penalised log score."""
        at, (score, slopes) = start, self._follow(start)
        for _ in range(_STEPS):
            step, gradient = self._newton(at, slopes)
            if 0.5 * float(step @ gradient) < _DONE:
                break
            for _halving in range(4):
                new = self._with(at, self._logs(at) + np.clip(step, -0.5, 0.5))
                new_score, new_slopes = self._follow(new)
                if new_score > score:
                    at, score, slopes = new, new_score, new_slopes
                    break
                step = 0.5 * step
            else:
                break
        return at, score

    def without_each_fold(self, best: Recalibration, folds: int) -> tuple[Recalibration, ...]:
        """Where the climb without each fold's clients would end, by one Newton step from `best`."""
        slopes = self._follow(best)[1]
        found = []
        for number in range(folds):
            step, _ = self._newton(best, slopes[self.fold != number])
            found.append(self._with(best, self._logs(best) + np.clip(step, -0.5, 0.5)))
        return tuple(found)
