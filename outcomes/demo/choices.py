"""What comes through the door and what the colourist chooses for it.

Choices depend on the lift that is needed, as in real salons: darker starts and lighter goals get stronger
developer, more heat and longer times, lightened hair gets weaker ones. A plain comparison of strengths is
therefore confounded.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from outcomes.demo.people import pick
from outcomes.demo.worlds import FloatArray, World

__all__ = ["HAIRS", "Opening", "draw_openings", "draw_settings", "switch_stylists"]

HAIRS = ("natural", "coloured", "lightened")
# Starts of first sessions as read, in half steps. The true level lies about what was read: no range of true
# levels ends abruptly, or starts read at its edge would be off to one side.
START_READ = {"natural": (2.0, 6.5), "coloured": (2.0, 6.5), "lightened": (6.0, 8.0)}


@dataclass(frozen=True, eq=False)
class Opening:
    """The first consultation of courses, arrays (n,).

    Attributes
    ----------
    hair, zone, colour_history : ndarray of str
    true_start, start_level, goal_level : ndarray
        Levels: true, as read with error and rounded, and aimed at (at least 1 above the start as read).
    condition : ndarray
        1 to 5.
    """

    hair: NDArray[np.object_]
    zone: NDArray[np.object_]
    colour_history: NDArray[np.object_]
    true_start: FloatArray
    start_level: FloatArray
    goal_level: FloatArray
    condition: FloatArray


def draw_openings(world: World, n: int, rng: np.random.Generator) -> Opening:
    """Hair, zone, start and goal of n courses.

    Parameters
    ----------
    world : World
    n : int
    rng : numpy Generator

    Returns
    -------
    Opening
    """
    at = rng.choice(len(HAIRS), size=n, p=(0.45, 0.33, 0.22))
    hair = np.array(HAIRS, dtype=object)[at]
    low, high = np.array([START_READ[h] for h in HAIRS]).T
    steps = np.floor((2.0 * (high - low) + 1.0)[at] * rng.random(n))
    start = world.rounded(low[at] + 0.5 * steps)
    true_start = start + world.step * (rng.random(n) - 0.5) + world.tau_result * rng.standard_normal(n)
    wanted = start + np.where(hair == "lightened", 2.2, 4.9) + 1.3 * rng.standard_normal(n)
    goal = np.clip(np.round(2.0 * wanted) / 2.0, start + 1.0, np.maximum(start + 1.0, 9.5))
    history = np.where(
        hair == "coloured",
        pick(rng, ("none", "one", "several"), (0.25, 0.5, 0.25), n),
        np.where(
            hair == "lightened",
            pick(rng, ("none", "one", "several"), (0.6, 0.3, 0.1), n),
            pick(rng, ("none", "one", "several"), (0.85, 0.12, 0.03), n),
        ),
    )
    sound = 4.4 - 0.5 * (hair == "coloured") - 0.9 * (hair == "lightened")
    condition = np.clip(np.round(sound + 0.6 * rng.standard_normal(n)), 2.0, 5.0)
    zone = pick(rng, ("roots", "lengths", "ends", "all"), (0.25, 0.47, 0.1, 0.18), n)
    return Opening(hair, zone, history, true_start, start, goal, condition)


def switch_stylists(
    usual: NDArray[np.int64], stylists: pd.DataFrame, rng: np.random.Generator
) -> NDArray[np.int64]:
    """Stylist of each visit: the usual one, or in a quarter of visits anyone of the group by their shares.

    Parameters
    ----------
    usual : ndarray of int (n,)
        Position of the usual stylist.
    stylists : DataFrame
        From `draw_stylists`.
    rng : numpy Generator

    Returns
    -------
    ndarray of int (n,)
    """
    others = rng.choice(len(stylists), size=len(usual), p=stylists["share"].to_numpy())
    return np.where(rng.random(len(usual)) < 0.25, others, usual)


def draw_settings(
    need: FloatArray,
    hair: NDArray[np.object_],
    condition: FloatArray,
    habits: pd.DataFrame,
    products: pd.DataFrame,
    rng: np.random.Generator,
) -> dict[str, NDArray[np.object_] | FloatArray]:
    """Strength, heat, wrap, mix, lightener, applications and longest time of each row.

    Parameters
    ----------
    need : ndarray (n,)
        Levels between the start as written and the goal.
    hair : ndarray (n,)
        Hair before this session.
    condition : ndarray (n,)
        1 to 5.
    habits : DataFrame (n rows)
        The stylists' rows of `draw_stylists`, one for each section.
    products : DataFrame
        From `draw_products`.
    rng : numpy Generator

    Returns
    -------
    dict
        peroxide_pct, heat, wrap, mix_ratio, product, applications, planned_minutes: arrays (n,).
    """
    n = len(need)
    strength = 0.55 * (need - 3.5) - 0.6 * (hair == "lightened") + 0.3 * (condition - 4.0)
    strength = strength + habits["strength_habit"].to_numpy() + 0.9 * rng.standard_normal(n)
    warmth = 0.30 * (need - 3.5) + habits["heat_habit"].to_numpy() + rng.standard_normal(n)
    longest = habits["limit"].to_numpy() + 2.5 * (need - 3.5) + 6.0 * rng.standard_normal(n)
    wrap = np.where(
        habits["heat_habit"].to_numpy() + rng.standard_normal(n) > 0.9,
        pick(rng, ("foil", "open", "film"), (0.3, 0.1, 0.6), n),
        pick(rng, ("foil", "open", "film"), (0.75, 0.2, 0.05), n),
    )
    return {
        "peroxide_pct": np.array([3.0, 6.0, 9.0, 12.0])[np.searchsorted([-1.3, 0.5, 1.7], strength)],
        "heat": np.array(["none", "low", "medium", "high"], dtype=object)[
            np.searchsorted([0.1, 0.8, 1.5], warmth)
        ],
        "wrap": wrap,
        "mix_ratio": rng.choice([1.0, 1.5, 2.0, 2.5, 3.0], size=n, p=[0.1, 0.3, 0.4, 0.12, 0.08]),
        "product": products["product"].to_numpy(dtype=object)[
            rng.choice(len(products), size=n, p=products["share"].to_numpy())
        ],
        "applications": 1.0 + (rng.random(n) < 0.06),
        "planned_minutes": np.clip(5.0 * np.round(longest / 5.0), 20.0, 60.0),
    }
