"""What every model of a rate does: fit each shape, keep the likelier, leave a predictive distribution.

Lift and fade differ in what a row says about progress and in the covariates; all else is here, or to the
right of here (`outcomes.calibration`), once.
"""

from __future__ import annotations

from abc import abstractmethod
from dataclasses import replace
from typing import Any, Generic, TypeVar

import numpy as np
import numpy.typing as npt
import pandas as pd
from sklearn.base import BaseEstimator
from sklearn.exceptions import NotFittedError as SklearnNotFittedError

from outcomes.engine import MixedFit
from outcomes.engine.shapes import FAMILIES
from outcomes.errors import FitError, InputError, NotFittedError
from outcomes.log.read import VisitLog
from outcomes.models.arrange import Arranged, fit_arranged
from outcomes.predictive.distribution import Predictive
from outcomes.predictive.told import ToldVisits
from outcomes.readings.design import Design

__all__ = ["N_DRAWS", "SEED", "RateModel"]

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.intp]
P = TypeVar("P", bound=Predictive)

N_DRAWS, SEED = 400, 1

# Shapes are compared by quick fits: starts as exact, few nodes, a coarse end.
QUICK_NODES = 9
_QUICK = 0.3  # Newton decrement at which they end: a tenth of what is decided by
_CLOSE = 10.0  # log-likelihood within which shapes are compared by fine fits instead
_FINE = 1e-3  # a thirtieth of a standard error
SMALL_NODES = 27
"""Where the engine's own number of nodes doesn't lead to an end."""


class _NotFitted(NotFittedError, SklearnNotFittedError):  # type: ignore[misc]
    """Caught by either name; `outcomes.errors` alone must stay free of scikit-learn."""


