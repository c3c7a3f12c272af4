"""Figures: each takes an answer, works nothing out, and returns a `Picture` with its text alternative.

Each is loaded when first asked for: some draw with seaborn, which takes longer to load than they to draw.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from outcomes.show.figures.calibration import coverage_picture, pit_picture, reliability_picture
    from outcomes.show.figures.effects import effects_picture
    from outcomes.show.figures.fade_curve import fade_curve_picture
    from outcomes.show.figures.lift_curve import lift_curve_picture
    from outcomes.show.figures.picture import Picture
    from outcomes.show.figures.ratios import ratios_picture
    from outcomes.show.figures.refresh import refresh_picture
    from outcomes.show.figures.root_shade import root_shade_picture
    from outcomes.show.figures.sessions import sessions_picture
    from outcomes.show.figures.team import team_pictures

__all__ = [
    "Picture",
    "coverage_picture",
    "effects_picture",
    "fade_curve_picture",
    "lift_curve_picture",
    "pit_picture",
    "ratios_picture",
    "refresh_picture",
    "reliability_picture",
    "root_shade_picture",
    "sessions_picture",
    "team_pictures",
]

_ELSEWHERE = {
    "Picture": "picture",
    "coverage_picture": "calibration",
    "pit_picture": "calibration",
    "reliability_picture": "calibration",
    "team_pictures": "team",
}


def __getattr__(name: str) -> Any:
    if name in __all__:
        module = _ELSEWHERE.get(name, name.removesuffix("_picture"))
        return getattr(import_module(f"{__name__}.{module}"), name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
