"""True chances of a plan in a simulated salon group, by playing the very same process many times.

Which process, so that a forecast can be compared with it fairly:

- The client is new: an effect drawn once from the world's spread of clients and kept in all sessions.
- The stylist is one of the log's, drawn once in proportion to their rows in the log, with that stylist's true
  effect, usual look interval, eye and way of writing results, in all sessions.
- Whatever the plan doesn't give (texture, zone, wrap, mix ratio, colour history, applications, lightener,
  condition) is that of one row of the log with the plan's hair, drawn at random, and stays; condition then
  wears as in the log.
- The plan's start is a reading. The true level is spread evenly over the rounding step about it, plus the
  error of a result reading, as first starts are in the log.
- Each session goes as `chair.py` says, with the plan's developer and heat and with the plan's `minutes` as
  the longest time intended: looks before that moment with error and rounding, a stop at the goal or for
  condition, a rinse at that moment otherwise, and a result read after the rinse.
- A session is a success, and the course done, when a reading at a look, or the result, is at the goal or
  lighter, as that stylist's eye reads it. Otherwise there is a next session.
  It starts from the true level reached, on hair "lightened" and
  with the effect of a later session, and has a visit effect of its own. Nobody gives up.
- A last quarter that's slower for no written reason isn't meant; a lightener of that quarter is, as often as
  in the log.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from outcomes.demo.chair import Settings, condition_after, work_session
from outcomes.demo.choices import START_READ
from outcomes.demo.people import client_effects
from outcomes.demo.simulate import SimulatedTruth
from outcomes.demo.worlds import FloatArray, World
from outcomes.errors import InputError

__all__ = ["Plan", "TrueChances", "random_plans", "true_session_chances"]

FEWEST_VISITS = 20
NEED_WITHIN = 1.0


@dataclass(frozen=True)
class Plan:
    """A consultation.

    Attributes
    ----------
    start, goal : float
        Levels.
    hair : {"natural", "coloured", "lightened"}
    peroxide : float
        Developer strength, %.
    heat : {"none", "low", "medium", "high"}
    minutes : float
        Longest time intended.
    """

    start: float
    goal: float
    hair: str
    peroxide: float
    heat: str
    minutes: float


@dataclass(frozen=True, eq=False)
class TrueChances:
    """Shares of the courses played.

    Attributes
    ----------
    probabilities : ndarray (limit + 1,)
        Done in exactly 1, 2, ..., limit sessions; the last entry: not done within the limit.
    n_courses : int
        Courses played; the Monte Carlo error of a chance p is sqrt(p (1 - p) / n_courses).
    worst : ndarray (5,)
        Shares of courses whose worst condition after a session that didn't read the goal was 1, 2, ..., 5;
        what they lack of 1 was done at once.
    processed : ndarray (n_courses, limit)
        Minutes of each session's processing; NaN where the goal had been read before it.
    needed : ndarray (n_courses,)
        Sessions of each course; limit + 1 where it wasn't done within them.
    """

    probabilities: FloatArray
    n_courses: int
    worst: FloatArray = field(default_factory=lambda: np.zeros(5))
    processed: FloatArray = field(default_factory=lambda: np.zeros((0, 0)))
    needed: NDArray[np.intp] = field(default_factory=lambda: np.zeros(0, dtype=np.intp))

    def stops_first(self, floor: int) -> float:
        """Chance that condition falls below a floor before the goal is read.

        Parameters
        ----------
        floor : int
            1 to 5.

        Returns
        -------
        float
        """
        return float(self.worst[: floor - 1].sum())

    @property
    def median(self) -> int | None:
        """Fewest sessions within which at least half of the courses are done; None beyond the limit."""
        enough = np.cumsum(self.probabilities[:-1]) >= 0.5
        return int(np.argmax(enough)) + 1 if enough.any() else None

    def to_dict(self) -> dict[str, float]:
        """Chances by "1", "2", ..., "more"."""
        names = [*(str(k + 1) for k in range(len(self.probabilities) - 1)), "more"]
        return dict(zip(names, self.probabilities.tolist(), strict=True))


def true_session_chances(
    world: World,
    truth: SimulatedTruth,
    plan: Plan,
    *,
    n_courses: int = 20_000,
    seed: int = 0,
    limit: int = 6,
    start_is_true: bool = False,
    condition: float | None = None,
) -> TrueChances:
    """Chance that a new client's course is done in exactly 1, 2, ... sessions; the process is stated above.

    Parameters
    ----------
    world : World
        The world of the log.
    truth : SimulatedTruth
        Behind the log whose stylists and cases are meant.
    plan : Plan
    n_courses : int
        Courses to play.
    seed : int
        Of a PCG64 generator.
    limit : int
        Most sessions.
    start_is_true : bool
        Take the plan's start for the true level instead of a reading of it.
    condition : float, optional
        Strand condition before the first session, in place of that of the log's rows.

    Returns
    -------
    TrueChances

    Raises
    ------
    InputError
        The log has no row with the plan's hair.
    """
    rng = np.random.Generator(np.random.PCG64(seed))
    alike = truth.rows[truth.rows["hair"] == plan.hair]
    if not len(alike):
        raise InputError(f"hair {plan.hair!r}: expected hair that the log has; choose another plan")
    case = alike.iloc[rng.integers(0, len(alike), size=n_courses)]
    visits = truth.stylists["visits"].to_numpy(dtype=np.float64)
    team = rng.choice(len(visits), size=n_courses, p=visits / visits.sum())
    fixed = (
        case["case_effect"].to_numpy()
        + case["product_effect"].to_numpy()
        + truth.stylists["effect"].to_numpy()[team]
        + client_effects(world, n_courses, rng)
    )
    level = np.full(n_courses, float(plan.start))
    if not start_is_true:
        error = world.tau_result * rng.standard_normal(n_courses)
        level += world.step * (rng.random(n_courses) - 0.5) + error
    first_condition = case["condition_before"].to_numpy()
    if condition is not None:
        first_condition = np.full(n_courses, condition)
    state = first_condition.copy()
    worst = np.full(n_courses, 6)
    at = np.arange(n_courses)
    needed = np.full(n_courses, limit, dtype=np.intp)
    processed = np.full((n_courses, limit), np.nan)
    for number in range(limit):
        hair, later = ("lightened", 1.0) if number else (plan.hair, 0.0)
        n = len(at)
        log_rate = (
            world.expected_log_rate(
                peroxide=np.full(n, plan.peroxide),
                heat=np.full(n, world.heat[plan.heat]),
                hair=np.full(n, world.hair[hair]),
                later=np.full(n, later),
                true_start=level,
            )
            + fixed[at]
            + world.sd_visit * rng.standard_normal(n)
        )
        given = Settings(
            start=level,
            goal=np.full(n, plan.goal),
            rate=np.exp(log_rate),
            limit=np.full(n, plan.minutes),
            interval=truth.stylists["interval"].to_numpy(dtype=np.float64)[team[at]],
            peroxide=np.full(n, plan.peroxide),
            condition=state,
            copies=truth.stylists["copies"].to_numpy(dtype=bool)[team[at]],
            eye=truth.stylists["eye"].to_numpy(dtype=np.float64)[team[at]],
        )
        session = work_session(world, given, rng)
        after = condition_after(world, given, session, rng)
        needed[at[session.success]] = number
        processed[at, number] = session.minutes
        recovered = after + (rng.random(n) < world.condition_recovery)
        goes_on = ~session.success
        worst[at[goes_on]] = np.minimum(worst[at], after)[goes_on]
        state = np.minimum(first_condition[at], recovered)[goes_on]
        level, at = session.level[goes_on], at[goes_on]
        if not len(at):
            break
    done, lowest = np.bincount(needed, minlength=limit + 1), np.bincount(worst, minlength=7)[1:6]
    return TrueChances(done / n_courses, n_courses, lowest / n_courses, processed, needed + 1)


def random_plans(world: World, tables: dict[str, pd.DataFrame], n: int, seed: int) -> list[Plan]:
    """Plans from the region that a log covers.

    Start, goal and hair are those of a random row; developer, heat and longest time those of another row with
    the same hair, whose lift needed is within one level of the first one's. Only rows within the 2nd to 98th
    percentile of every number and with developer and heat that at least 20 rows have are used; of starts,
    only first ones half a level or more inside the range from which the simulator draws them.

    Parameters
    ----------
    world : World
        The world of the log.
    tables : dict
        From `simulate_log`.
    n : int
        Plans.
    seed : int
        Of a PCG64 generator.

    Returns
    -------
    list of Plan

    Raises
    ------
    InputError
        The log is too small to have such rows.
    """
    rng = np.random.Generator(np.random.PCG64(seed))
    visits = tables["visits"]
    covered = _covered(visits)
    lowest, highest = ({hair: ends[i] for hair, ends in START_READ.items()} for i in (0, 1))
    low = visits["hair"].map(lowest).to_numpy(dtype=np.float64) + world.step
    high = visits["hair"].map(highest).to_numpy(dtype=np.float64) - world.step
    start = visits["start_level"].to_numpy()
    is_first = ~visits["course"].duplicated().to_numpy()
    wishes = visits[covered & is_first & (start >= low) & (start <= high)]
    ways = visits[covered]
    if not len(wishes):
        raise InputError(f"{len(visits)} rows: expected enough to cover some plans; simulate a longer log")
    plans = []
    way_need = (ways["goal_level"] - ways["start_level"]).to_numpy()
    way_hair = ways["hair"].to_numpy()
    for row in rng.integers(0, len(wishes), size=n):
        wish = wishes.iloc[row]
        near = np.abs(way_need - float(wish["goal_level"] - wish["start_level"])) <= NEED_WITHIN
        choice = np.flatnonzero(near & (way_hair == wish["hair"]))
        way = ways.iloc[rng.choice(choice)]
        plans.append(
            Plan(
                start=float(wish["start_level"]),
                goal=float(wish["goal_level"]),
                hair=str(wish["hair"]),
                peroxide=float(way["peroxide_pct"]),
                heat=str(way["heat"]),
                minutes=float(way["planned_minutes"]),
            )
        )
    return plans


def _covered(visits: pd.DataFrame) -> NDArray[np.bool_]:
    """Rows of which every number is well within the log, and every category often met."""
    inside = np.ones(len(visits), dtype=bool)
    for column in ("start_level", "goal_level", "planned_minutes"):
        values = visits[column].to_numpy()
        low, high = np.nanpercentile(values, [2.0, 98.0])
        inside &= (values >= low) & (values <= high)
    for column in ("peroxide_pct", "heat", "hair"):
        inside &= (visits[column].map(visits[column].value_counts()) >= FEWEST_VISITS).to_numpy()
    return inside
