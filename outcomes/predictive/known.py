"""Courses of a client whose earlier visits are known: the model's own conditional, without a new fit.

Every course carries the unknowns of one client. Parameters, who works and what the hair is like are chosen by
how likely they make the readings, nearly; given those, the client's deviation and those of the earlier visits
are drawn near what the readings say; and the course weighs as much as the readings are likelier than all that
aiming made them. So weighted averages over courses are those of the conditional distribution, rounding, looks
and shared start errors included.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from outcomes.predictive.chair import Openings
from outcomes.predictive.earlier import EarlierVisits
from outcomes.predictive.lift import LiftPredictive
from outcomes.predictive.past import Past
from outcomes.predictive.plans import Plans
from outcomes.predictive.rates import RateTables
from outcomes.predictive.unknowns import Unknowns

__all__ = ["KnownClient", "KnownRate", "known_client", "strengths_of"]

FloatArray = npt.NDArray[np.float64]

_UNCHOSEN = 0.2  # share of courses that are chosen without regard to the readings


@dataclass(frozen=True)
class KnownRate:
    """How fast a client's hair lifts, over that of clients like them.

    Attributes
    ----------
    ratio, low, high : float
        Middle and ends of the 80 % band.
    visits : int
        Behind it.
    courses : int
        So many of equal weight would tell as much as those simulated; few where what was told can hardly be.
    coverage : float
    """

    ratio: float
    low: float
    high: float
    visits: int
    courses: int
    coverage: float = 0.8


@dataclass(frozen=True, eq=False)
class KnownClient:
    """n courses of a client whose earlier visits are known.

    Attributes
    ----------
    unknowns : Unknowns
        Theirs.
    past : Past
    client : ndarray (n,)
        The client's own deviation of log R.
    level : ndarray (n,)
        True level after the last visit.
    weight : ndarray (n,)
        1 on average.
    never : float
        Share of the weight with courses whose readings can't be: of them the readings tell nothing.
    """

    unknowns: Unknowns
    past: Past
    client: FloatArray
    level: FloatArray
    weight: FloatArray
    never: float

    def entered(self, courses: Openings) -> Openings:
        """Courses that were opened for these unknowns, as this client's.

        Parameters
        ----------
        courses : Openings
            B plans.

        Returns
        -------
        Openings
        """
        n_plans = courses.n_plans
        error = courses.start_error
        if self.past.is_copied:
            error = np.tile(self.level, n_plans) - np.repeat(courses.plans.start, len(self.level))
        return replace(
            courses,
            client=np.tile(self.client, n_plans),
            start_error=error,
            weight=np.tile(self.weight, n_plans),
            is_known=True,
            continues=self.past.continues,
        )

    def rate(self, spread: float) -> KnownRate:
        """The client's own rate over that of clients like them.

        Parameters
        ----------
        spread : float
            Factor of recalibration on deviations of log R.

        Returns
        -------
        KnownRate
        """
        deviation = spread * self.unknowns.mixing * self.client
        order = np.argsort(deviation)
        upto = np.cumsum(self.weight[order])
        at = np.searchsorted(upto, np.array([0.1, 0.5, 0.9]) * upto[-1])
        low, ratio, high = np.exp(deviation[order][np.minimum(at, len(order) - 1)])
        even = (1.0 - self.never) * self.weight.sum() ** 2 / (self.weight**2).sum()
        return KnownRate(float(ratio), float(low), float(high), self.past.counted, round(float(even)))


def known_client(
    predictive: LiftPredictive, tables: RateTables, plans: Plans, unknowns: Unknowns, past: Past
) -> KnownClient:
    """Courses of a client with this past.

    Parameters
    ----------
    predictive : LiftPredictive
    tables : RateTables
        With every strength of `strengths_of`.
    plans : Plans
        All of one stylist and hair.
    unknowns : Unknowns
        For n courses, with as many past visits.
    past : Past

    Returns
    -------
    KnownClient

    References
    ----------
    Hesterberg, T. (1995). Weighted average importance sampling and defensive mixture distributions.
    Technometrics 37, 185-194. doi:10.1080/00401706.1995.10484303.
    """
    assert len(set(zip(plans.stylist, plans.hair, strict=True))) == 1
    stylist, hair = plans.stylist[0], plans.hair[0]
    before = EarlierVisits(predictive, tables, unknowns, past, stylist, hair)
    chosen, log_odds = _chosen(before.log_evidence(), before.order_by, unknowns)
    unknowns = unknowns.worn_by(chosen)
    found = EarlierVisits(predictive, tables, unknowns, past, stylist, hair)
    client, level, log_weight, never = found.told()
    log_weight -= log_odds[chosen]
    weight = np.exp(log_weight - log_weight.max())
    weight /= weight.mean()
    return KnownClient(unknowns, past, client, level, weight, float((weight * never).mean()))


def strengths_of(plans: Plans, past: Past | None) -> tuple[float, ...]:
    """Every developer strength that is looked up.

    Parameters
    ----------
    plans : Plans
    past : Past or None

    Returns
    -------
    tuple of float
        Rising, %.
    """
    behind = {visit.peroxide for visit in past.visits} if past is not None else set()
    return tuple(sorted({float(p) for p in plans.peroxide} | behind))


def _chosen(
    log_evidence: FloatArray, order_by: FloatArray, unknowns: Unknowns
) -> tuple[npt.NDArray[np.intp], FloatArray]:
    """Courses chosen in proportion to their evidence, within their block, and log odds of choosing each.

    The odds are over those without any choice, 1 on average in a block. Some are chosen without regard to it.
    """
    blocks = unknowns.blocks
    length = len(log_evidence) // blocks
    chosen = np.empty(len(log_evidence), dtype=np.intp)
    odds = np.empty(len(log_evidence))
    for first in range(0, len(log_evidence), length):
        here = slice(first, first + length)
        share = np.exp(log_evidence[here] - log_evidence[here].max())
        odds[here] = (1.0 - _UNCHOSEN) * share / share.mean() + _UNCHOSEN
        # in order of their rates, so that evenly spread numbers choose evenly spread rates
        order = np.argsort(order_by[here], kind="stable")
        upto = np.cumsum(odds[here][order])
        at = np.searchsorted(upto, unknowns.whose[here] * upto[-1], side="right")
        chosen[here] = first + order[np.minimum(at, length - 1)]
    return chosen, np.log(odds)
