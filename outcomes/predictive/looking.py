"""One session to come, look by look: what each look may read, and how surely the goal was read by then."""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from outcomes.predictive.clients import Clients
from outcomes.predictive.lift import LiftPredictive
from outcomes.predictive.normal import normal_cdf
from outcomes.predictive.past import Past
from outcomes.predictive.plans import Plans
from outcomes.predictive.session import Chair

__all__ = ["LooksAhead", "looks_ahead"]

FloatArray = npt.NDArray[np.float64]

_EXACT = 1e-9  # levels; stands for a reading sd of 0


@dataclass(frozen=True, eq=False)
class LooksAhead:
    """Looks at T minutes.

    Attributes
    ----------
    levels : ndarray (T, L)
        Chances of the level read, 1 to the top in recording steps, while lightener is left on. Rows sum to 1.
    at_goal : ndarray (T,)
        Chance that this look reads the goal, whatever looks before it read.
    reached : ndarray (T,)
        Chance that the goal was read by then, at a look or after a rinse: some hair is rinsed before its time
        for its condition.
    worth_from : int or None
        First whole minute before the rinse at which `at_goal` is as large as was asked.
    """

    levels: FloatArray
    at_goal: FloatArray
    reached: FloatArray
    worth_from: int | None


def looks_ahead(
    predictive: LiftPredictive,
    plan: Plans,
    minutes: FloatArray,
    n: int,
    seed: int,
    *,
    worth: float,
    past: Past | None = None,
) -> LooksAhead:
    """What looks at these minutes may read.

    Parameters
    ----------
    predictive : LiftPredictive
    plan : Plans
        A single one; at its longest time hair is rinsed, and the result read.
    minutes : ndarray (T,)
        Rising, above 0, up to the plan's longest time.
    n, seed : int
        As in `outcomes.predictive.simulate.simulate_courses`.
    worth : float
        Chance of the goal that makes a look worth taking.
    past : Past, optional

    Returns
    -------
    LooksAhead

    Raises
    ------
    InputError
        As `lattice`.
    """
    clients = Clients(predictive, plan, past)
    unknowns, known = clients.people(n, 1, seed)
    courses = clients.opened(plan, unknowns, known)
    chair, weight = courses.first_session(unknowns), courses.weight / n
    n_levels = round((predictive.top - 1.0) / predictive.step) + 1
    edges = np.asarray(1.0 + predictive.step * (np.arange(n_levels - 1) + 0.5), dtype=np.float64)
    goal = round((float(plan.goal[0]) - 1.0) / predictive.step)
    not_yet, before = np.ones(n), 0.0
    levels, at_goal, reached = np.empty((len(minutes), n_levels)), [], []
    for i, time in enumerate(minutes.tolist()):
        below = _below(predictive, chair, time, edges, is_result=time >= float(plan.minutes[0]))
        levels[i] = np.diff(weight @ below, prepend=0.0, append=1.0)
        at_goal.append(1.0 - weight @ below[:, goal - 1])
        rinsed = np.flatnonzero((chair.rinse < time) & (chair.rinse > before))
        not_yet *= np.where(time <= chair.rinse, below[:, goal - 1], 1.0)
        not_yet[rinsed] *= _below(predictive, chair, chair.rinse, edges[goal - 1 : goal], is_result=True)[
            rinsed, 0
        ]
        before = time
        reached.append(1.0 - weight @ not_yet)

    def is_worth(minute: int) -> bool:
        below = _below(predictive, chair, float(minute), edges[goal - 1 : goal], is_result=False)
        return bool(1.0 - weight @ below[:, 0] >= worth)

    # hair only gets lighter, so the first such minute is found by halving
    whole = range(1, int(np.ceil(plan.minutes[0])))
    first = bisect_left(whole, True, key=is_worth)
    worth_from = whole[first] if first < len(whole) else None
    return LooksAhead(np.clip(levels, 0.0, 1.0), np.array(at_goal), np.array(reached), worth_from)


def _below(
    predictive: LiftPredictive,
    chair: Chair,
    minutes: FloatArray | float,
    edges: FloatArray,
    *,
    is_result: bool,
) -> FloatArray:
    """Chance that each course (n,) reads below each edge (L - 1,)."""
    at = np.broadcast_to(np.asarray(minutes, dtype=np.float64), chair.level.shape)
    mean = chair.level + chair.rate * predictive.progress(at, chair.theta, chair.saturating)
    sd = chair.sd_result if is_result else chair.sd_look
    if not is_result:
        mean = mean + chair.look_offset
    return normal_cdf((edges - mean[:, None]) / np.maximum(sd, _EXACT)[:, None])
