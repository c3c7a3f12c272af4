"""Priors for a fit: Gaussian, each on the scale on which its parameter is estimated."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from outcomes.errors import InputError

Normal = tuple[float, float]


@dataclass(frozen=True)
class Prior:
    """Mean and sd of a Gaussian for any of the parameters; one that isn't named has a flat prior.

    Parameters
    ----------
    coefficients : mapping name -> (mean, sd)
        Additive ones as "additive:NAME".
    log_group_sd : mapping group -> (mean, sd)
        Of the natural logarithm of the group's standard deviation.
    log_reading_sd : mapping kind -> (mean, sd)
        Of the natural logarithm of the reading sd; the kind is None where readings have no kinds.
    log_shape : (mean, sd) or None
        Of the natural logarithm of theta.

    Raises
    ------
    InputError
        An sd that isn't above 0.
    """

    coefficients: Mapping[str, Normal] = field(default_factory=dict)
    log_group_sd: Mapping[str, Normal] = field(default_factory=dict)
    log_reading_sd: Mapping[object, Normal] = field(default_factory=dict)
    log_shape: Normal | None = None

    def __post_init__(self) -> None:
        every: list[tuple[object, Normal]] = [
            *self.coefficients.items(),
            *self.log_group_sd.items(),
            *self.log_reading_sd.items(),
        ]
        if self.log_shape is not None:
            every.append(("shape", self.log_shape))
        for name, (_, sd) in every:
            if not sd > 0:
                raise InputError(f"prior of {name!r} has sd {sd}; a number above 0 is expected")
