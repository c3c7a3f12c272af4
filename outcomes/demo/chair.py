"""One session at the chair, look by look, for many sections of hair at once.

This is the one process that both the invented log and its true chances come from:

1. The section's level after t minutes is start + R g(t). It is known to nobody.
2. The colourist looks after every interval of that stylist's habit (whole minutes, the habit times a
   log-normal factor, drawn anew for each look, 2 or more), as long as that moment lies before the longest
   time intended. A look reads the level with error (sd tau_look, shift look_bias), rounded to the recording
   step, within 1 to 10.
3. A look that reads the goal or lighter ends the session: stop "target".
4. After a look below the goal the hair's condition may end it: stop "condition", with chance
   1 - exp(-hazard * minutes since the look before), the hazard growing with minutes and strength and with
   worse condition. Where the world says so, a session may be broken off at any minute: stop "other".
5. Otherwise it is rinsed at the longest time intended, without a further look: stop "time".
6. After the rinse the result is read with error (sd tau_result), rounded. For "target" the result as written
   may instead be the look itself, or the goal.
7. The session is a success if it ended for "target", or if its result was read at the goal or lighter.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from outcomes.demo.worlds import REFERENCE_MINUTES, FloatArray, World

__all__ = ["STOPS", "Session", "Settings", "condition_after", "work_session"]

STOPS = np.array(["target", "time", "condition", "other"], dtype=object)
TARGET, TIME, CONDITION, OTHER = range(4)
MINUTES_FLOOR = 2.0


@dataclass(frozen=True, eq=False)
class Settings:
    """What is given when lightener goes on: one value for each section of hair, all arrays (n,).

    Attributes
    ----------
    start : ndarray
        True level before lightening.
    goal : ndarray
        Level aimed at.
    rate : ndarray
        R, levels in 45 minutes.
    limit : ndarray
        Longest time intended, minutes.
    interval : ndarray
        The stylist's usual minutes between looks.
    peroxide : ndarray
        Developer strength, %.
    condition : ndarray
        Condition before, 1 to 5.
    copies : ndarray of bool
        Whether the stylist writes the look that ended a target session as its result.
    eye : ndarray
        Levels that the stylist reads too light.
    """

    start: FloatArray
    goal: FloatArray
    rate: FloatArray
    limit: FloatArray
    interval: FloatArray
    peroxide: FloatArray
    condition: FloatArray
    copies: NDArray[np.bool_]
    eye: FloatArray


@dataclass(frozen=True, eq=False)
class Session:
    """How the sessions went; arrays (n,), and the looks in the order in which they were taken.

    Attributes
    ----------
    minutes : ndarray
        From application to rinse.
    stop : ndarray of int
        Index into `STOPS`.
    level : ndarray
        True level at the rinse.
    achieved : ndarray
        Result as written.
    success : ndarray of bool
        The goal was read, at a look or as the result.
    looks : ndarray
        Looks that read below the goal: all but the one that ended a target session.
    look_section, look_minutes, look_level : ndarray (n_looks,)
        Section, minutes since application and level read; the look that ended a target session comes with
        `look_ended` True.
    look_ended : ndarray of bool (n_looks,)
    """

    minutes: FloatArray
    stop: NDArray[np.int64]
    level: FloatArray
    achieved: FloatArray
    success: NDArray[np.bool_]
    looks: NDArray[np.int64]
    look_section: NDArray[np.int64]
    look_minutes: FloatArray
    look_level: FloatArray
    look_ended: NDArray[np.bool_]


def work_session(world: World, given: Settings, rng: np.random.Generator) -> Session:
    """Work many sections once, each to its own end.

    Parameters
    ----------
    world : World
    given : Settings
        Arrays (n,).
    rng : numpy Generator

    Returns
    -------
    Session

    Raises
    ------
    InputError
        As `World.progress`.
    """
    n = len(given.start)
    minutes, stop = given.limit.astype(np.float64), np.full(n, TIME)
    ending_level = np.full(n, np.nan)
    looks = np.zeros(n, dtype=np.int64)
    if world.other_share > 0:
        broken = rng.random(n) < world.other_share
        leaves = np.where(broken, np.maximum(MINUTES_FLOOR, np.ceil(rng.random(n) * given.limit)), np.inf)
        minutes, stop = np.minimum(minutes, leaves), np.where(broken, OTHER, stop)
    interval = given.interval
    if world.clock_share > 0:
        interval = np.where(rng.random(n) < world.clock_share, np.inf, interval)
    end = minutes.copy()
    at = np.arange(n)
    clock = np.zeros(n)
    taken: list[tuple[NDArray[np.int64], FloatArray, FloatArray, NDArray[np.bool_]]] = []
    while True:
        factor = np.exp(world.look_interval_spread * rng.standard_normal(len(at)))
        wait = np.maximum(MINUTES_FLOOR, np.round(interval[at] * factor))
        clock = clock + wait
        still = clock < end[at]
        at, clock, wait = at[still], clock[still], wait[still]
        if not len(at):
            break
        seen = true_level(world, given.start[at], given.rate[at], clock) + given.eye[at]
        read = _read(world, seen, rng, look=True)
        reached = read >= given.goal[at]
        damaged = ~reached & (rng.random(len(at)) < _condition_chance(world, given, at, clock, wait))
        taken.append((at, clock, read, reached))
        over = reached | damaged
        ended = at[over]
        minutes[ended], stop[ended] = clock[over], np.where(reached[over], TARGET, CONDITION)
        ending_level[at[reached]] = read[reached]
        looks[at[~reached]] += 1
        at, clock = at[~over], clock[~over]
    level = true_level(world, given.start, given.rate, minutes)
    achieved = _result(world, given, level, stop, ending_level, rng)
    nobody: tuple[NDArray[np.int64], FloatArray, FloatArray, NDArray[np.bool_]]
    nobody = (np.empty(0, dtype=np.int64), np.empty(0), np.empty(0), np.empty(0, dtype=bool))
    sections, clocks, readings, ended_it = zip(nobody, *taken, strict=True)
    return Session(
        minutes=minutes,
        stop=stop,
        level=level,
        achieved=achieved,
        success=(stop == TARGET) | (achieved >= given.goal),
        looks=looks,
        look_section=np.concatenate(sections),
        look_minutes=np.concatenate(clocks),
        look_level=np.concatenate(readings),
        look_ended=np.concatenate(ended_it),
    )


def true_level(world: World, start: FloatArray, rate: FloatArray, minutes: FloatArray) -> FloatArray:
    """Level of the hair itself after some minutes.

    Parameters
    ----------
    world : World
    start : ndarray (n,)
        True level before.
    rate : ndarray (n,)
        Levels per 45 minutes.
    minutes : ndarray (n,)

    Returns
    -------
    ndarray (n,)

    Raises
    ------
    InputError
        As `World.progress`.
    """
    level = start + rate * world.progress(minutes)
    return np.minimum(level, 10.0) if world.cap_true_level else level


def condition_after(world: World, given: Settings, session: Session, rng: np.random.Generator) -> FloatArray:
    """Condition after the session, 1 to 5: one point lower at most, and surely after a stop for it.

    Parameters
    ----------
    world : World
    given : Settings
    session : Session
    rng : numpy Generator

    Returns
    -------
    ndarray (n,)
    """
    odds = (
        world.condition_drop
        + world.condition_drop_peroxide * np.log(given.peroxide / 6.0)
        + world.condition_drop_minutes * (session.minutes - 30.0) / REFERENCE_MINUTES
    )
    drops = (rng.random(len(odds)) < 1.0 / (1.0 + np.exp(-odds))) | (session.stop == CONDITION)
    return np.asarray(np.maximum(1.0, given.condition - drops), dtype=np.float64)


def _read(world: World, level: FloatArray, rng: np.random.Generator, *, look: bool) -> FloatArray:
    """Reading of true levels, as written."""
    sd, bias = (world.tau_look, world.look_bias) if look else (world.tau_result, 0.0)
    return world.rounded(level + bias + sd * rng.standard_normal(len(level)))


def _condition_chance(
    world: World, given: Settings, at: NDArray[np.int64], clock: FloatArray, wait: FloatArray
) -> FloatArray:
    """Chance of a stop for condition at a look, since the look before."""
    log_ratio = (
        world.condition_hazard_condition * (4.0 - given.condition[at])
        + world.condition_hazard_peroxide * np.log(given.peroxide[at] / 6.0)
        + world.condition_hazard_minutes * clock / REFERENCE_MINUTES
    )
    return np.asarray(-np.expm1(-wait * world.condition_hazard * np.exp(log_ratio)), dtype=np.float64)


def _result(
    world: World,
    given: Settings,
    level: FloatArray,
    stop: NDArray[np.int64],
    ending_level: FloatArray,
    rng: np.random.Generator,
) -> FloatArray:
    """Results as written: read anew, or the ending look, or the goal."""
    achieved = _read(world, level + given.eye, rng, look=False)
    target = stop == TARGET
    achieved = np.where(target & given.copies, ending_level, achieved)
    if world.heaped_share > 0:
        achieved = np.where(target & (rng.random(len(level)) < world.heaped_share), given.goal, achieved)
    return np.asarray(achieved, dtype=np.float64)
