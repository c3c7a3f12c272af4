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
from outcomes.predictive.read_off import LineOf
from outcomes.predictive.unknowns import Unknowns
from outcomes.predictive.weak_readings import WeakReading, aim_at_weak

__all__ = ["EarlierVisits"]

FloatArray = npt.NDArray[np.float64]

_WIDER = 1.2  # than what the readings seem to say: light tails would give single courses great weight
_UNAIMED = 4  # one course in so many is drawn without regard to the readings
_LEAST_SD = 1e-9  # levels; stands for a reading sd of 0
_PLAIN_GAIN = 2.5  # levels from which on readings go along a line in log R
_NEVER = 1e-10  # no more than what keeps a chance from being 0
_SELDOM = 1e-3  # share of results read anew by who never does; only their proportions matter
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
        self._lines = [self._line(visit) for visit in past.visits]
        self._weak = [self._weak_of(visit) for visit in past.visits]
        self._start_variance = np.maximum(self._drawn["sd_start"], _LEAST_SD) ** 2
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
            aim, precision, log_fit = self._said(j, self._start_variance)
            own = precision / (1.0 + sd**2 * precision)
            inverse += own
            mean += own * aim
            rest += own * aim**2 - np.log(np.maximum(own, _LEAST_CHANCE)) - 2.0 * log_fit
        total = 1.0 + variance * inverse
        return np.asarray(0.5 * (variance * mean**2 / total - np.log(total) - rest), dtype=np.float64)

    def told(self) -> tuple[FloatArray, FloatArray, FloatArray, npt.NDArray[np.bool_]]:
        """The client's deviation, the true level at the end, log weights, and whether some readings can't be,
        (n,) each."""
        client, visits, starts, log_aim = self._aimed()
        level = np.zeros(len(client))
        log_chance, never = np.zeros(len(client)), np.zeros(len(client), dtype=bool)
        for j, visit in enumerate(self._past.visits):
            error = level - visit.start if visit.is_copied else starts[j]
            rates = self._rate(j, client, visits[j])
            chance = self._chance(visit, rates, error)
            log_chance += np.log(chance)
            never |= chance < _NEVER
            end = visit.start + error + rates * self._progress(visit.rinse)
            level = np.minimum(end, self._predictive.top)
        # both kinds of course stand for the same mixture of the two ways of drawing
        aim = (1.0 - 1.0 / _UNAIMED) * np.exp(np.minimum(log_aim, 700.0)) + 1.0 / _UNAIMED
        return client, level, log_chance - np.log(aim), never

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

    def _progress(self, minutes: float) -> FloatArray:
        theta, saturating = self._drawn["shape"], self._drawn["saturating"] > 0
        return self._predictive.progress(np.full(len(theta), minutes), theta, saturating)

    def _aimed(self) -> tuple[FloatArray, list[FloatArray], list[FloatArray], FloatArray]:
        """Deviations of the client and of each visit, errors of the starts; log of how much likelier the aim
        made all of them."""
        of_client = self._drawn["sd_client"]
        starts: list[FloatArray] = []
        said, log_aim = [], np.zeros(len(of_client))
        for j, visit in enumerate(self._past.visits):
            error, more = self._start(j)
            starts.append(error)
            log_aim += more
            is_left = visit.is_copied or self._lines[j] is None
            said.append(self._said(j, self._start_variance if is_left else np.zeros(len(error)), error))
        # of the sum of both deviations, given the client's: the visit's spread and the error of what was read
        sure = [
            precision / (1.0 + sd**2 * precision)
            for sd, (_, precision, _) in zip(self._visit_sd, said, strict=True)
        ]
        total = 1.0 + of_client**2 * sum(sure)
        middle = of_client * sum(own * aim for own, (aim, *_) in zip(sure, said, strict=True)) / total
        z, more = _near(self._unknowns.client, middle, 1.0 / np.sqrt(total))
        client, visits, log_aim = of_client * z, [], log_aim + more
        for j, (sd, (aim, precision, _)) in enumerate(zip(self._visit_sd, said, strict=True)):
            total = 1.0 + sd**2 * precision
            middle = sd * precision * (aim - client) / total
            z, more = _near(self._unknowns.past_visit[j], middle, 1.0 / np.sqrt(total))
            visits.append(sd * z)
            log_aim = log_aim + more
            starts[j], more = self._start_of_weak(j, starts[j], self._rate(j, client, visits[j]))
            log_aim = log_aim + more
        return client, visits, starts, log_aim

    def _rate(self, j: int, client: FloatArray, visit: FloatArray) -> FloatArray:
        steady, centre = self._rows[j]
        return rate(centre + self._factor * (steady + client + visit - centre))

    def _start(self, j: int) -> tuple[FloatArray, FloatArray]:
        """Error of a visit's start as its line tells it, and log of how much likelier the aim made it.

        0 where it's copied, or the visit's readings are weak.
        """
        line, sd = self._lines[j], np.sqrt(self._start_variance)
        if self._past.visits[j].is_copied or line is None:
            return np.zeros(len(sd)), np.zeros(len(sd))
        mean, precision = line.start(self._start_variance)
        z, more = _near(self._unknowns.past_start[j], mean / sd, 1.0 / (sd * np.sqrt(precision)))
        return sd * z, more

    def _start_of_weak(self, j: int, start: FloatArray, rates: FloatArray) -> tuple[FloatArray, FloatArray]:
        """The same where readings are weak: as far as the rate doesn't do to make them likely."""
        visit = self._past.visits[j]
        if visit.is_copied or self._lines[j] is not None:
            return start, np.zeros(len(start))
        sd, short, noise = np.sqrt(self._start_variance), np.zeros(len(start)), np.ones(len(start))
        for one in self._weak[j]:
            away = one.short(rates)
            further = np.abs(away) > np.abs(short)
            short, noise = np.where(further, away, short), np.where(further, one.sd, noise)
        share = np.where(short != 0.0, sd**2 / (sd**2 + noise**2), 0.0)
        z, more = _near(self._unknowns.past_start[j], share * short / sd, np.sqrt(1.0 - share))
        return sd * z, more

    def _said(
        self, j: int, doubt: FloatArray, start: FloatArray | float = 0.0
    ) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Sum of the client's and a visit's deviations as its readings say, how precisely, and how far they
        agree; nothing where none says anything."""
        line = self._lines[j]
        steady, centre = self._rows[j]
        if line is None and not self._weak[j]:
            return np.zeros(len(doubt)), np.zeros(len(doubt)), np.zeros(len(doubt))
        if line is None:
            variance = self._drawn["sd_client"] ** 2 + self._visit_sd[j] ** 2
            return aim_at_weak(self._weak[j], steady, centre, self._factor, variance, start, doubt)
        found = line.line(doubt, start)
        aim = centre + (found.log_rate - centre) / self._factor - steady
        return aim, found.precision * self._factor**2, found.log_fit

    def _weak_of(self, visit: PastVisit) -> list[WeakReading]:
        """A visit's readings that say something, for where no line goes through them."""
        found = []
        for minutes, look, lower, upper in _readings(visit):
            if np.isinf(lower) and np.isinf(upper):
                continue
            offset, sd = look * self._drawn["look_offset"], self._sd[look]
            if np.isinf(lower) or np.isinf(upper):
                side, bound = (1.0, upper) if np.isinf(lower) else (-1.0, lower)
            else:
                side, bound = 0.0, 0.5 * (lower + upper)
                sd = np.sqrt(sd**2 + (upper - lower) ** 2 / 12.0)
            found.append(WeakReading(side, bound - offset, sd, self._progress(minutes)))
        return found

    def _line(self, visit: PastVisit) -> LineOf | None:
        """The line through a visit's closed readings; None where none of them shows a gain that's plain."""
        closed = [one for one in _readings(visit) if np.isfinite(one[2]) and np.isfinite(one[3])]
        if not any(0.5 * (lower + upper) >= _PLAIN_GAIN for *_, lower, upper in closed):
            return None
        offset = self._drawn["look_offset"]
        return LineOf(
            [0.5 * (lower + upper) - look * offset for _, look, lower, upper in closed],
            [1.0 / (self._sd[look] ** 2 + (upper - lower) ** 2 / 12.0) for _, look, lower, upper in closed],
            [self._progress(minutes) for minutes, *_ in closed],
        )

    def _chance(self, visit: PastVisit, rates: FloatArray, error: FloatArray) -> FloatArray:
        """Chance of all that was read in a visit."""
        offset = self._drawn["look_offset"]

        def below(gained: float, minutes: float, look: bool) -> FloatArray:
            mean = error + rates * self._progress(minutes) + (offset if look else 0.0)
            return normal_cdf((gained - mean) / self._sd[look])

        def read(look: bool | None = None) -> FloatArray:
            chance = np.ones(len(rates))
            for minutes, written, lower, upper in _readings(visit):
                kind = written if look is None else look
                chance *= below(upper, minutes, kind) - below(lower, minutes, kind)
            return chance

        if visit.stopped_above is None:
            chance = read() + _LEAST_CHANCE
        else:
            anew = self._read_anew(visit)
            if visit.upper[-1] <= visit.stopped_above:
                # who copies a look at the goal can't have written less; where all do, one was read anew
                anew = np.maximum(anew, _SELDOM)
                copied = np.zeros(len(rates))
            else:
                copied = (1.0 - anew) * read(look=True)
            at_goal = 1.0 - below(visit.stopped_above, visit.rinse, True)
            chance = anew * at_goal * read(look=False) + copied + _LEAST_CHANCE
        if visit.ways:
            earlier = np.zeros(len(rates))
            for way in visit.ways:
                of_way = np.full(len(rates), way.chance)
                for minutes in way.minutes.tolist():
                    of_way *= below(visit.not_yet, minutes, True)
                earlier += of_way
            chance *= earlier + _LEAST_CHANCE
        return chance

    def _read_anew(self, visit: PastVisit) -> FloatArray:
        """Share of results that whoever worked a visit reads anew, (n,)."""
        whose = self._whose
        if visit.stylist is not None:
            whose = stylist_effects(self._predictive, self._tables, self._unknowns, visit.stylist)[0]
        return shares_of(self._predictive.practice.reread, self._predictive.stylist_visits, whose)


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
