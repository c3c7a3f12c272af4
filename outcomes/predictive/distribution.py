"""The one predictive distribution: what a fit leaves behind, and all that every answer comes from.

Lift and fade are the same distribution of progress over an exposure, minutes or washes; what each has besides
stands in `outcomes.predictive.lift` and `outcomes.predictive.fade`.

Numpy and the standard library only, so that it can be asked at the chair without loading pandas.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import numpy.typing as npt

from outcomes.errors import InputError
from outcomes.predictive.support import Support
from outcomes.readings.design import Design

__all__ = ["DRAWS", "Basis", "Predictive", "Recalibration", "Share", "rate"]

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
_NO_EXPOSURE = 1e-300  # stands for 0, whose logarithm there is none of


def rate(log_rate: FloatArray) -> FloatArray:
    """Progress in one reference exposure; beyond any hair's, the rate stays where it is.

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
    until : str
        Month of the last visit, as "2024-06"; empty where it isn't known.
    """

    visits: int
    clients: int
    stylists: int
    calibrated: bool = False
    starter: bool = False
    until: str = ""

    def to_dict(self) -> dict[str, object]:
        """What answers say of it, as JSON values; "starter" where it is one."""
        names = ("visits", "clients", "stylists", "calibrated", *(["starter"] if self.starter else []))
        return {name: getattr(self, name) for name in names}


@dataclass(frozen=True, eq=False, kw_only=True)
class Predictive:
    """Draws of everything that progress depends on, and what the log covers.

    Attributes
    ----------
    family : {"power", "saturating"}
        Of g(x; theta), x = exposure / reference; that of most draws.
    design : Design
        Makes the p columns of the linear predictor of log R (progress in one reference exposure).
    draws : mapping of str to ndarray
        D draws of the joint distribution after the fit, parameter uncertainty included:
        "coefficients" (D, p); "shape" theta (D,), for saturating g in reference exposures; "saturating" (D,)
        1 where a draw's g is saturating and 0 where it's a power;
        "sd_client", "sd_stylist", "sd_product", "sd_visit" (D,) of effects on log R, 0 where absent;
        "sd_result", "sd_look" (D,) errors of a reading in its units, rounding not included;
        "look_offset" (D,) levels that a look reads above the result;
        "sd_start" (D,) error of a start reading in levels, rounding included;
        "stylist" (D, S) and "product" (D, P) effects.
    stylists, products : tuple of str
        Codes (S and P).
    stylist_visits, product_visits : ndarray of int
        Visits of each.
    support : Support
    basis : Basis
    effects : mapping
        "shape" {family, value, low, high}, "terms" [{term, ratio or value, low, high, meaning}],
        "coverage", "sd".
    notes : tuple of str
        What the fit has to say about itself.
    recalibration : Recalibration
    audit : mapping
        What out-of-sample checks found (`outcomes.calibration.audit.Audit.to_dict`); empty without any.
    reference : float
        Exposure of one reference: minutes, or washes.
    step : float
        Of recording.
    bottom, top : float
        Ends of the scale; infinite where there are none.

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
    support: Support
    basis: Basis
    effects: Mapping[str, Any]
    notes: tuple[str, ...] = ()
    recalibration: Recalibration = Recalibration()
    audit: Mapping[str, Any] = field(default_factory=dict)
    reference: float
    step: float
    bottom: float
    top: float

    def __post_init__(self) -> None:
        if self.family not in ("power", "saturating"):
            raise InputError(f"family: found {self.family!r}; expected power or saturating")
        n, p, s = self.n_draws, len(self.design.names), len(self.stylists)
        if not n or not s:
            raise InputError(f"draws: found {n} draws and {s} stylists; expected at least one of each")
        columns = {"coefficients": (n, p), "stylist": (n, s), "product": (n, len(self.products))}
        expected = self._expected()
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
        if (self.draws["shape"] <= 0).any():
            raise InputError("draws.shape: found a value at or below 0")

    def _expected(self) -> dict[str, tuple[npt.NDArray[Any], tuple[int, ...]]]:
        """Arrays that must be finite, draws apart, and their shapes."""
        return {
            "stylist_visits": (self.stylist_visits, (len(self.stylists),)),
            "product_visits": (self.product_visits, (len(self.products),)),
        }

    @property
    def n_draws(self) -> int:
        """Number D of draws."""
        return len(self.draws["shape"]) if "shape" in self.draws else 0

    def progress(
        self, exposure: FloatArray, theta: FloatArray, saturating: npt.NDArray[np.bool_]
    ) -> FloatArray:
        """Share g of the progress in one reference exposure that is reached after some exposure.

        Parameters
        ----------
        exposure : ndarray
            Minutes, above 0; or washes, 0 or more.
        theta : ndarray
            Same shape.
        saturating : ndarray of bool
            Same shape; a power where False.

        Returns
        -------
        ndarray
            Same shape.
        """
        x = exposure / self.reference
        theta = np.clip(theta, *_THETA)
        if saturating.all():
            return np.asarray(np.expm1(-x / theta) / np.expm1(-1.0 / theta), dtype=np.float64)
        power = np.asarray(np.exp(theta * np.log(np.maximum(x, _NO_EXPOSURE))), dtype=np.float64)
        if not saturating.any():
            return power
        curved = np.expm1(-x / theta) / np.expm1(-1.0 / theta)
        return np.asarray(np.where(saturating, curved, power), dtype=np.float64)