class RateModel(BaseEstimator, Generic[P]):  # type: ignore[misc]
    """Progress over an exposure with crossed effects; an estimator for each kind of progress derives from it.

    Attributes
    ----------
    fit_ : MixedFit
        Of the shape that was kept.
    fits_ : dict of str to MixedFit
        Of every shape; one that is far behind was fitted quickly.
    fine_ : set of str
        Shapes fitted finely.
    behind_ : dict of str to float
        Log-likelihood by which each shape is behind the best.
    shape_ : str
    design_ : Design
    predictive_ : Predictive
    notes_ : tuple of str
    """

    shapes: tuple[str, ...]
    use_prior: bool
    n_draws: int
    seed: int

    fit_: MixedFit
    fits_: dict[str, MixedFit]
    fine_: set[str]
    behind_: dict[str, float]
    shape_: str
    design_: Design
    predictive_: P
    notes_: tuple[str, ...]

    @property
    @abstractmethod
    def arranged_(self) -> Arranged:
        """All readings as the engine takes them."""

    @property
    @abstractmethod
    def told_(self) -> ToldVisits:
        """All readings as they are followed."""

    @property
    @abstractmethod
    def client_of_reading_(self) -> IntArray:
        """Number of the client, in the order of `told_`, of each reading of `arranged_`, (n,)."""

    @abstractmethod
    def told_of(self, log: VisitLog) -> tuple[ToldVisits, pd.DataFrame]:
        """Another log, read as this model's was.

        Parameters
        ----------
        log : VisitLog

        Returns
        -------
        ToldVisits
        DataFrame
            Its visits in that order.

        Raises
        ------
        InputError
            A category that the model's log never had.
        """

    @property
    @abstractmethod
    def told_rows_(self) -> pd.DataFrame:
        """Visits in the order of `told_`."""

    @property
    @abstractmethod
    def any_looks_(self) -> bool:
        """Whether it's known when readings were made: without that, bands can't be rescaled."""

    @abstractmethod
    def drawn(self, fit: MixedFit, n: int) -> dict[str, FloatArray]:
        """Draws of a fit, for this model's codes.

        Parameters
        ----------
        fit : MixedFit
        n : int

        Returns
        -------
        dict of str to ndarray
            As `Predictive` takes them.
        """

    @abstractmethod
    def _effects_of(self, fit: MixedFit) -> dict[str, Any]:
        """Effects as the model file keeps them."""

    def fine_fit(self, family: str) -> MixedFit:
        """The fit of a shape, as fine as that of the one that was kept.

        Parameters
        ----------
        family : str
            One of `fits_`.

        Returns
        -------
        MixedFit
        """
        self._check_fitted()
        if family not in self.fine_:
            self.fits_[family] = self._fine(self.arranged_, family, self.fits_[family])
            self.fine_.add(family)
        return self.fits_[family]

    def predictive_of(self, family: str) -> P:
        """The predictive distribution by one of the shapes.

        Parameters
        ----------
        family : str
            One of `fits_`.

        Returns
        -------
        Predictive
        """
        self._check_fitted()
        if family == self.shape_:
            return self.predictive_
        fit = self.fine_fit(family)
        draws, effects = self.drawn(fit, self.n_draws), self._effects_of(fit)
        return replace(self.predictive_, family=family, draws=draws, effects=effects)

    def _check_shapes(self) -> None:
        if not self.shapes or not set(self.shapes) <= set(FAMILIES):
            raise InputError(f"shapes {self.shapes!r}; one or more of {', '.join(FAMILIES)} are expected")

    def _fit_shapes(
        self, arranged: Arranged, rough: MixedFit | None = None, known: dict[str, MixedFit] | None = None
    ) -> dict[str, MixedFit]:
        """Every shape quickly, but for those known so already; then those in question finely."""
        fits: dict[str, MixedFit] = {}
        start, known = rough, known or {}
        for family in self.shapes:
            start = fits[family] = known.get(family) or self._quick(arranged, family, start)
        usable = {family: fit for family, fit in fits.items() if np.isfinite(fit.loglik)}
        if not usable:
            raise FitError(
                "no shape could be fitted to this log; `outcomes check` may tell what is odd in it"
            )
        best = max(fit.loglik for fit in usable.values())
        self.behind_ = {family: best - fit.loglik for family, fit in usable.items()}
        close = [family for family, behind in self.behind_.items() if behind < _CLOSE]
        for family in close:
            fits[family] = self._fine(arranged, family, usable[family])
        self.fine_ = set(close)
        best = max(fits[family].loglik for family in close)
        self.behind_ |= {family: best - fits[family].loglik for family in close}
        return {family: fits[family] for family in usable}

    def _keep_likelier(self, fits: dict[str, MixedFit]) -> None:
        self.fits_ = fits
        self.shape_ = min(self.behind_, key=lambda family: self.behind_[family])
        self.fit_ = fits[self.shape_]

    def _fine(self, arranged: Arranged, family: str, start: MixedFit) -> MixedFit:
        nodes = self._fine_nodes()
        fit = fit_arranged(
            arranged, family, use_prior=self.use_prior, nodes=nodes, start=start, tolerance=_FINE
        )
        if not fit.converged:
            # small reading errors have sharp edges: few nodes see a slope where there is none
            more = SMALL_NODES if nodes is None else 2 * nodes
            again = fit_arranged(arranged, family, use_prior=self.use_prior, nodes=more, tolerance=_FINE)
            fit = again if again.converged else fit
        return fit

    def _fine_nodes(self) -> int | None:
        """Quadrature nodes of the fine fits; None: the engine's own."""
        return None

    def _quick(self, arranged: Arranged, family: str, start: MixedFit | None = None) -> MixedFit:
        return fit_arranged(
            arranged,
            family,
            use_prior=self.use_prior,
            nodes=QUICK_NODES,
            start=start,
            tolerance=_QUICK,
            start_error=False,
        )

    def _shape_notes(self) -> list[str]:
        return [
            f"shape {self.shape_} is likelier than {family} by {self.fit_.loglik - fit.loglik:.1f} in "
            "log-likelihood"
            for family, fit in self.fits_.items()
            if family != self.shape_ and fit.shape is not None
        ]

    def _check_fitted(self) -> None:
        if not hasattr(self, "predictive_"):
            raise _NotFitted(f"this {type(self).__name__} isn't fitted yet; call fit(log) first")
