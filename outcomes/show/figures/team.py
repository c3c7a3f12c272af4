"""All figures of a team's quarter."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from outcomes.review.team_review import TeamReview
from outcomes.show.figures.control_chart import chart_picture
from outcomes.show.figures.funnel import funnel_picture
from outcomes.show.figures.picture import Picture
from outcomes.show.figures.promises import promises_picture
from outcomes.show.figures.rates import rates_picture
from outcomes.show.figures.trend import trend_picture

__all__ = ["team_pictures"]

_PICTURES: Mapping[str, Callable[[TeamReview], Picture | None]] = {
    "goal": funnel_picture,
    "rates": rates_picture,
    "chart": chart_picture,
    "promises": promises_picture,
    "trend": trend_picture,
}


def team_pictures(review: TeamReview) -> dict[str, Picture]:
    """Pictures of a review, in the order in which they're shown.

    Parameters
    ----------
    review : TeamReview

    Returns
    -------
    dict of str to Picture
        By "goal", "rates", "chart", "promises" and "trend"; without those that have nothing to show.
    """
    drawn = {name: draw(review) for name, draw in _PICTURES.items()}
    return {name: picture for name, picture in drawn.items() if picture is not None}
