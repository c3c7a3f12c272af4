"""Fits that leave a fifth of the clients out, and what they expected of just those clients."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any, Generic, TypeVar

import numpy as np
import numpy.typing as npt
import pandas as pd

from outcomes.engine import MixedFit
from outcomes.errors import FitError
from outcomes.models.arrange import Arranged, fit_arranged
from outcomes.models.rate import RateModel
from outcomes.predictive.distribution import Predictive, Recalibration
from outcomes.predictive.follow import Followed, follow
from outcomes.predictive.mixture import mix
from outcomes.predictive.told import ToldVisits

__all__ = ["FOLDS", "Folds", "HeldOut", "split_clients"]

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.intp]
P = TypeVar("P", bound=Predictive)

FOLDS = 5
"""Fewer leave more out than a forecast would miss; more cost more, a fit each."""

DRAWS = 200
"""Draws of the parameters of each fold's fit."""

# A fold's fit starts from the fit of the whole log and ends two thirds of a standard error from its own
# best at most: that moves a client's log score by a hundredth of its spread.
_TOLERANCE = 0.3
_NODES = 9

# The information that so rough a fit works out may be no use in a small log: of 80 visits the error of a log
# sd came out as 9, and draws of a reading's error as 270 levels. Where the whole log's was worked out finely
# it serves, for the climb and for the draws; elsewhere a fit with such errors is climbed to its end.
_CAREFUL = 0.04
_MOST_ERROR = 1.0


