"""The one predictive distribution of lift: what a fit leaves behind, and all that every answer comes from.

Numpy and the standard library only, so that it can be asked at the chair without loading pandas.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import numpy.typing as npt

from outcomes.errors import InputError
from outcomes.predictive.hazard import ConditionHazard
from outcomes.predictive.practice import LookGaps, Practice
from outcomes.predictive.support import Support
from outcomes.readings.design import Design

__all__ = ["DRAWS", "Basis", "LiftPredictive", "Recalibration", "rate"]

FloatArray = npt.NDArray[np.float64]
Share = tuple[str | float | None, float]

# One value a draw; "coefficients", "stylist" and "product" have a column each besides.
DRAWS = (
    "shape",
    "saturating",
    "sd_client",
    "sd_stylist",
    "sd_product",
    "sd_visit",
    "sd_result",
    "sd_look",
    "look_offset",
    "sd_start",
)


@dataclass(frozen=True)
class Recalibration:
    """What out-of-sample checks change: factors on spreads, and the tail.

    Attributes
    ----------
    spread : float
        Factor on deviations of log R from the plan's centre.
    reading : float
        Factor on the sds of readings.
    df : float or None
        Degrees of freedom of Student's t for deviations of log R; None: normal.
    later : float
        Factor on the visit's own deviation of log R in visits after the client's first, whose own rate
        earlier visits tell of; `spread` comes on top.
    """

    spread: float = 1.0
    reading: float = 1.0
    df: float | None = None
    later: float = 1.0

    def rates(self, centre: FloatArray, log_rate: FloatArray, mixing: FloatArray | float) -> FloatArray:
        """log R with its deviation from the centre rescaled.

        Parameters
        ----------
        centre, log_rate : ndarray
            log R at the plan's centre and as drawn; shapes that fit each other.
        mixing : ndarray or float
            sqrt(df / chi-squared), or 1.

        Returns
        -------
        ndarray
        """
        return centre + self.spread * mixing * (log_rate - centre)

    @property
    def changes_rates(self) -> bool:
        """Whether `rates` does anything."""
        return self.spread != 1.0 or self.df is not None

    def visit(self, deviation: FloatArray, later: npt.NDArray[np.bool_] | bool) -> FloatArray:
        """A visit's own deviation of log R.

        Parameters
        ----------
        deviation : ndarray
            As drawn.
        later : ndarray of bool, or bool
            Whether the client had visits before; a shape that fits.

        Returns
        -------
        ndarray
        """
        return np.asarray(np.where(later, self.later, 1.0) * deviation, dtype=np.float64)


# What a log hardly tells is drawn from far and wide; further out nothing changes but the size of the numbers.
_THETA = (1e-3, 50.0)
_LOG_RATE = (-15.0, 15.0)


def rate(log_rate: FloatArray) -> FloatArray:
    """Levels per 45 minutes; beyond any hair's, the rate stays where it is.

    Parameters
    ----------
    log_rate : ndarray

    Returns
    -------
    ndarray
        Same shape.
    """
    return np.asarray(np.exp(np.clip(log_rate, *_LOG_RATE)), dtype=np.float64)


@dataclass(frozen=True)
class Basis:
    """What the distribution rests on.

    Attributes
    ----------
    visits, clients, stylists : int
        How many the log has.
    calibrated : bool
        Whether out-of-sample checks were made.
    starter : bool
        Whether the numbers are starter values of the trade and not a log's.
    """

    visits: int
    clients: int
    stylists: int
    calibrated: bool = False
    starter: bool = False

    def to_dict(self) -> dict[str, object]:
        """What answers say of it, as JSON values; "starter" where it is one."""
        names = ("visits", "clients", "stylists", "calibrated", *(["starter"] if self.starter else []))
        return {name: getattr(self, name) for name in names}


@dataclass(frozen=True, eq=False)
class LiftPredictive:
    """Draws of everything that the levels gained in a session depend on, and what the log covers.

    Attributes
    ----------
    family : {"power", "saturating"}
        Of g(x; theta), x = minutes / reference_minutes; that of most draws.
    design : Design
        Makes the p columns of the linear predictor of log R (levels per 45 minutes).
    draws : mapping of str to ndarray
        D draws of the joint distribution after the fit, parameter uncertainty included:
        "coefficients" (D, p); "shape" theta (D,), for saturating g in reference exposures; "saturating" (D,)
        1 where a draw's g is saturating and 0 where it's a power;
        "sd_client", "sd_stylist", "sd_product", "sd_visit" (D,) of effects on log R, 0 where absent;
        "sd_result", "sd_look" (D,) errors of a reading in levels, rounding not included;
        "look_offset" (D,) levels that a look reads above the result;
        "sd_start" (D,) error of a start reading in levels, rounding included;
        "stylist" (D, S) and "product" (D, P) effects.
    stylists, products : tuple of str
        Codes (S and P).
    stylist_visits, product_visits : ndarray of int
        Visits of each.
    look_gaps : LookGaps
    covariates : mapping of hair to mapping of column to tuple of (value, share)
        Shares, among the visits with that hair, of the optional covariates that a question doesn't give; None
        stands for a value not given.
    later_hair : mapping of hair to mapping of hair to share
        Hair in later sessions, by the hair before the first.
    hazard : ConditionHazard
    support : Support
    basis : Basis
    effects : mapping
        "shape" {family, value, low, high}, "terms" [{term, ratio or value, low, high, meaning}],
        "coverage", "sd".
    notes : tuple of str
        What the fit has to say about itself.
    practice : Practice
    recalibration : Recalibration
    audit : mapping
        What out-of-sample checks found (`outcomes.calibration.audit.Audit.to_dict`); empty without any.
    reference_minutes, step, top : float
        Minutes of one reference exposure; recording step and end of the scale (levels).

    Raises
    ------
    InputError
        Arrays whose shapes don't fit together, numbers that aren't finite, negative sds; names the field.
    """

    family: str
    design: Design
    draws: Mapping[str, FloatArray]
    stylists: tuple[str, ...]
    stylist_visits: npt.NDArray[np.int64]
    products: tuple[str, ...]
    product_visits: npt.NDArray[np.int64]
    look_gaps: LookGaps
    covariates: Mapping[str, Mapping[str, tuple[Share, ...]]]
    later_hair: Mapping[str, Mapping[str, float]]
    hazard: ConditionHazard
    support: Support
    basis: Basis
    effects: Mapping[str, Any]
    notes: tuple[str, ...] = ()
    practice: Practice = field(default_factory=Practice)
    recalibration: Recalibration = Recalibration()
    audit: Mapping[str, Any] = field(default_factory=dict)
    reference_minutes: float = 45.0
    step: float = 0.5
    top: float = 10.0

    def __post_init__(self) -> None:
        if self.family not in ("power", "saturating"):
            raise InputError(f"family: found {self.family!r}; expected power or saturating")
        n, p, s, g = self.n_draws, len(self.design.names), len(self.stylists), len(self.look_gaps.minutes)
        if not n or not s:
            raise InputError(f"draws: found {n} draws and {s} stylists; expected at least one of each")
        expected: dict[str, tuple[npt.NDArray[Any], tuple[int, ...]]] = {
            "stylist_visits": (self.stylist_visits, (s,)),
            "product_visits": (self.product_visits, (len(self.products),)),
            "look_gaps.share": (self.look_gaps.share, (g,)),
            "look_gaps.by_stylist": (self.look_gaps.by_stylist, (s, g)),
            "hazard.coefficients": (self.hazard.coefficients, (7,)),
        }
        for name in ("reread", "unseen"):
            shares = getattr(self.practice, name)
            expected[f"practice.{name}"] = (shares, (s,) if len(shares) else (0,))
            if not ((shares >= 0) & (shares <= 1)).all():
                raise InputError(f"practice.{name}: found a share that isn't between 0 and 1")
        columns = {"coefficients": (n, p), "stylist": (n, s), "product": (n, len(self.products))}
        for name in (*DRAWS, *columns):
            if name not in self.draws:
                raise InputError(f"draws: {name} is missing")
            expected[f"draws.{name}"] = (self.draws[name], columns.get(name, (n,)))
        for name, (values, shape) in expected.items():
            if np.shape(values) != shape:
                raise InputError(f"{name}: found shape {np.shape(values)}; expected {shape}")
            if not np.isfinite(values).all():
                raise InputError(f"{name}: found a value that isn't a finite number")
            if "sd_" in name and (values < 0).any():
                raise InputError(f"{name}: found an sd below 0")
        if not np.isin(self.draws["saturating"], [0.0, 1.0]).all():
            raise InputError("draws.saturating: found a value that's neither 0 nor 1")
        if (self.draws["shape"] <= 0).any() or (self.look_gaps.minutes <= 0).any():
            raise InputError("draws.shape and look_gaps.minutes: found a value at or below 0")

    @property
    def n_draws(self) -> int:
        """Number D of draws."""
        return len(self.draws["shape"]) if "shape" in self.draws else 0

    def progress(
        self, minutes: FloatArray, theta: FloatArray, saturating: npt.NDArray[np.bool_]
    ) -> FloatArray:
        """Share g of the gain in `reference_minutes` that is reached after some minutes.

        Parameters
        ----------
        minutes : ndarray
            Above 0.
        theta : ndarray
            Same shape.
        saturating : ndarray of bool
            Same shape; a power where False.

        Returns
        -------
        ndarray
            Same shape.
        """
        exposure = minutes / self.reference_minutes
        theta = np.clip(theta, *_THETA)
        if saturating.all():
            return np.asarray(np.expm1(-exposure / theta) / np.expm1(-1.0 / theta), dtype=np.float64)
        power = np.asarray(np.exp(theta * np.log(exposure)), dtype=np.float64)
        if not saturating.any():
            return power
        curved = np.expm1(-exposure / theta) / np.expm1(-1.0 / theta)
        return np.asarray(np.where(saturating, curved, power), dtype=np.float64)
