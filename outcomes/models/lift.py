"""The lift model: how many levels hair gains in so many minutes, learned from a visit log."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from outcomes.engine import MixedFit
from outcomes.errors import InputError
from outcomes.models.arrange import STEP, Arranged, arrange_lift
from outcomes.models.asked import asked_rows
from outcomes.models.clock import BEFORE, clock_notes, clock_shares
from outcomes.models.condition import fit_condition_hazard
from outcomes.models.condition_chain import condition_losses
from outcomes.models.describe import (
    basis_of,
    case_mix,
    code_visits,
    later_hair,
    look_gap_shares,
    practice_of,
    support_of,
)
from outcomes.models.draws import rate_draws
from outcomes.models.effects import effects_table, rate_effects
from outcomes.models.habits import decide_habits
from outcomes.models.rate import N_DRAWS, SEED, SMALL_NODES, RateModel
from outcomes.models.reading_bias import reading_bias
from outcomes.models.starter_model import (
    STARTER_VISITS,
    as_starter,
    starter_design,
    starter_predictive,
)
from outcomes.models.told import in_order, told_visits
from outcomes.models.visit_times import visit_times
from outcomes.predictive.lift import LiftPredictive
from outcomes.predictive.one_visit import simulate_readings
from outcomes.predictive.told import ToldVisits
from outcomes.readings.covariates import design_columns
from outcomes.readings.learn import learn_design
from outcomes.readings.lift import REFERENCE_MINUTES, LiftReadings, lift_readings, look_at
from outcomes.readings.looks import usual_gaps

if TYPE_CHECKING:
    from outcomes.log.read import VisitLog

__all__ = ["LiftModel"]

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.intp]

# A visit that may have been looked at or not has a posterior with two tops: on 13 nodes values were 0.7 off
# and climbs didn't end. 21 suffice in large logs; small ones without written looks, where less evens out, get
# 27, and where those don't lead to an end twice as many.
_DOUBTED_NODES = 21
_SMALL = 500  # visits


class LiftModel(RateModel[LiftPredictive]):
    """Levels gained over minutes of processing, with crossed effects of stylist, client, product and visit.

    A log without visits gives the trade's values by themselves (`outcomes.models.starter_model`), and no
    fit; one with fewer than 50 visits is labelled as held up by them.

    Parameters
    ----------
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
    habits_ : Habits
    clock_ : dict of str to float
        Share of visits left to the clock, by stylist, where looks aren't written down.
    readings_ : LiftReadings
    bias_ : ReadingBias
        How stylists' eyes differ, where a colorimeter tells.
    predictive_ : LiftPredictive

    References
    ----------
    The likelihood: Kalbfleisch, J. D. & Lawless, J. F. (1985). The analysis of panel data under a Markov
    assumption. J. Am. Stat. Assoc. 80, 863-871, for readings at visits only; stopping that depends on
    readings in the likelihood is ignorable (Rubin, D. B. 1976, Biometrika 63, 581-592).
    """

    def __init__(
        self,
        shapes: tuple[str, ...] = ("power", "saturating"),
        use_prior: bool = True,
        n_draws: int = N_DRAWS,
        seed: int = SEED,
    ) -> None:
        self.shapes = shapes
        self.use_prior = use_prior
        self.n_draws = n_draws
        self.seed = seed

    def fit(self, log: VisitLog, y: None = None) -> LiftModel:
        """Learn from a log.

        Parameters
        ----------
        log : VisitLog
        y : None
            Not used; scikit-learn expects it.

        Returns
        -------
        LiftModel
            Itself, fitted.

        Raises
        ------
        InputError
            A log whose visits were all set aside; an unknown shape.
        FitError
            No shape could be fitted.
        """
        self._check_shapes()
        if len(log.visits) == 0:
            if log.counts.get("visits", {}).get("set_aside", 0):
                raise InputError("the log has no visit that can be used; `outcomes check` says why")
            return self._start_empty()
        seen = look_at(log)
        visits = seen.visits
        few = self.use_prior and len(visits) < STARTER_VISITS
        # what a small log doesn't vary isn't known to have no effect: the trade's values stand for it
        later = visits["later_session"].to_numpy(dtype=bool)
        design = starter_design() if few else learn_design(design_columns(visits), later)
        everybody = {str(code): True for code in visits["stylist"].unique()}
        doubted = seen.doubted(dict.fromkeys(everybody, BEFORE))
        held = lift_readings(doubted, reread=everybody).without_target_results()
        rough = self._quick(arrange_lift(held, design), self.shapes[0])
        self.clock_ = clock_shares(seen, design, rough)
        looked = seen.doubted(self.clock_)

        again: list[MixedFit] = []

        def refit(reread: dict[str, bool]) -> MixedFit:
            whole = lift_readings(looked, reread=reread, copied_kind="look")
            again.append(self._quick(arrange_lift(whole, design), self.shapes[0], rough))
            return again[0]

        self.habits_ = decide_habits(looked, design, rough, refit)
        self.readings_ = lift_readings(
            looked, reread=self.habits_.reread, heaped=self.habits_.heaped, copied_kind="look"
        )
        self.bias_ = reading_bias(self.readings_.visits)
        self.readings_ = self.readings_.less(self.bias_.of_gain(self.readings_.visits))
        arranged = arrange_lift(self.readings_, design)
        self.design_ = design
        # where nobody writes the goal unseen, the fit that showed it is the first shape's own
        known = {self.shapes[0]: again[0]} if again and not any(self.habits_.heaped.values()) else {}
        self._keep_likelier(self._fit_shapes(arranged, rough, known))
        self.notes_ = self._notes(arranged)
        predictive = self._predictive(log)
        self.predictive_ = as_starter(predictive) if few else predictive
        return self

    def _start_empty(self) -> LiftModel:
        """The trade's values by themselves; there's no fit."""
        if not self.use_prior:
            raise InputError(
                "the log has no visits; without priors there is nothing to expect from; log some"
            )
        self.predictive_ = starter_predictive(self.n_draws, self.seed)
        self.design_, self.notes_ = self.predictive_.design, self.predictive_.notes
        self.shape_ = self.predictive_.family
        return self

    @property
    def arranged_(self) -> Arranged:
        """All readings as the engine takes them."""
        return arrange_lift(self.readings_, self.design_)

    @property
    def told_(self) -> ToldVisits:
        """All readings as they are followed."""
        return self._told(self.readings_)

    @property
    def told_rows_(self) -> pd.DataFrame:
        """Visits in the order of `told_`."""
        return self.readings_.visits.iloc[in_order(self.readings_.visits)].reset_index(drop=True)

    @property
    def client_of_reading_(self) -> IntArray:
        """Number of the client, in the order of `told_`, of each reading of `arranged_`, (n,)."""
        # clients stand in order of their codes there, as they do in the readings' groups
        assert list(self.readings_.group_labels["client"]) == sorted(self.readings_.group_labels["client"])
        return self.readings_.groups["client"]

    @property
    def any_looks_(self) -> bool:
        """Whether any looks are written down: without them it's a guess when people looked."""
        return bool((self.readings_.origin == "look").any())

    def told_of(self, log: VisitLog) -> tuple[ToldVisits, pd.DataFrame]:
        """Another log, read with this model's design and the habits of its stylists.

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
        looked = look_at(log).doubted(self.clock_)
        habits = self.habits_
        readings = lift_readings(looked, reread=habits.reread, heaped=habits.heaped, copied_kind="look")
        rows = readings.visits.iloc[in_order(readings.visits)].reset_index(drop=True)
        return self._told(readings), rows

    def _told(self, readings: LiftReadings) -> ToldVisits:
        return told_visits(readings, self.design_, self.predictive_.stylists, self.predictive_.products)

    def _fine_nodes(self) -> int | None:
        """Quadrature nodes of the fine fits; None: the engine's own."""
        unwritten = not (self.readings_.origin == "look").any()
        if unwritten and len(self.readings_.visits) < _SMALL:
            return SMALL_NODES
        return _DOUBTED_NODES if self.clock_ else None

    def _notes(self, arranged: Arranged) -> tuple[str, ...]:
        notes = [*self.readings_.notes, *self.design_.notes, *arranged.notes, *self.habits_.notes]
        notes += clock_notes(self.clock_)
        notes += self.bias_.notes
        notes += self.fit_.notes
        notes += self._shape_notes()
        return tuple(dict.fromkeys(notes))

    def effects(self) -> pd.DataFrame:
        """Effects on the lift rate; see `outcomes.models.effects.effects_table`.

        Raises
        ------
        NotFittedError
        InputError
            The log had no visits.
        """
        self._check_fitted()
        if not hasattr(self, "fit_"):
            raise InputError("effects: the log had no visits, so there are none of its own; fit a log first")
        return effects_table(self.fit_, self.design_)

    def predict(self, frame: pd.DataFrame, coverage: float = 0.8) -> pd.DataFrame:
        """Level read after `minutes`, for a new client with one of this log's stylists.

        Parameters
        ----------
        frame : DataFrame (n)
            Canonical visit columns: `start_level`, `peroxide_pct`, `heat`, `hair`, `minutes`, and whatever
            else the design reads; `later_session` (False where absent).
        coverage : float
            Of the band, between 0 and 1.

        Returns
        -------
        DataFrame (n)
            `median`, `low`, `high` (levels, half steps as read), `coverage`.

        Raises
        ------
        NotFittedError
        InputError
            A coverage that isn't between 0 and 1, a missing column, an unknown word.
        """
        self._check_fitted()
        if isinstance(coverage, str) or not 0 < coverage < 1:
            raise InputError(f"coverage {coverage}; a number between 0 and 1 is expected")
        rows, start, minutes = asked_rows(self.design_, frame)
        levels = simulate_readings(self.predictive_, rows, start, minutes, self.seed)
        tail = 0.5 * (1.0 - coverage)
        low, median, high = np.quantile(levels, [tail, 0.5, 1.0 - tail], axis=1, method="inverted_cdf")
        return pd.DataFrame(
            {"median": median, "low": low, "high": high, "coverage": coverage}, index=frame.index
        )

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
        return rate_draws(fit, self.design_.names, codes, n, self.seed, use_prior=self.use_prior)

    def _effects_of(self, fit: MixedFit) -> dict[str, Any]:
        return rate_effects(fit, self.design_) | self.bias_.to_dict()

    def _predictive(self, log: VisitLog) -> LiftPredictive:
        readings: LiftReadings = self.readings_
        visits = readings.visits
        hazard = fit_condition_hazard(visits, visits["session"] > 1)
        codes = {name: readings.group_labels[name] for name in ("stylist", "product")}
        stylists, products = codes["stylist"], codes["product"]
        gaps, basis = usual_gaps(log, most=None)
        losses, untold = condition_losses(visits)
        return LiftPredictive(
            family=self.shape_,
            design=self.design_,
            draws=self.drawn(self.fit_, self.n_draws),
            stylists=stylists,
            stylist_visits=code_visits(visits, "stylist", stylists),
            products=products,
            product_visits=code_visits(visits, "product", products),
            look_gaps=look_gap_shares(gaps, stylists, assumed=basis == "assumed"),
            covariates=case_mix(visits),
            later_hair=later_hair(visits),
            hazard=hazard.hazard,
            support=support_of(visits),
            basis=basis_of(visits),
            effects=self._effects_of(self.fit_),
            notes=(*self.notes_, *hazard.notes, *untold),
            visit_times=visit_times(visits),
            condition_losses=losses,
            practice=practice_of(log, stylists, self.habits_.reread, self.clock_),
            reference=REFERENCE_MINUTES,
            step=STEP,
        )
