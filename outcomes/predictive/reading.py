"""One visit of many clients, read in the order in which it was read: chances, weights, derivatives."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from outcomes.predictive.distribution import Predictive, Recalibration, rate
from outcomes.predictive.normal import normal_cdf
from outcomes.predictive.particles import Particles, aimed
from outcomes.predictive.told import ToldVisits, Unwritten

__all__ = ["SLIP", "FollowedSession"]

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.intp]

SLIP = 1e-4
"""Chance of a slip of the pen, added to that of every reading: a single one must not outweigh a log."""

_LEAST_SPREAD = 1e-6  # of log R; stands for one of 0
_LEAST_SD = 1e-9  # levels; stands for a reading sd of 0
_MOST = 1e4  # levels gained, of draws far and wide: beyond any reading, and still a number
_PEAK = 1.0 / math.sqrt(2.0 * math.pi)


class FollowedSession:
    """A visit of m clients, one row a client, n particles beside each other.

    Parameters
    ----------
    predictive : Predictive
    told : ToldVisits
    people : Particles
        Of these clients, as earlier visits left them.
    at : ndarray of int (m,)
        The visits.
    start_error : ndarray (m, n)
        True minus written start level.
    uniform : ndarray (n,)
        Where in its distribution the visit's own deviation lies; at a first visit its sum with the client's.
    pilot : Recalibration
        By which particles are placed.
    later : bool
        Whether the clients had visits before.

    Attributes
    ----------
    people : Particles
        With the client's deviation.
    first_weight, weight : ndarray (m, n)
        Of each particle before anything is read, and times the chance of what was read so far.
    """

    def __init__(
        self,
        predictive: Predictive,
        told: ToldVisits,
        people: Particles,
        at: IntArray,
        start_error: FloatArray,
        uniform: FloatArray,
        pilot: Recalibration,
        *,
        later: bool,
    ) -> None:
        self._predictive, self._told, self._at = predictive, told, at
        self._draws = {name: people.drawn(name) for name in ("shape", "look_offset", "sd_look", "sd_result")}
        self._saturating = people.drawn("saturating") > 0
        self._start_error = start_error
        recalibration, mixing = predictive.recalibration, people.mixings
        steady, centre = people.steady(told, at)
        self.people, visit, self.weight = _deviations(
            people, told, at, steady, centre, uniform, pilot, later=later
        )
        self.first_weight = self.weight.copy()
        self._visit = visit = recalibration.visit(visit, later)
        log_rate = self._log_rate(steady, centre)
        # derivatives of log R by log spread and log later; log reading comes between them
        self._moves = (log_rate - centre, recalibration.spread * mixing * visit if later else None)
        self._rate = rate(log_rate)
        self._before = self.weight.sum(axis=1)
        self._slope: FloatArray | None = None

    def rate_of(self, stylists: IntArray) -> FloatArray:
        """R of these visits had others worked them.

        Parameters
        ----------
        stylists : ndarray of int (V,)
            In place of `ToldVisits.stylist`, of all visits.

        Returns
        -------
        ndarray (m, n)
        """
        steady, centre = self.people.steady(replace(self._told, stylist=stylists), self._at)
        return rate(self._log_rate(steady, centre))

    def _log_rate(self, steady: FloatArray, centre: FloatArray) -> FloatArray:
        log_rate = steady + self.people.client + self._visit
        recalibration = self._predictive.recalibration
        if recalibration.changes_rates:
            log_rate = recalibration.rates(centre, log_rate, self.people.mixings)
        return np.asarray(log_rate, dtype=np.float64)

    def start_level(self) -> FloatArray:
        """True level before, (m, n)."""
        return np.asarray(self._told.start[self._at][:, None] + self._start_error, dtype=np.float64)

    def end_level(self) -> FloatArray:
        """True level after the rinse, (m, n)."""
        every = np.arange(len(self._at))
        gained = self._gained(every, self._told.rinse[self._at])
        return np.asarray(np.minimum(self.start_level() + gained, self._predictive.top), dtype=np.float64)

    def imagined(self, rows: IntArray, reading: IntArray, reading_z: FloatArray) -> FloatArray:
        """Levels gained as the particles would have read them, not rounded but within the scale.

        Parameters
        ----------
        rows, reading : ndarray of int (k,)
            Clients, and the reading of each.
        reading_z : ndarray (n,)
            Standard normal.

        Returns
        -------
        ndarray (k, n)
        """
        look, minutes = self._told.is_look[reading], self._told.minutes[reading]
        mean = self._start_error[rows] + self._gained(rows, minutes) + self._offset(rows, look)
        start = self._told.start[self._at][rows][:, None]
        read = mean + self._sd(rows, look) * reading_z
        return np.asarray(
            np.clip(read, self._predictive.bottom - start, self._predictive.top - start), dtype=np.float64
        )

    def read(self, rows: IntArray, reading: IntArray, slopes: bool) -> tuple[FloatArray, FloatArray]:
        """Let the next reading of some clients come.

        Parameters
        ----------
        rows, reading : ndarray of int (k,)
            Clients, and the reading of each.
        slopes : bool
            Whether derivatives are wanted.

        Returns
        -------
        low, high : ndarray (k,)
            As in `Followed`.
        """
        told = self._told
        lower, upper = told.lower[reading][:, None], told.upper[reading][:, None]
        look = told.is_look[reading]
        gained, sd = self._gained(rows, told.minutes[reading]), self._sd(rows, look)
        mean = self._start_error[rows] + gained + self._offset(rows, look)
        z_low, z_high = (lower - mean) / sd, (upper - mean) / sd
        below, upto = normal_cdf(z_low), normal_cdf(z_high)
        weight, before = self.weight[rows], self._before[rows]
        low = np.einsum("ij,ij->i", weight, below) / before
        high = np.einsum("ij,ij->i", weight, upto) / before
        chance = upto - below + SLIP
        if slopes:
            at_low, at_high = _density(z_low), _density(z_high)
            by_mean = (at_low - at_high) / (sd * chance)
            by_log_sd = (_times(z_low, at_low) - _times(z_high, at_high)) / chance
            self._add_slopes(rows, by_mean * gained, by_log_sd)
        weight *= chance
        self.weight[rows] = weight
        self._before[rows] = weight.sum(axis=1)
        return low, high

    def survive(self, unwritten: Unwritten, slopes: bool) -> None:
        """Let looks that nobody wrote down be below the goal, in each of their possible ways.

        Parameters
        ----------
        unwritten : Unwritten
        slopes : bool
            Whether derivatives are wanted.
        """
        count = unwritten.count[self._at]
        rows = np.flatnonzero(count)
        if not len(rows):
            return
        ends = np.cumsum(count[rows])
        owner = np.repeat(rows, count[rows])
        look = np.arange(ends[-1]) + np.repeat(
            unwritten.first[self._at[rows]] - ends + count[rows], count[rows]
        )
        way = unwritten.way[look]
        opens = np.flatnonzero(np.append(True, way[1:] != way[:-1]))  # first look of each way
        opens_visit = np.flatnonzero(np.append(True, np.diff(owner[opens]) > 0))  # first way of each visit
        every = np.ones(len(look), dtype=bool)
        gained, sd = self._gained(owner, unwritten.minutes[look]), self._sd(owner, every)
        mean = self._start_error[owner] + gained + self._offset(owner, every)
        z = (unwritten.upper[look][:, None] - mean) / sd
        below = normal_cdf(z)
        ways = np.multiply.reduceat(below, opens, axis=0) * unwritten.weight[look[opens]][:, None]
        chance = np.add.reduceat(ways, opens_visit, axis=0) + SLIP
        if slopes:
            share = _density(z) / np.maximum(below, 1e-12)
            by_parts = []
            for part in (-share / sd * gained, -_times(z, share)):
                of_way = np.add.reduceat(part, opens, axis=0)
                by_parts.append(np.add.reduceat(ways * of_way, opens_visit, axis=0) / chance)
            self._add_slopes(rows, *by_parts)
        # what is read next counts jointly with this, so `_before` stays as it was
        self.weight[rows] *= chance

    def log_chance(self) -> FloatArray:
        """Log of the chance of all that was read, (m,)."""
        return np.asarray(np.log(self.weight.mean(axis=1)), dtype=np.float64)

    def slope(self) -> FloatArray:
        """Derivatives of `log_chance` by log spread, log reading and log later, (m, 3)."""
        if self._slope is None:
            return np.zeros((len(self._at), 3))
        return np.asarray(
            np.einsum("ij,kij->ik", self.weight, self._slope) / self.weight.sum(axis=1)[:, None]
        )

    def _gained(self, rows: IntArray, minutes: FloatArray) -> FloatArray:
        theta = self._draws["shape"][rows]
        times = np.broadcast_to(minutes[:, None], theta.shape)
        progress = self._predictive.progress(times, theta, self._saturating[rows])
        return np.asarray(np.minimum(self._rate[rows] * progress, _MOST), dtype=np.float64)

    def _offset(self, rows: IntArray, look: npt.NDArray[np.bool_]) -> FloatArray:
        return np.asarray(look[:, None] * self._draws["look_offset"][rows], dtype=np.float64)

    def _sd(self, rows: IntArray, look: npt.NDArray[np.bool_]) -> FloatArray:
        sd = np.where(look[:, None], self._draws["sd_look"][rows], self._draws["sd_result"][rows])
        return np.asarray(
            np.maximum(self._predictive.recalibration.reading * sd, _LEAST_SD), dtype=np.float64
        )

    def _add_slopes(self, rows: IntArray, by_log_rate: FloatArray, by_log_sd: FloatArray) -> None:
        """Add derivatives of a log chance by the particle's log R and by the log sd of readings."""
        if self._slope is None:
            self._slope = np.zeros((3, *self.weight.shape))
        by_spread, by_later = self._moves
        self._slope[0, rows] += by_log_rate * by_spread[rows]
        self._slope[1, rows] += by_log_sd
        if by_later is not None:
            self._slope[2, rows] += by_log_rate * by_later[rows]


