"""From plans and unknowns to what each session starts with: rates, looks, the minute of the rinse."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from outcomes.predictive.distribution import rate
from outcomes.predictive.hazard import PERIOD
from outcomes.predictive.lift import LiftPredictive
from outcomes.predictive.plans import HAIR, HEAT, NEW, Plans
from outcomes.predictive.practice import look_times, shares_of
from outcomes.predictive.rates import RateTables
from outcomes.predictive.session import Chair
from outcomes.predictive.unknowns import Unknowns

__all__ = ["Openings", "case_mix", "later_hair", "open_courses", "product_effects", "stylist_effects"]

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.intp]


@dataclass(frozen=True, eq=False)
class Openings:
    """Courses at their consultation: B plans with n courses each, course i of plan b at b n + i.

    Attributes
    ----------
    steady : ndarray (2, B n)
        log R without client, start level, hair, session and visit; beside it the same at the centre (mean
        parameters), from which recalibration counts deviations.
    client : ndarray (B n,)
        The client's own deviation of log R.
    start_error : ndarray (B n,)
        True minus written level before the first session.
    first_hair, later_hair : ndarray of int (B n,)
        Index into `HAIR`.
    stylist : ndarray of int (B n,)
        Index into the log's stylists; -1 for a new one.
    weight : ndarray (B n,)
        Of each course; 1 on average over a plan's.
    is_known : bool
        Whether earlier visits told of the clients.
    continues : bool
        Whether the first session here is a later one of its course.
    """

    predictive: LiftPredictive
    tables: RateTables
    plans: Plans
    steady: FloatArray
    client: FloatArray
    start_error: FloatArray
    first_hair: IntArray
    later_hair: IntArray
    stylist: IntArray
    weight: FloatArray
    is_known: bool = False
    continues: bool = False

    @property
    def n_plans(self) -> int:
        """Number B of plans."""
        return len(self.plans)

    def first_session(self, unknowns: Unknowns) -> Chair:
        """All courses when lightener first goes on.

        Parameters
        ----------
        unknowns : Unknowns

        Returns
        -------
        Chair
        """
        start = np.repeat(self.plans.start, len(unknowns.draw))
        level = np.minimum(start + self.start_error, self.predictive.top)
        hair = self.later_hair if self.continues else self.first_hair
        return self._session(unknowns, 0, np.arange(len(start)), level, start, hair)

    def later_session(self, unknowns: Unknowns, k: int, at: IntArray, level: FloatArray) -> Chair:
        """The courses `at` when they come back for session k + 1 at these true levels.

        Parameters
        ----------
        unknowns : Unknowns
        k : int
            Sessions before this one, 1 or more.
        at : ndarray of int (m,)
            Positions of the courses.
        level : ndarray (m,)
            True levels.

        Returns
        -------
        Chair
        """
        step = self.predictive.step
        goal = self.plans.goal[at // len(unknowns.draw)]
        # Nobody comes back with hair that was read at the goal.
        start = np.clip(np.floor(level / step + 0.5) * step, 1.0, goal - step)
        return self._session(unknowns, k, at, level, start, self.later_hair[at])

    def _session(
        self, unknowns: Unknowns, k: int, at: IntArray, level: FloatArray, start: FloatArray, hair: IntArray
    ) -> Chair:
        predictive, n = self.predictive, len(unknowns.draw)
        plan, course = at // n, at % n
        draw = unknowns.draw[course]
        scale = predictive.recalibration.reading
        stylist, visits = self.stylist[at], predictive.stylist_visits
        unseen = shares_of(predictive.practice.unseen, visits, stylist)
        rinse = self._rinse(k, plan, hair, unknowns.condition[k, course])
        return Chair(
            level=level,
            goal=self.plans.goal[plan],
            rate=rate(self._log_rate(unknowns, k, at, start, hair)),
            theta=predictive.draws["shape"][draw],
            saturating=predictive.draws["saturating"][draw] > 0,
            looks=look_times(predictive.look_gaps, unseen, stylist, unknowns.gap[k, course], rinse),
            rinse=rinse,
            sd_look=scale * predictive.draws["sd_look"][draw],
            sd_result=scale * predictive.draws["sd_result"][draw],
            look_offset=predictive.draws["look_offset"][draw],
        )

    def _log_rate(
        self, unknowns: Unknowns, k: int, at: IntArray, start: FloatArray, hair: IntArray
    ) -> FloatArray:
        tables, course = self.tables, at % len(unknowns.draw)
        draw = unknowns.draw[course]
        level = np.rint((start - 1.0) / self.predictive.step).astype(np.intp)

        def changing(index: IntArray | int) -> FloatArray:
            found = tables.start[level, index] + tables.hair[hair, index]
            later = k > 0 or self.continues
            return np.asarray(found + tables.later[index] if later else found, dtype=np.float64)

        recalibration = self.predictive.recalibration
        visit = recalibration.visit(
            self.predictive.draws["sd_visit"][draw] * unknowns.visit[k, course], k > 0 or self.is_known
        )
        log_rate: FloatArray = self.steady[0, at] + self.client[at] + changing(draw) + visit
        if not recalibration.changes_rates:
            return log_rate
        centre = self.steady[1, at] + changing(-1)
        return np.asarray(recalibration.rates(centre, log_rate, unknowns.mixing[course]))

    def _rinse(self, k: int, plan: IntArray, hair: IntArray, uniform: FloatArray) -> FloatArray:
        """The time limit, or the minute at which the hair's condition ends the session before it."""
        plans = self.plans
        rinse = plans.minutes[plan].astype(np.float64)
        words = np.array(HAIR, dtype=object)
        for word in np.unique(hair):
            here = np.flatnonzero(hair == word)
            chance = self.predictive.hazard.cumulative(
                float(plans.minutes.max()),
                plans.peroxide,
                np.array(plans.heat, dtype=object),
                np.repeat(words[word], len(plans)),
                k > 0 or self.continues,
            )
            early = here[uniform[here] < chance[plan[here], -1]]
            # One more column at 0 in front: the period of the stop, and how far into it.
            chance = np.hstack([np.zeros((len(plans), 1)), chance])[plan[early]]
            period = (uniform[early, None] >= chance[:, 1:]).sum(axis=1)
            rows = np.arange(len(early))
            before, after = chance[rows, period], chance[rows, period + 1]
            stopped = PERIOD * (period + (uniform[early] - before) / np.maximum(after - before, 1e-12))
            rinse[early] = np.minimum(rinse[early], np.maximum(stopped, 1.0))
        return rinse


