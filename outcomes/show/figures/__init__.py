"""Figures: each takes an answer, works nothing out, and returns a `Picture` with its text alternative."""

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
