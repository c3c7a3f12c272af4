"""The fade model: how a root shade or a toner washes out, learned from readings after washes."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from outcomes.engine import MixedFit
from outcomes.errors import InputError
from outcomes.models.arrange import Arranged, arrange_fade
from outcomes.models.describe import basis_of, code_visits
from outcomes.models.describe_fade import fade_covariates, fade_support, follow_up
from outcomes.models.draws import rate_draws
from outcomes.models.effects import effects_table, rate_effects
from outcomes.models.rate import N_DRAWS, SEED, RateModel
from outcomes.models.told import in_order, told_fade
from outcomes.predictive.fade import FadePredictive
from outcomes.predictive.told import ToldVisits
from outcomes.readings.covariates import FADE, design_columns
from outcomes.readings.fade import REFERENCE_WASHES, FadeReadings, Measure, fade_readings, shade_names
from outcomes.readings.learn import learn_design

if TYPE_CHECKING:
    from outcomes.log.read import VisitLog

__all__ = ["FEWEST", "FadeModel"]

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.intp]

FEWEST = 10
"""Clients with readings that a measure needs to be fitted."""

_READ = {
    "level": "the level of a root shade",
    "tone_left": "the share of tone left",
    "delta_e": "the colour (L, a, b) at 0 washes and later",
}


class FadeModel(RateModel[FadePredictive]):
    """Fade over washes, with crossed effects of client, stylist, root shade, and of visit and zone.

    Parameters
    ----------
    measure : {"level", "tone_left", "delta_e"}
        Levels a root shade has drifted to lighter; -log(share of tone left), read in steps of 25 %; or
        CIEDE2000 from the reading at 0 washes.
    shapes : tuple of str
        Families of g to fit; the likelier is kept.
    use_prior : bool
        Weakly informative priors (`outcomes.models.starter`); they hold small logs together.
    n_draws : int
        Draws of the parameters that the predictive distribution keeps.
    seed : int
        Of those draws.

    Attributes
    ----------
    as of `RateModel`, and
    readings_ : FadeReadings

    References
    ----------
    Clients whose colour fades fast come back sooner. When they come depends on readings that are in the
    likelihood, and the rate is theirs at any visit, so it may be ignored: Rubin, D. B. (1976). Inference and
    missing data. Biometrika 63, 581-592. doi:10.1093/biomet/63.3.581. Clients who never come back are missing
    all the same: see `outcomes.fade`.
    """

    def __init__(
        self,
        measure: Measure = "level",
        shapes: tuple[str, ...] = ("power", "saturating"),
        use_prior: bool = True,
        n_draws: int = N_DRAWS,
        seed: int = SEED,
    ) -> None:
        self.measure = measure
        self.shapes = shapes
        self.use_prior = use_prior
        self.n_draws = n_draws
        self.seed = seed

    def fit(self, log: VisitLog, y: None = None) -> FadeModel:
        """Learn from a log.

        Parameters
        ----------
        log : VisitLog
        y : None
            Not used; scikit-learn expects it.

        Returns
        -------
        FadeModel
            Itself, fitted.

        Raises
        ------
        InputError
            An unknown measure or shape; readings of fewer than 10 clients.
        FitError
            No shape could be fitted.
        """
        self._check_shapes()
        self.readings_ = fade_readings(log, self.measure)
        clients = int(self.readings_.visits["client"].nunique())
        if clients < FEWEST:
            aside = f" ({self.readings_.notes[0]})" if self.readings_.notes else ""
            raise InputError(
                f"{_READ[self.measure]} after washes was read for {clients} clients{aside}; {FEWEST} are "
                "needed; write readings down when clients come back"
            )
        rules = FADE[self.measure]
        self.design_ = learn_design(design_columns(self.readings_.visits, rules), covariates=rules)
        arranged = self.arranged_
        self._keep_likelier(self._fit_shapes(arranged))
        notes = [*self.readings_.notes, *self.design_.notes, *arranged.notes, *self.fit_.notes]
        self.notes_ = tuple(dict.fromkeys([*notes, *self._shape_notes()]))
        self.predictive_ = self._predictive(log)
        return self

    @property
    def arranged_(self) -> Arranged:
        """All readings as the engine takes them."""
        return arrange_fade(self.readings_, self.design_)

    @property
    def told_(self) -> ToldVisits:
        """All readings as they are followed."""
        return self._told(self.readings_)

    @property
    def told_rows_(self) -> pd.DataFrame:
        """Visits and zones in the order of `told_`."""
        return _rows(self.readings_)

    @property
    def client_of_reading_(self) -> IntArray:
        """Number of the client, in the order of `told_`, of each reading of `arranged_`, (n,)."""
        return self.readings_.groups["client"]

    @property
    def any_looks_(self) -> bool:
        """When a reading was made, its washes say."""
        return True

    def told_of(self, log: VisitLog) -> tuple[ToldVisits, pd.DataFrame]:
        """Another log, read with this model's design.

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
        readings = fade_readings(log, self.measure)
        return self._told(readings), _rows(readings)

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
        codes = {name: self.readings_.group_labels[name] for name in ("stylist", "product")}
        return rate_draws(
            *(fit, self.design_.names, codes, n, self.seed), use_prior=self.use_prior, measure=self.measure
        )

    def effects(self) -> pd.DataFrame:
        """Effects on the fade rate; see `outcomes.models.effects.effects_table`.

        Returns
        -------
        DataFrame

        Raises
        ------
        NotFittedError
        """
        self._check_fitted()
        return effects_table(self.fit_, self.design_)

    def _effects_of(self, fit: MixedFit) -> dict[str, Any]:
        return rate_effects(fit, self.design_, looks=False)

    def _told(self, readings: FadeReadings) -> ToldVisits:
        labels = self.readings_.group_labels
        return told_fade(readings, self.design_, labels["stylist"], labels["product"])

    def _predictive(self, log: VisitLog) -> FadePredictive:
        readings, names = self.readings_, list(self.design_.names)
        visits = readings.visits
        stylists, products = (readings.group_labels[name] for name in ("stylist", "product"))
        shades = shade_names(visits["root_level"], visits["root_tone"]).where(visits["zone"] == "roots")
        return FadePredictive(
            measure=self.measure,
            family=self.shape_,
            design=self.design_,
            draws=self.drawn(self.fit_, self.n_draws),
            stylists=stylists,
            stylist_visits=code_visits(visits, "stylist", stylists),
            products=products,
            product_visits=code_visits(visits.assign(product=shades), "product", products),
            support=fade_support(readings),
            basis=basis_of(visits),
            effects=self._effects_of(self.fit_),
            notes=self.notes_,
            covariates=fade_covariates(readings),
            follow_up=follow_up(log, readings),
            estimates=self.fit_.coefficients.loc[names].to_numpy(dtype=np.float64),
            covariance=self.fit_.joint_covariance.loc[names, names].to_numpy(dtype=np.float64),
            reference=REFERENCE_WASHES,
        )


def _rows(readings: FadeReadings) -> pd.DataFrame:
    return readings.visits.iloc[in_order(readings.visits)].reset_index(drop=True)