def open_courses(
    predictive: LiftPredictive,
    tables: RateTables,
    plans: Plans,
    unknowns: Unknowns,
    given: Mapping[str, str | float | None] | None = None,
) -> Openings:
    """Everything of B x n courses that stays the same from session to session.

    Parameters
    ----------
    predictive : LiftPredictive
    tables : RateTables
        With every strength of the plans.
    plans : Plans
    unknowns : Unknowns
        For n courses.
    given : mapping of column to value, optional
        As in `case_mix`.

    Returns
    -------
    Openings
    """
    draw, n = unknowns.draw, len(unknowns.draw)
    steady = np.empty((2, len(plans), n))
    first, later = (np.empty((len(plans), n), dtype=np.intp) for _ in range(2))
    stylist = np.empty((len(plans), n), dtype=np.intp)
    people = {name: stylist_effects(predictive, tables, unknowns, name) for name in set(plans.stylist)}
    cases = {hair: case_mix(predictive, tables, unknowns, hair, given) for hair in set(plans.hair)}
    for b, (hair, heat, strength) in enumerate(zip(plans.hair, plans.heat, plans.peroxide, strict=True)):
        fixed = tables.base + tables.heat[HEAT.index(heat)] + tables.peroxide[float(strength)]
        stylist[b], effects = people[plans.stylist[b]]
        steady[0, b] = fixed[draw]
        steady[1, b] = fixed[-1]
        steady[:, b] += effects + cases[hair]
        first[b] = HAIR.index(hair)
        later[b] = later_hair(predictive, hair, unknowns.later_hair)
    return Openings(
        predictive,
        tables,
        plans,
        steady.reshape(2, -1),
        client=np.tile(predictive.draws["sd_client"][draw] * unknowns.client, len(plans)),
        start_error=np.tile(predictive.draws["sd_start"][draw] * unknowns.start, len(plans)),
        first_hair=first.ravel(),
        later_hair=later.ravel(),
        stylist=stylist.ravel(),
        weight=np.ones(len(plans) * n),
    )


