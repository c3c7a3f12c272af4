"""A client's visits before, as courses with different unknowns have them: how likely, and what they leave."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from outcomes.predictive.chair import case_mix, later_hair, stylist_effects
from outcomes.predictive.distribution import rate
from outcomes.predictive.lift import LiftPredictive
from outcomes.predictive.normal import normal_cdf
from outcomes.predictive.past import Past, PastVisit
from outcomes.predictive.plans import HAIR, HEAT
from outcomes.predictive.practice import shares_of
from outcomes.predictive.rates import RateTables
from outcomes.predictive.unknowns import Unknowns

__all__ = ["EarlierVisits"]

FloatArray = npt.NDArray[np.float64]

_WIDER = 1.2  # than what the readings seem to say: light tails would give single courses great weight
_UNAIMED = 4  # one course in so many is drawn without regard to the readings
_LEAST_GAIN = 0.25  # levels; half a step
_LEAST_SD = 1e-9  # levels; stands for a reading sd of 0
_LEAST_CHANCE = 1e-12  # beyond the accuracy of the distribution function; its logarithm is still a number


class EarlierVisits:
    """A client's visits before, course by course.

    Parameters
    ----------
    predictive : LiftPredictive
    tables : RateTables
    unknowns : Unknowns
        For n courses, with as many past visits.
    past : Past
    stylist : str or None
        Whoever works where the past doesn't say.
    hair : str
        Before the first session.
    """

    def __init__(
        self,
        predictive: LiftPredictive,
        tables: RateTables,
        unknowns: Unknowns,
        past: Past,
        stylist: str | None,
        hair: str,
    ) -> None:
        self._predictive, self._tables = predictive, tables
        self._unknowns, self._past, self._hair = unknowns, past, hair
        self._later_hair = later_hair(predictive, hair, unknowns.later_hair)
        draws, draw = predictive.draws, unknowns.draw
        self._drawn = {name: values[draw] for name, values in draws.items() if values.ndim == 1}
        scale = predictive.recalibration.reading
        self._sd = {
            True: np.maximum(scale * self._drawn["sd_look"], _LEAST_SD),
            False: np.maximum(scale * self._drawn["sd_result"], _LEAST_SD),
        }
        self._factor = predictive.recalibration.spread * unknowns.mixing
        self._whose, self._people = stylist_effects(predictive, tables, unknowns, stylist)
        self._rows = [self._steady(visit) for visit in past.visits]
        later = predictive.recalibration.later
        self._visit_sd = [self._drawn["sd_visit"] * (later if j else 1.0) for j in range(len(past.visits))]

    @property
    def order_by(self) -> FloatArray:
        """log R of the first visit but for the client's and the visit's own deviations, (n,)."""
        return self._rows[0][0]

    def log_evidence(self) -> FloatArray:
        """Log of how likely the closed readings are given all but the deviations, nearly, (n,)."""
        variance = self._drawn["sd_client"] ** 2
        inverse, mean, rest = (np.zeros(len(variance)) for _ in range(3))
        for j, sd in enumerate(self._visit_sd):
            aim, precision = self._said(j, np.zeros(len(sd)), self._drawn["sd_start"] ** 2)
            own = precision / (1.0 + sd**2 * precision)
            inverse += own
            mean += own * aim
            rest += own * aim**2 + np.log1p(sd**2 * precision)
        total = 1.0 + variance * inverse
        return np.asarray(0.5 * (variance * mean**2 / total - np.log(total) - rest), dtype=np.float64)

    def told(self) -> tuple[FloatArray, FloatArray, FloatArray]:
        """The client's deviation, the true level at the end, and log weights, (n,) each."""
        client, visits, log_aim = self._aimed()
        level = np.zeros(len(client))
        log_chance = np.zeros(len(client))
        for j, visit in enumerate(self._past.visits):
            error = level - visit.start if visit.is_copied else self._start_error(j)
            steady, centre = self._rows[j]
            rates = rate(centre + self._factor * (steady + client + visits[j] - centre))
            log_chance += np.log(self._chance(visit, rates, error))
            end = visit.start + error + rates * self._progress(visit.rinse)
            level = np.minimum(end, self._predictive.top)
        # both kinds of course stand for the same mixture of the two ways of drawing
        aim = (1.0 - 1.0 / _UNAIMED) * np.exp(np.minimum(log_aim, 700.0)) + 1.0 / _UNAIMED
        return client, level, log_chance - np.log(aim)

    def _steady(self, visit: PastVisit) -> tuple[FloatArray, FloatArray]:
        """log R of a visit but for the client's and the visit's own deviations, and its centre; (n,)."""
        tables, draw = self._tables, self._unknowns.draw
        own = self._people
        if visit.stylist is not None:
            own = stylist_effects(self._predictive, tables, self._unknowns, visit.stylist)[1]
        level = round((visit.start - 1.0) / self._predictive.step)
        hair: npt.NDArray[np.intp] | int = self._later_hair if visit.hair is None else HAIR.index(visit.hair)
        fixed = tables.base + tables.heat[HEAT.index(visit.heat)] + tables.peroxide[visit.peroxide]
        fixed = fixed + tables.start[level] + (tables.later if visit.is_later else 0.0)
        effects = own + case_mix(self._predictive, tables, self._unknowns, self._hair, visit.given)
        return (
            fixed[draw] + tables.hair[hair, draw] + effects[0],
            fixed[-1] + tables.hair[hair, -1] + effects[1],
        )

    def _start_error(self, j: int) -> FloatArray:
        return np.asarray(self._drawn["sd_start"] * self._unknowns.past_start[j], dtype=np.float64)

    def _progress(self, minutes: float) -> FloatArray:
        theta, saturating = self._drawn["shape"], self._drawn["saturating"] > 0
        return self._predictive.progress(np.full(len(theta), minutes), theta, saturating)

    def _aimed(self) -> tuple[FloatArray, list[FloatArray], FloatArray]:
        """Deviations of the client and of each visit, and the log of how much likelier the aim made them."""
        of_client = self._drawn["sd_client"]
        said = [self._read_off(j) for j in range(len(self._past.visits))]
        # of the sum of both deviations, given the client's: the visit's spread and the error of what was read
        scatter = [
            1.0 / (sd**2 + 1.0 / np.maximum(precision, 1e-12))
            for sd, (_, precision) in zip(self._visit_sd, said, strict=True)
        ]
        total = 1.0 + of_client**2 * sum(scatter)
        middle = of_client * sum(w * aim for w, (aim, _) in zip(scatter, said, strict=True)) / total
        z, log_aim = _near(self._unknowns.client, middle, 1.0 / np.sqrt(total))
        client, visits = of_client * z, []
        for j, (sd, (aim, precision)) in enumerate(zip(self._visit_sd, said, strict=True)):
            total = 1.0 + sd**2 * precision
            z, more = _near(
                self._unknowns.past_visit[j], sd * precision * (aim - client) / total, 1.0 / np.sqrt(total)
            )
            visits.append(sd * z)
            log_aim = log_aim + more
        return client, visits, log_aim

    def _read_off(self, j: int) -> tuple[FloatArray, FloatArray]:
        """`_said` with what is known of the start by then."""
        if self._past.visits[j].is_copied:
            return self._said(j, np.zeros(len(self._factor)), self._drawn["sd_start"] ** 2)
        return self._said(j, self._start_error(j), np.zeros(len(self._factor)))

    def _said(self, j: int, error: FloatArray, doubt: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Sum of the client's and a visit's deviations as its closed readings say, and how precisely.

        `error` is that of the start, `doubt` its variance; nothing where no reading is closed.
        """
        visit, drawn = self._past.visits[j], self._drawn
        total, mean = np.zeros(len(error)), np.zeros(len(error))
        for minutes, look, lower, upper in _readings(visit):
            if np.isinf(lower) or np.isinf(upper):
                continue
            gain = 0.5 * (lower + upper) - error - (drawn["look_offset"] if look else 0.0)
            gain = np.maximum(gain, _LEAST_GAIN)
            precision = gain**2 / (self._sd[look] ** 2 + (upper - lower) ** 2 / 12.0 + doubt)
            total += precision
            mean += precision * np.log(gain / self._progress(minutes))
        steady, centre = self._rows[j]
        mean = np.divide(mean, total, out=centre + self._factor * (steady - centre), where=total > 0)
        return centre + (mean - centre) / self._factor - steady, total * self._factor**2

    def _chance(self, visit: PastVisit, rates: FloatArray, error: FloatArray) -> FloatArray:
        """Chance of all that was read in a visit."""
        offset = self._drawn["look_offset"]

        def below(gained: float, minutes: float, look: bool) -> FloatArray:
            mean = error + rates * self._progress(minutes) + (offset if look else 0.0)
            return normal_cdf((gained - mean) / self._sd[look])

        chance = np.ones(len(rates))
        for minutes, look, lower, upper in _readings(visit):
            chance *= below(upper, minutes, look) - below(lower, minutes, look) + _LEAST_CHANCE
        if visit.ways:
            earlier = np.zeros(len(rates))
            for way in visit.ways:
                of_way = np.full(len(rates), way.chance)
                for minutes in way.minutes.tolist():
                    of_way *= below(visit.not_yet, minutes, True)
                earlier += of_way
            chance *= earlier + _LEAST_CHANCE
        if visit.stopped_above is not None:
            practice, visits = self._predictive.practice, self._predictive.stylist_visits
            whose = self._whose
            if visit.stylist is not None:
                whose = stylist_effects(self._predictive, self._tables, self._unknowns, visit.stylist)[0]
            anew = shares_of(practice.reread, visits, whose)
            chance *= 1.0 - anew * below(visit.stopped_above, visit.rinse, True) + _LEAST_CHANCE
        return chance


def _near(z: FloatArray, middle: FloatArray, sd: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Standard normal values drawn near a place, some of them not; log of that density over a normal one."""
    # numbers of a lattice are in no order that matters, so every fourth one is a fair part
    unaimed = np.arange(len(z)) % _UNAIMED == 0
    wide = _WIDER * sd
    drawn = np.where(unaimed, z, middle + wide * z)
    away = (drawn - middle) / wide
    return drawn, 0.5 * (drawn**2 - away**2) - np.log(wide)


def _readings(visit: PastVisit) -> list[tuple[float, bool, float, float]]:
    columns = (visit.minutes, visit.is_look, visit.lower, visit.upper)
    return list(zip(*(column.tolist() for column in columns), strict=True))