def _density(z: FloatArray) -> FloatArray:
    return np.asarray(_PEAK * np.exp(-0.5 * np.square(z)), dtype=np.float64)


def _times(z: FloatArray, factor: FloatArray) -> FloatArray:
    """z times a factor that vanishes where z is infinite."""
    return np.asarray(np.where(np.isfinite(z), z, 0.0) * factor, dtype=np.float64)


def _deviations(
    people: Particles,
    told: ToldVisits,
    at: IntArray,
    steady: FloatArray,
    centre: FloatArray,
    uniform: FloatArray,
    pilot: Recalibration,
    *,
    later: bool,
) -> tuple[Particles, FloatArray, FloatArray]:
    """Deviations of client and visit, and weights: particles are aimed at what the readings will say.

    That makes them many where they're needed; the weights take it back, so what is expected stays the same.
    """
    draws = people.predictive.draws
    target, error = _read_off(people.predictive, told, at)
    factor = pilot.spread * people.mixings
    wanted = centre + (target[:, None] - centre) / factor - steady
    if later:
        spread = np.maximum(pilot.later * draws["sd_visit"][people.draw][people.number], _LEAST_SPREAD)
        z, weight = aimed(uniform, (wanted - people.client) / spread, _width(error, factor * spread))
        return people, people.drawn("sd_visit") * z, weight
    spread = np.maximum(np.hypot(people.drawn("sd_client"), people.drawn("sd_visit")), _LEAST_SPREAD)
    z, weight = aimed(uniform, wanted / spread, _width(error, factor * spread))
    people, visit = people.split(z)
    return people, visit, weight