def stylist_effects(
    predictive: LiftPredictive, tables: RateTables, unknowns: Unknowns, name: str | None
) -> tuple[IntArray, FloatArray]:
    """Stylist of each course, and their effects on log R.

    Parameters
    ----------
    predictive : LiftPredictive
    tables : RateTables
    unknowns : Unknowns
        For n courses.
    name : str or None
        A code of the log, `NEW`, or None for one of the log's stylists in proportion to their visits.

    Returns
    -------
    stylist : ndarray of int (n,)
        Index into the log's stylists; -1 for a new one.
    effects : ndarray (2, n)
        As in `Openings.steady`.
    """
    draw, draws = unknowns.draw, predictive.draws
    effects = np.zeros((2, len(draw)))
    if name == NEW:
        effects[0] = draws["sd_stylist"][draw] * unknowns.stylist_z
        return np.full(len(draw), -1), effects
    if name is None:
        chosen = _pick(predictive.stylist_visits, unknowns.stylist)
    else:
        chosen = np.full(len(draw), predictive.stylists.index(name))
    effects[0] = tables.stylist[chosen, draw]
    effects[1] = tables.stylist[chosen, -1]
    return chosen, effects


def case_mix(
    predictive: LiftPredictive,
    tables: RateTables,
    unknowns: Unknowns,
    hair: str,
    given: Mapping[str, str | float | None] | None = None,
) -> FloatArray:
    """Effects on log R of what the question leaves open, in the shares of this hair's visits.

    Parameters
    ----------
    predictive : LiftPredictive
    tables : RateTables
    unknowns : Unknowns
        For n courses.
    hair : str
    given : mapping of column to value, optional
        What is known of covariates and "product"; a value that the log never had counts as left open.

    Returns
    -------
    ndarray (2, n)
        As in `Openings.steady`.
    """
    draw, given = unknowns.draw, given or {}
    effects = np.zeros((2, len(draw)))
    for column, listed in predictive.covariates.get(hair, {}).items():
        if column not in tables.covariates:
            continue
        values, table = tables.covariates[column]
        if column in given and given[column] in values:
            row = values.index(given[column])
            effects += np.array([table[row, draw], np.full(len(draw), table[row, -1])])
            continue
        rows = np.array([values.index(value) for value, _ in listed])
        drawn = rows[_pick(np.array([share for _, share in listed]), unknowns.covariates[column])]
        effects += np.array([table[drawn, draw], table[drawn, -1]])
    if given.get("product") in predictive.products:
        row = predictive.products.index(str(given["product"]))
        own = np.array([tables.product[row, draw], np.full(len(draw), tables.product[row, -1])])
        return np.asarray(effects + own)
    return effects + product_effects(predictive, tables, unknowns)


def product_effects(predictive: LiftPredictive, tables: RateTables, unknowns: Unknowns) -> FloatArray:
    """Effects on log R of one of the log's products, in proportion to their visits.

    Parameters
    ----------
    predictive : LiftPredictive
    tables : RateTables
    unknowns : Unknowns
        For n courses.

    Returns
    -------
    ndarray (2, n)
        As in `Openings.steady`.
    """
    draw = unknowns.draw
    unnamed = max(predictive.basis.visits - int(predictive.product_visits.sum()), 0)
    visits = np.append(predictive.product_visits, unnamed).astype(np.float64)
    if visits.sum() == 0:
        return np.zeros((2, len(draw)))
    drawn = _pick(visits, unknowns.product)
    return np.array([tables.product[drawn, draw], tables.product[drawn, -1]])


def later_hair(predictive: LiftPredictive, hair: str, uniform: FloatArray) -> IntArray:
    """Hair in the sessions after the first.

    Parameters
    ----------
    predictive : LiftPredictive
    hair : str
        Before the first.
    uniform : ndarray (n,)

    Returns
    -------
    ndarray of int (n,)
        Index into `HAIR`.
    """
    shares = predictive.later_hair.get(hair, {"lightened": 1.0})
    words = np.array([HAIR.index(word) for word in shares])
    return np.asarray(words[_pick(np.array(list(shares.values())), uniform)], dtype=np.intp)


def _pick(amounts: npt.ArrayLike, uniform: FloatArray) -> IntArray:
    """Index of each course's share."""
    ends = np.cumsum(np.asarray(amounts, dtype=np.float64))
    found = np.searchsorted(ends[:-1], uniform * ends[-1], side="right")
    return np.asarray(found, dtype=np.intp)