def split_clients(visits: IntArray, folds: int, seed: int) -> IntArray:
    """A fold for every client, each fold with about as many visits.

    Parameters
    ----------
    visits : ndarray of int (C,)
        How many each client has.
    folds : int
    seed : int

    Returns
    -------
    ndarray of int (C,)
        0 to folds - 1.
    """
    rng = np.random.default_rng(seed)
    # clients by number of visits, in random order where equal; each round of folds in an order of its own
    order = np.lexsort((rng.random(len(visits)), -np.asarray(visits)))
    rounds = -(-len(visits) // folds)
    dealt = np.concatenate([rng.permutation(folds) for _ in range(rounds)] or [np.zeros(0, dtype=np.intp)])
    fold = np.empty(len(visits), dtype=np.intp)
    fold[order] = dealt[: len(visits)]
    return fold


@dataclass(frozen=True, eq=False)
class HeldOut(Generic[P]):
    """Visits of all clients, and for each fold of them a distribution that doesn't know them.

    Attributes
    ----------
    told : ToldVisits
    fold : ndarray of int (C,)
    predictives : tuple of Predictive
        One a fold.
    """

    told: ToldVisits
    fold: IntArray
    predictives: tuple[P, ...]

    @property
    def top(self) -> float:
        """End of the scale, levels."""
        return self.predictives[0].top

    def with_recalibration(self, recalibration: Recalibration) -> HeldOut[P]:
        """The same under another recalibration.

        Parameters
        ----------
        recalibration : Recalibration

        Returns
        -------
        HeldOut
        """
        changed = tuple(replace(one, recalibration=recalibration) for one in self.predictives)
        return replace(self, predictives=changed)

    def each_with(self, recalibrations: Sequence[Recalibration]) -> HeldOut[P]:
        """The same, each fold under a recalibration of its own.

        Parameters
        ----------
        recalibrations : sequence of Recalibration

        Returns
        -------
        HeldOut
        """
        pairs = zip(self.predictives, recalibrations, strict=True)
        return replace(self, predictives=tuple(replace(one, recalibration=of) for one, of in pairs))

    def mixed(self, other: HeldOut[P], share: float) -> HeldOut[P]:
        """The same, a share of every fold's draws taken from another's.

        Parameters
        ----------
        other : HeldOut
        share : float
            0 to 1.

        Returns
        -------
        HeldOut
        """
        pairs = zip(self.predictives, other.predictives, strict=True)
        return replace(self, predictives=tuple(mix(one, two, share) for one, two in pairs))

    def follow(
        self,
        n: int,
        seed: int,
        *,
        visits: int | None = None,
        slopes: bool = False,
        samples: bool = False,
        pilot: Recalibration | None = None,
    ) -> Followed:
        """What each fold's distribution expected of its clients.

        Parameters
        ----------
        n, seed, slopes, samples, pilot : as in `outcomes.predictive.follow.follow`
        visits : int, optional
            Visits of a client that are followed, at most.

        Returns
        -------
        Followed
        """
        parts = [
            follow(
                *(
                    one,
                    self.told.of_clients(np.flatnonzero(self.fold == number), visits),
                    n,
                    seed + 1000 * number,
                ),
                slopes=slopes,
                samples=samples,
                pilot=pilot,
            )
            for number, one in enumerate(self.predictives)
        ]
        names = ("low", "high", "log_chance", "slope", "sample")
        return Followed(**{name: sum(getattr(part, name) for part in parts) for name in names})


@dataclass(frozen=True, eq=False)
class Folds(Generic[P]):
    """A fitted model and its clients in folds.

    Attributes
    ----------
    model : RateModel
    arranged : Arranged
        All of its readings.
    told : ToldVisits
    fold : ndarray of int (C,)
    of_reading : ndarray of int (n,)
        Fold of each reading of `arranged`.
    """

    model: RateModel[P]
    arranged: Arranged
    told: ToldVisits
    fold: IntArray
    of_reading: IntArray

    @classmethod
    def of(cls, model: RateModel[P], folds: int = FOLDS, seed: int = 1) -> Folds[P]:
        """Deal the clients of a fitted model into folds.

        Design, habits, looks and clock stay as the whole log told them; see DEVELOPERS.md for how little that
        tells about the clients left out.

        Parameters
        ----------
        model : RateModel
            Fitted.
        folds : int
        seed : int

        Returns
        -------
        Folds
        """
        told = model.told_
        fold = split_clients(told.n_visits, folds, seed)
        return cls(model, model.arranged_, told, fold, fold[model.client_of_reading_])

    @property
    def count(self) -> int:
        """Number of folds."""
        return int(self.fold.max()) + 1

    def fit_without(self, number: int, family: str) -> MixedFit:
        """A fit without the clients of one fold.

        Parameters
        ----------
        number : int
            Of the fold.
        family : {"power", "saturating"}

        Returns
        -------
        MixedFit

        Raises
        ------
        InputError, FitError
            As `fit_interval_mixed`; FitError where the fold leaves too little to tell some spread by.
        """
        part, whole = self.arranged.part(self.of_reading != number), self.model.fits_.get(family)

        def fit(tolerance: float, **options: Any) -> MixedFit:
            return fit_arranged(
                part, family, use_prior=self.model.use_prior, start=whole, tolerance=tolerance, **options
            )

        if whole is not None and family in self.model.fine_ and _is_sound(whole):
            rough = fit(_TOLERANCE, nodes=_NODES, information=_of_most(whole, self.count))
            if rough.converged:
                return rough
        found = fit(_TOLERANCE, nodes=_NODES)
        if not found.converged:
            found = fit(_CAREFUL)
        elif not _is_sound(found):
            found = fit(_CAREFUL, nodes=_NODES)
        if not _is_sound(found):
            held_by = "log more visits" if self.model.use_prior else "log more visits, or fit with priors"
            raise FitError(
                f"some spread is told by so few of them that draws of it would be anything; {held_by}"
            )
        return found

    def held_out(self, fits: Sequence[MixedFit]) -> HeldOut[P]:
        """What these fits leave behind, each for its own fold.

        Parameters
        ----------
        fits : sequence of MixedFit
            Of the first so many folds; clients of the others are passed over.

        Returns
        -------
        HeldOut
        """
        whole = self.model.predictive_
        made = [
            replace(whole, draws=self.model.drawn(fit, DRAWS), recalibration=Recalibration()) for fit in fits
        ]
        return HeldOut(self.told, self.fold, tuple(made))


def _of_most(whole: MixedFit, folds: int) -> pd.DataFrame:
    """What a fit without one of so many folds is expected to tell of the outer parameters."""
    names = list(whole.joint.outer_names)
    information = np.linalg.inv(whole.joint.outer_covariance) * (folds - 1) / folds
    return pd.DataFrame(information, index=names, columns=names)


def _is_sound(fit: MixedFit) -> bool:
    """Whether the errors of the log parameters are such as logs leave."""
    errors = np.sqrt(np.maximum(np.diagonal(fit.joint.outer_covariance), 0.0))
    return bool(np.isfinite(errors).all() and errors.max(initial=0.0) <= _MOST_ERROR)
