"""What to talk about: at most five findings, chosen so that few of those ever named are chance.

Every comparison that the review makes has a chance of being as large by chance alone. Those are named whose
chance passes the rule of Benjamini and Hochberg over all comparisons of the review: of all findings named,
one in ten is chance in the long run. The rest stay in the tables.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.stats import false_discovery_control

__all__ = ["FALSE_DISCOVERIES", "MOST", "Comparison", "chosen"]

FALSE_DISCOVERIES = 0.1
MOST = 5


@dataclass(frozen=True)
class Comparison:
    """One comparison of the review.

    Attributes
    ----------
    kind : str
        "rate", "goal", "promise", "condition", "fade" or "change".
    who : str
        Stylist; empty for the team.
    value, low, high : float
        What was found, with its 90 % band.
    n : int
        Visits, or courses, that it rests on.
    p : float
        Chance of a deviation as large to either side where there is none.
    """

    kind: str
    who: str
    value: float
    low: float
    high: float
    n: int
    p: float


def chosen(
    comparisons: Sequence[Comparison], rate: float = FALSE_DISCOVERIES, most: int = MOST
) -> tuple[Comparison, ...]:
    """The comparisons worth naming, the surest first.

    Parameters
    ----------
    comparisons : sequence of Comparison
        All that were made, shown or not.
    rate : float
        Share of false discoveries that is allowed.
    most : int

    Returns
    -------
    tuple of Comparison
        At most `most`; empty where nothing stands out.

    References
    ----------
    Benjamini, Y. & Hochberg, Y. (1995). Controlling the false discovery rate. J. R. Stat. Soc. B 57, 289-300.
    doi:10.1111/j.2517-6161.1995.tb02031.x.
    """
    if not comparisons:
        return ()
    adjusted = false_discovery_control([one.p for one in comparisons], method="bh")
    order = np.argsort([one.p for one in comparisons], kind="stable")
    named = [comparisons[i] for i in order if adjusted[i] <= rate]
    return tuple(named[:most])
