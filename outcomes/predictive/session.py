"""One session at the chair, look by look, for many courses at once; errors of reading are integrated.

A course's hair follows one path; what is read off it is uncertain. So a course isn't read once but carries a
weight, the chance that nothing has been read at the goal so far, and every look takes its part of it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from outcomes.predictive.lift import LiftPredictive
from outcomes.predictive.normal import normal_cdf

__all__ = ["ABOVE", "Chair", "ReadAnew", "Worked", "work_session"]

FloatArray = npt.NDArray[np.float64]

ABOVE = 2
"""How many recording steps above the goal a reading is told apart; lighter ones count as the last."""

_EXACT = 1e-9  # levels; stands for a reading sd of 0


@dataclass(frozen=True, eq=False)
class Chair:
    """What the hair and the people are like in this session; arrays (m,), one value a course.

    Attributes
    ----------
    level : ndarray
        True level when lightener goes on.
    goal : ndarray
    rate : ndarray
        R, levels in the reference minutes.
    theta : ndarray
    saturating : ndarray of bool
        Whether g is saturating; else a power.
    looks : ndarray (looks, m)
        Minutes of the looks, rising; infinite where there's no such look before the rinse.
    rinse : ndarray
        Minutes at which it's rinsed unless a look reads the goal before.
    sd_look, sd_result : ndarray
        Errors of a reading, levels.
    look_offset : ndarray
        What a look reads above the result, levels.
    """

    level: FloatArray
    goal: FloatArray
    rate: FloatArray
    theta: FloatArray
    saturating: npt.NDArray[np.bool_]
    looks: FloatArray
    rinse: FloatArray
    sd_look: FloatArray
    sd_result: FloatArray
    look_offset: FloatArray


@dataclass(frozen=True, eq=False)
class Worked:
    """How it went.

    Attributes
    ----------
    weight : ndarray (m,)
        Chance that the goal wasn't read, in this session or before.
    reached : ndarray (m,)
        Chance that it was read in this session.
    told : ndarray (ABOVE + 1, m)
        Chance that it was, and that this reading is the result: all of it, then that it was at least one and
        two steps above the goal. Zeros beyond the first row where no levels are told.
    level : ndarray (m,)
        True level at the rinse, where the goal wasn't read.
    below : ndarray (m,)
        Chance that the result at the rinse reads below the goal.
    """

    weight: FloatArray
    reached: FloatArray
    told: FloatArray
    level: FloatArray
    below: FloatArray


class ReadAnew:
    """Results that are read anew after a look that read the goal, and may differ from that look.

    Parameters
    ----------
    step, top : float
        Recording step and end of the scale, levels.
    plan : ndarray of int (m,)
        Which plan each course belongs to, 0 to B - 1.
    n_plans : int
        B.
    share : ndarray (m,)
        Chance that a course's result is read anew.
    error : ndarray (m,)
        Of the result so read, levels; one draw a course.

    Attributes
    ----------
    chances : ndarray (B, L)
        Sums over a plan's courses: a look read the goal, and the result, read anew, this level.
    """

    def __init__(
        self,
        step: float,
        top: float,
        plan: npt.NDArray[np.intp],
        n_plans: int,
        share: FloatArray,
        error: FloatArray,
    ) -> None:
        self.share = share
        self._step, self._error = step, error
        n_levels = round((top - 1.0) / step) + 1
        self._first_cell = plan * n_levels
        self.chances = np.zeros((n_plans, n_levels))

    def add(self, courses: npt.NDArray[np.intp], true: FloatArray, chance: FloatArray) -> None:
        """A look.

        Parameters
        ----------
        courses : ndarray of int (k,)
        true : ndarray (k,)
            Their true levels then.
        chance : ndarray (k,)
            That this very look read the goal.
        """
        last = self.chances.shape[1] - 1
        read = np.clip((true + self._error[courses] - 1.0) / self._step + 0.5, 0.0, last + 0.5)
        cell = self._first_cell[courses] + read.astype(np.intp)
        found = np.bincount(cell, self.share[courses] * chance, self.chances.size)
        self.chances += found.reshape(self.chances.shape)


def work_session(
    predictive: LiftPredictive,
    chair: Chair,
    weight: FloatArray,
    *,
    tells_levels: bool = True,
    reads_result: bool = True,
    anew: ReadAnew | None = None,
) -> Worked:
    """Work one session of many courses.

    Parameters
    ----------
    predictive : LiftPredictive
        Gives the shape, the recording step and the end of the scale.
    chair : Chair
        Arrays (m,).
    weight : ndarray (m,)
        Chance that the goal wasn't read before.
    tells_levels : bool
        False leaves out how far above the goal a reading was, which takes two thirds of the work.
    reads_result : bool
        False: looks alone are read, nothing at the rinse, and `below` is of those.
    anew : ReadAnew, optional
        Takes the results that are read anew after a look that read the goal.

    Returns
    -------
    Worked

    Notes
    -----
    Looks are taken before `rinse`; at `rinse` the result is read. A reading is rounded to the step, so it's
    below the goal with chance Phi((goal - step/2 - true level - offset) / sd).
    """
    half = predictive.step / 2
    looks = np.isfinite(chair.looks).sum(axis=0)
    # Courses with many looks first: then those that are looked at a k-th time are always the first so many.
    order = np.argsort(-looks, kind="stable")
    level, rate, theta = (a[order] for a in (chair.level, chair.rate, chair.theta))
    saturating = chair.saturating[order]
    remaining = weight[order]
    reached, told = np.zeros(len(order)), np.zeros((ABOVE + 1, len(order)))
    copied = 1.0 if anew is None else 1.0 - anew.share[order]

    def read(
        minutes: FloatArray, cut: FloatArray, precision: FloatArray, is_result: FloatArray | float
    ) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Read the first so many courses; true level, chance of a reading below the goal, of one at it."""
        m = len(minutes)
        gained = rate[:m] * predictive.progress(minutes, theta[:m], saturating[:m])
        # level 10 takes in everything lighter, so the hair itself may be beyond it
        true = level[:m] + gained
        z = (cut[:m] - true) * precision[:m]
        below = normal_cdf(z)
        is_result = is_result if isinstance(is_result, float) else is_result[:m]
        at_goal = remaining[:m] * (1.0 - below)
        reached[:m] += at_goal
        told[0, :m] += is_result * at_goal
        for steps in range(1, ABOVE + 1 if tells_levels else 1):
            higher = normal_cdf(z + steps * predictive.step * precision[:m])
            told[steps, :m] += is_result * remaining[:m] * (1.0 - higher)
        remaining[:m] *= below
        return true, below, at_goal

    cut = (chair.goal - half - chair.look_offset)[order]
    precision = 1.0 / np.maximum(chair.sd_look[order], _EXACT)
    looked = np.bincount(looks)[::-1].cumsum()[::-1]  # courses with at least so many looks
    for k in range(1, len(looked)):
        at = order[: looked[k]]
        true, _, at_goal = read(chair.looks[k - 1, at], cut, precision, copied)
        if anew is not None:
            anew.add(at, true, at_goal)
    if reads_result:
        precision = 1.0 / np.maximum(chair.sd_result[order], _EXACT)
        true, below, _ = read(chair.rinse[order], (chair.goal - half)[order], precision, 1.0)
    else:
        true, below = level, remaining
    back = np.empty_like(order)
    back[order] = np.arange(len(order))
    end = np.minimum(true[back], predictive.top)
    return Worked(remaining[back], reached[back], told[:, back], end, below[back])
