"""From a fit to draws of everything that progress depends on."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import numpy.typing as npt

from outcomes.engine import MixedFit
from outcomes.models.arrange import STEP
from outcomes.models.starter import drawn, parameter_of

__all__ = ["rate_draws", "start_sd"]

FloatArray = npt.NDArray[np.float64]


def start_sd(sd_result: FloatArray) -> FloatArray:
    """Error of a start reading, rounding included: read as a result is.

    Parameters
    ----------
    sd_result : ndarray
        Levels.

    Returns
    -------
    ndarray
        Same shape.
    """
    return np.asarray(np.sqrt(sd_result**2 + STEP**2 / 12.0), dtype=np.float64)


def rate_draws(
    fit: MixedFit,
    columns: tuple[str, ...],
    codes: Mapping[str, tuple[str, ...]],
    n: int,
    seed: int,
    *,
    use_prior: bool,
    measure: str = "lift",
) -> dict[str, FloatArray]:
    """Draws as `Predictive` takes them.

    Parameters
    ----------
    fit : MixedFit
        Of one shape.
    columns : tuple of str
        Names of the design's columns.
    codes : mapping
        Codes of "stylist" and "product". One that the fit doesn't know is drawn about the middle of its
        group; where the log doesn't tell a group's codes apart, its effects are 0.
    n : int
        Draws, in the order of a common stream: any first part of them is a fair sample.
    seed : int
    use_prior : bool
        Whether a spread that the log tells nothing of is drawn from its prior; else it's 0.
    measure : str
        "lift", or a measure of fade: there the start is what was applied, without an error.

    Returns
    -------
    dict of str to ndarray
        (n,) each; "coefficients" (n, p), "stylist" and "product" (n, codes).
    """
    frame = fit.draws(n, seed, groups=codes)
    zero = np.zeros(len(frame))
    family = fit.shape.family if fit.shape is not None else "power"

    def column(name: str) -> FloatArray:
        return frame[name].to_numpy(dtype=np.float64) if name in frame.columns else zero

    def spread(group: str) -> FloatArray:
        name = f"sd:{group}"
        if name in frame.columns or not use_prior:
            return column(name)
        return drawn(
            parameter_of(measure, f"log_group_sd:{group}"),
            len(frame),
            np.random.default_rng([seed, len(group)]),
        )

    def effects(group: str) -> FloatArray:
        known, listed = fit.group_effects.get(group), codes[group]
        if known is None:
            return np.zeros((len(frame), len(listed)))
        noise = np.random.default_rng(seed).standard_normal((len(frame), len(listed)))
        found = noise * column(f"sd:{group}")[:, None]
        effect, sd = known["effect"].to_dict(), known["sd"].to_dict()
        for place, code in enumerate(listed):
            drawn = f"{group}[{code}]"
            if drawn in frame.columns:
                found[:, place] = frame[drawn].to_numpy(dtype=np.float64)
            elif code in effect:  # too many to be drawn jointly: each by itself
                found[:, place] = effect[code] + sd[code] * noise[:, place]
        return found

    looks = "reading_sd:look" in frame.columns
    result = column("reading_sd:result" if "reading_sd:result" in frame.columns else "reading_sd:look")
    return {
        "coefficients": frame[list(columns)].to_numpy(dtype=np.float64),
        "shape": column("shape"),
        "saturating": np.full(len(frame), float(family == "saturating")),
        **{f"sd_{name}": spread(name) for name in ("client", "stylist", "product", "visit")},
        "sd_result": result,
        "sd_look": column("reading_sd:look") if looks else result,
        "look_offset": column("additive:look"),
        "sd_start": start_sd(result) if measure == "lift" else zero,
        "stylist": effects("stylist"),
        "product": effects("product"),
    }