def _width(error: FloatArray, unit: FloatArray) -> FloatArray:
    """Width to aim with, in units of a deviation's spread: neither a needle nor wider than all of it."""
    return np.clip(error[:, None] / unit, 0.1, 1.0)


def _read_off(predictive: Predictive, told: ToldVisits, at: IntArray) -> tuple[FloatArray, FloatArray]:
    """log R of visits as their closed readings say by themselves, and its error (m,); NaN where none does."""
    draws = {name: float(np.mean(values)) for name, values in predictive.draws.items() if values.ndim == 1}
    count, first = told.n_readings[at], told.first_reading[at]
    owner = np.repeat(np.arange(len(at)), count)
    reading = np.arange(count.sum()) + np.repeat(first - np.cumsum(count) + count, count)
    look = told.is_look[reading]
    gain = 0.5 * (told.lower[reading] + told.upper[reading]) - look * draws["look_offset"]
    width = told.upper[reading] - told.lower[reading]
    usable = np.isfinite(gain) & (gain > width) & (told.minutes[reading] > 0)
    owner, gain, look, width = owner[usable], gain[usable], look[usable], width[usable]
    minutes = told.minutes[reading[usable]]
    saturating = np.full(len(gain), draws["saturating"] > 0.5)
    kind = predictive.draws["saturating"] == float(draws["saturating"] > 0.5)
    theta = float(np.mean(predictive.draws["shape"][kind]))
    progress = predictive.progress(minutes, np.full(len(gain), theta), saturating)
    sd = np.where(look, draws["sd_look"], draws["sd_result"])
    precision = gain**2 / (sd**2 + width**2 / 12.0 + draws["sd_start"] ** 2)
    total = np.bincount(owner, precision, len(at))
    with np.errstate(invalid="ignore", divide="ignore"):
        mean = np.bincount(owner, precision * np.log(gain / progress), len(at)) / total
        return np.where(total > 0, mean, np.nan), np.where(total > 0, 1.0 / np.sqrt(total), 1.0)
