"""Every truth of an invented salon group, in one frozen table, and the variants of it by name."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from math import log
from typing import Any

import numpy as np
from numpy.typing import NDArray

from outcomes.errors import InputError

__all__ = ["WORLD_NAMES", "World", "world"]

FloatArray = NDArray[np.float64]

REFERENCE_MINUTES = 45.0


def _table(**values: float) -> Callable[[], Mapping[str, float]]:
    """Default factory for one table of effects by category."""
    return lambda: dict(values)


@dataclass(frozen=True, eq=False)
class World:
    """What is true in an invented salon group.

    A section's rate R (levels gained in 45 minutes) has

        log R = log_rate + peroxide_exponent log(peroxide/6) + heat + hair + later + start_slope (start - 5)
                + texture + zone + wrap + mix_exponent log(mix ratio / 2) + colour_history
                + second_application (applications - 1) + stylist + client + product + visit

    and after t minutes its level is start + R g(t), g(45) = 1. All sizes of effects are invented.

    Attributes
    ----------
    shape, theta : str, float
        "power": g = (t/45)^theta. "saturating": g = (1 - exp(-t/theta)) / (1 - exp(-45/theta)), theta in
        minutes.
    log_rate : float
        log(levels in 45 minutes) of natural hair, no heat, 6 % peroxide, every other effect at its reference.
    heat, hair, texture, zone, wrap, colour_history : mapping
        Effects on log R by category; the reference category has 0.
    later : float
        Effect of being a session after the first of its course.
    start_slope : float
        Effect on log R per level of true start above 5.
    sd_stylist, sd_client, sd_product, sd_visit : float
        Spread of the effects on log R. The visit effect belongs to one row (visit and zone).
    sd_quarter : float
        Spread of a stylist's further effect in each quarter of the calendar.
    client_tail : str
        "normal", or "t4": Student's t with 4 degrees of freedom, scaled to the same sd.
    tau_result, tau_look : float
        Sd of the error of one reading at rinsed hair, and at wet hair under product (levels).
    look_bias : float
        Added to every look (levels); -0.3 reads too dark.
    light_eye : float
        Added to every look and result of the stylist with the largest share of visits (levels).
    step : float
        Recording step (levels). Readings are rounded to it and kept within 1 to 10.
    cap_true_level : bool
        True stops the hair itself at level 10. False: level 10 takes in everything lighter, and only readings
        are cut off there.
    copied_share : float
        Share of stylists who write the look that ended a `target` visit as its result; the others read anew
        after the rinse. The first round(share * n) of a shuffled list of stylists, so it's exact.
    heaped_share : float
        Share of the `target` results that are written as the goal whatever was read.
    next_start : str
        Start level of a later session as written: "copied" from the last result, or "read_again".
    look_interval : (float, float)
        Range of the stylists' usual minutes between two looks (uniform between stylists).
    look_interval_spread : float
        Sd of log(interval) from look to look within a stylist. Intervals are whole minutes, 2 or more.
    minutes_step : int
        Written minutes of looks and rinses are rounded to it. Of looks below the goal that then coincide the
        last is kept; it may be at the minute of the rinse.
    looks_recorded : bool
        False: no checks, `looks` empty, and `look_every` filled for `look_every_share` of visits.
    look_every_share : float
        Used only where looks aren't recorded.
    clock_share : float
        Sessions that run to their time without a look.
    final_look_share : float
        Share of stylists who also write the look that ended a `target` visit among the checks.
    limit_habit : (float, float)
        Range of the stylists' usual longest time (minutes, uniform between stylists); see `choices.py`.
    condition_hazard : float
        Chance per minute of a stop for condition, at condition 4, 6 % peroxide, minute 0.
    condition_hazard_condition, condition_hazard_peroxide, condition_hazard_minutes : float
        Its log slopes per point of condition below 4, on log(peroxide/6), and per 45 minutes.
    condition_drop : float
        Log odds of losing a point of condition in a session of 30 minutes at 6 %.
    condition_drop_peroxide, condition_drop_minutes : float
        Its slopes on log(peroxide/6) and per 45 minutes.
    condition_recovery : float
        Chance of gaining a point back between sessions.
    other_share : float
        Chance that a visit is broken off for another reason, at a moment uniform over its longest time.
    give_up : float
        Chance that a client doesn't come back after a session that didn't reach the goal.
    give_up_slow : float
        Log ratio of that chance for a client whose hair is one sd slower.
    return_share : float
        Chance that a client begins another course after one that ended.
    two_zone_share : float
        Share of courses that have a second one beside them, in another zone, at the same visits.
    visits_per_stylist : float
        Rows of a log for each stylist; `n_stylists`, where above 0, fixes their number instead.
    n_salons, n_products : int
    last_quarter : float
        Added to log R of all sections in the last 91 days.
    last_product : bool
        Whether a lightener that nobody had before is used in those days, and is the reason.
    days : int
        Length of the log.
    first_day : str
        ISO date on which the log begins.
    wash_share : float
        Share of visits with readings after washes.
    """

    name: str = "plain"
    shape: str = "power"
    theta: float = 0.62
    log_rate: float = log(4.3)
    peroxide_exponent: float = 0.42
    heat: Mapping[str, float] = field(default_factory=_table(none=0.0, low=0.08, medium=0.17, high=0.22))
    hair: Mapping[str, float] = field(default_factory=_table(natural=0.0, coloured=-0.18, lightened=-0.10))
    later: float = -0.12
    start_slope: float = -0.02
    texture: Mapping[str, float] = field(default_factory=_table(fine=0.06, medium=0.0, coarse=-0.07))
    zone: Mapping[str, float] = field(default_factory=_table(roots=0.08, lengths=0.0, ends=-0.06, all=0.02))
    wrap: Mapping[str, float] = field(default_factory=_table(foil=0.0, open=-0.08, film=0.03))
    mix_exponent: float = -0.10
    colour_history: Mapping[str, float] = field(default_factory=_table(none=0.0, one=-0.05, several=-0.10))
    second_application: float = 0.06
    sd_stylist: float = 0.10
    sd_client: float = 0.20
    sd_product: float = 0.05
    sd_visit: float = 0.14
    sd_quarter: float = 0.0
    client_tail: str = "normal"
    tau_result: float = 0.18
    tau_look: float = 0.25
    look_bias: float = 0.0
    light_eye: float = 0.0
    step: float = 0.5
    cap_true_level: bool = False
    copied_share: float = 0.5
    heaped_share: float = 0.0
    next_start: str = "copied"
    look_interval: tuple[float, float] = (6.0, 14.0)
    look_interval_spread: float = 0.20
    minutes_step: int = 1
    looks_recorded: bool = True
    look_every_share: float = 0.7
    clock_share: float = 0.0
    final_look_share: float = 0.0
    limit_habit: tuple[float, float] = (34.0, 48.0)
    condition_hazard: float = 0.0005
    condition_hazard_condition: float = 0.7
    condition_hazard_peroxide: float = 0.6
    condition_hazard_minutes: float = 0.8
    condition_drop: float = -1.4
    condition_drop_peroxide: float = 0.8
    condition_drop_minutes: float = 1.0
    condition_recovery: float = 0.3
    other_share: float = 0.0
    give_up: float = 0.12
    give_up_slow: float = 0.0
    return_share: float = 0.6
    two_zone_share: float = 0.0
    visits_per_stylist: float = 120.0
    n_stylists: int = 0
    n_salons: int = 3
    n_products: int = 4
    last_quarter: float = 0.0
    last_product: bool = False
    days: int = 548
    first_day: str = "2023-01-03"
    wash_share: float = 0.35

    def progress(self, minutes: FloatArray) -> FloatArray:
        """Share of the 45-minute gain that is reached after some minutes: g(t), with g(45) = 1.

        Parameters
        ----------
        minutes : ndarray
            Minutes since application, 0 or more.

        Returns
        -------
        ndarray
            Same shape.

        Raises
        ------
        InputError
            The world's shape is neither "power" nor "saturating".
        """
        if self.shape == "power":
            return np.asarray((minutes / REFERENCE_MINUTES) ** self.theta, dtype=np.float64)
        if self.shape == "saturating":
            whole = -np.expm1(-REFERENCE_MINUTES / self.theta)
            return np.asarray(-np.expm1(-minutes / self.theta) / whole, dtype=np.float64)
        raise InputError(f"shape {self.shape!r}: expected 'power' or 'saturating'; change the world's shape")

    def expected_log_rate(
        self,
        *,
        peroxide: FloatArray,
        heat: FloatArray,
        hair: FloatArray,
        later: FloatArray,
        true_start: FloatArray,
    ) -> FloatArray:
        """log R without the case's, the stylist's, the client's, the lightener's and the visit's effects.

        Parameters
        ----------
        peroxide : ndarray (n,)
            Developer strength, %.
        heat, hair : ndarray (n,)
            Their effects, looked up in the tables.
        later : ndarray (n,)
            1 for a session after the first, 0 for a first.
        true_start : ndarray (n,)
            Level.

        Returns
        -------
        ndarray (n,)
        """
        strength = self.peroxide_exponent * np.log(peroxide / 6.0)
        start = self.start_slope * (true_start - 5.0)
        return np.asarray(
            self.log_rate + strength + heat + hair + self.later * later + start, dtype=np.float64
        )

    def rounded(self, level: FloatArray) -> FloatArray:
        """Levels as written: to the nearest recording step, within 1 to 10.

        Parameters
        ----------
        level : ndarray

        Returns
        -------
        ndarray
            Same shape.
        """
        return np.clip(np.floor(level / self.step + 0.5) * self.step, 1.0, 10.0)


_VARIANTS: Mapping[str, Mapping[str, Any]] = {
    "plain": {},
    "no_looks": {"looks_recorded": False},
    "look_bias": {"look_bias": -0.3},
    "heaped_results": {"heaped_share": 0.8},
    "heavy_tails": {"client_tail": "t4"},
    # 40 minutes keeps the curve within 0.07 of the power curve between 10 and 60 minutes
    "saturating": {"shape": "saturating", "theta": 40.0},
    "reread_starts": {"next_start": "read_again"},
    "left_to_clock": {"looks_recorded": False, "clock_share": 0.4},
    "light_reader": {"light_eye": 0.5},
    "rounded_minutes_5": {"minutes_step": 5},
    "rounded_minutes_15": {"minutes_step": 15},
    "irregular_looks": {"look_interval": (4.0, 20.0), "look_interval_spread": 0.6},
    "double_error": {"tau_result": 0.36, "tau_look": 0.50},
    "slow_dropout": {"give_up": 0.3, "give_up_slow": 0.7},
    "new_product": {"last_quarter": log(0.85), "last_product": True},
    "slower_quarter": {"last_quarter": log(0.85)},
}

WORLD_NAMES = tuple(_VARIANTS)


def world(name: str = "plain", /, **changes: Any) -> World:
    """The invented world of that name, with any of its truths changed.

    Parameters
    ----------
    name : str
        "plain", "no_looks" (looks are taken but nobody writes them down), "look_bias" (looks read 0.3 level
        dark), "heaped_results" (80 % of target results written as the goal), "heavy_tails" (client effects t
        with 4 degrees of freedom), "saturating" (the other shape), "reread_starts" (later starts read anew),
        "left_to_clock" (two in five sessions run to their time unseen; nobody writes looks down),
        "light_reader" (the busiest stylist reads looks and results half a level light, first starts not),
        "rounded_minutes_5", "rounded_minutes_15" (as written), "irregular_looks" (intervals 4 to 20 minutes,
        scattered threefold), "double_error" (of every reading), "slow_dropout" (clients who lift slowly leave
        more often), "new_product" (a new lightener, 15 % slower, in the last quarter), "slower_quarter" (15 %
        slower then for no reason that's written).
    **changes
        Fields of `World` to set to something else.

    Returns
    -------
    World

    Raises
    ------
    InputError
        A name that isn't in the table.
    """
    if name not in _VARIANTS:
        raise InputError(f"world {name!r}: expected one of {', '.join(_VARIANTS)}")
    return replace(World(name=name, **_VARIANTS[name]), **changes)
