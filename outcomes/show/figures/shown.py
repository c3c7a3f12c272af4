"""Whom the figures of a team's quarter show, by which names, and who is left out of them."""

from __future__ import annotations

import pandas as pd

from outcomes.answers.wording import count
from outcomes.review.team_review import TeamReview
from outcomes.show.figures.codes import drawn_codes, told_codes

__all__ = ["NARROW", "SMALL", "left_out", "shown"]

NARROW = 4.6
"""Inches. A page on a telephone is 350 pixels wide, on which letters of `SMALL` points are 9.5 high."""

SMALL = 9.0
"""Points: the smallest letters."""


def shown(review: TeamReview, *numbers: str) -> pd.DataFrame:
    """Stylists who have these numbers.

    Parameters
    ----------
    review : TeamReview
    *numbers : str
        Columns of `stylists`.

    Returns
    -------
    DataFrame
        Rows of `stylists` in their order, with `drawn` and `told`: the names in the figure and in words, the
        same in all figures.
    """
    every = review.stylists
    codes = [str(code) for code in every["stylist"]]
    drawn, told = drawn_codes(codes), told_codes(codes)
    named = every.assign(drawn=[drawn[code] for code in codes], told=[told[code] for code in codes])
    has = ~every["suppressed"].astype(bool) & every[list(numbers)].notna().all(axis=1)
    return named[has].reset_index(drop=True)


def left_out(review: TeamReview, there: int) -> str:
    """How many stylists of the quarter a figure doesn't show, and why; empty where it shows all.

    Parameters
    ----------
    review : TeamReview
    there : int
        How many it shows.

    Returns
    -------
    str
        A sentence.
    """
    missing = len(review.stylists) - there
    if missing == 0:
        return ""
    return (
        f"Not shown: {count(missing, 'stylist')} with too few clients for it (fewer than "
        f"{review.min_clients}), or who would give away the numbers of those."
    )
