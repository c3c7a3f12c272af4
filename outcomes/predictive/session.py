"""One session at the chair, look by look, for many courses at once; errors of reading are integrated.

A course's hair follows one path; what is read off it is uncertain. So a course isn't read once but carries a
weight, the chance that nothing has been read at the goal so far, and every look takes its part of it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from outcomes.predictive.distribution import LiftPredictive
from outcomes.predictive.normal import normal_cdf

__all__ = ["ABOVE", "Chair", "Worked", "work_session"]

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
    gap : ndarray
        Minutes between looks; infinite where nobody looks.
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
    gap: FloatArray
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
    reached : ndarray (ABOVE + 1, m)
        Chance that it was read in this session: all of it, then at least one and two steps above the goal.
    level : ndarray (m,)
        True level at the rinse, where the goal wasn't read.
    below : ndarray (m,)
        Chance that the result at the rinse reads below the goal.
    """

    weight: FloatArray
    reached: FloatArray
    level: FloatArray
    below: FloatArray


def work_session(
    predictive: LiftPredictive,
    chair: Chair,
    weight: FloatArray,
    *,
    tells_levels: bool = True,
    reads_result: bool = True,
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

    Returns
    -------
    Worked

    Notes
    -----
    Looks are taken at every multiple of `gap` before `rinse`; at `rinse` the result is read. A reading is
    rounded to the step, so it's below the goal with chance Phi((goal - step/2 - true level - offset) / sd).
    """
    half = predictive.step / 2
    looks = np.maximum(np.ceil(chair.rinse / chair.gap - 1e-9) - 1, 0).astype(np.intp)
    # Courses with many looks first: then those that are looked at a k-th time are always the first so many.
    order = np.argsort(-looks, kind="stable")
    level, rate, theta, gap = (a[order] for a in (chair.level, chair.rate, chair.theta, chair.gap))
    saturating = chair.saturating[order]
    remaining = weight[order]
    reached = np.zeros((ABOVE + 1, len(order)))

    def read(minutes: FloatArray, cut: FloatArray, precision: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Read the first so many courses at these minutes; true level, chance of a reading below the goal."""
        m = len(minutes)
        gained = rate[:m] * predictive.progress(minutes, theta[:m], saturating[:m])
        # level 10 takes in everything lighter, so the hair itself may be beyond it
        true = level[:m] + gained
        z = (cut[:m] - true) * precision[:m]
        below = normal_cdf(z)
        reached[0, :m] += remaining[:m] * (1.0 - below)
        for steps in range(1, ABOVE + 1 if tells_levels else 1):
            higher = normal_cdf(z + steps * predictive.step * precision[:m])
            reached[steps, :m] += remaining[:m] * (1.0 - higher)
        remaining[:m] *= below
        return true, below

    cut = (chair.goal - half - chair.look_offset)[order]
    precision = 1.0 / np.maximum(chair.sd_look[order], _EXACT)
    looked = np.bincount(looks)[::-1].cumsum()[::-1]  # courses with at least so many looks
    for k in range(1, len(looked)):
        read(k * gap[: looked[k]], cut, precision)
    if reads_result:
        precision = 1.0 / np.maximum(chair.sd_result[order], _EXACT)
        true, below = read(chair.rinse[order], (chair.goal - half)[order], precision)
    else:
        true, below = level, remaining
    back = np.empty_like(order)
    back[order] = np.arange(len(order))
    return Worked(remaining[back], reached[:, back], np.minimum(true[back], predictive.top), below[back])
