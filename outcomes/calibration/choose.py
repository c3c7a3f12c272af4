"""Which shape to believe: the one that expected clients it didn't know better, or both."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

__all__ = ["Comparison", "compare", "stacking_share"]

FloatArray = npt.NDArray[np.float64]

DECIDED = 2.0
"""Standard errors of a difference from which on the better one is used alone."""


@dataclass(frozen=True)
class Comparison:
    """Log scores of two shapes on the same clients.

    Attributes
    ----------
    better, other : str
        Families.
    difference : float
        Log score, summed over clients, by which `other` is behind; at or above 0.
    se : float
        Its standard error over clients.
    share : float
        Of `other` in the forecast; 0 where `better` is used alone.
    clients : int
    """

    better: str
    other: str
    difference: float
    se: float
    share: float
    clients: int

    @property
    def is_decided(self) -> bool:
        """Whether the difference is two standard errors or more."""
        return self.share == 0.0


def compare(scores: dict[str, FloatArray]) -> Comparison:
    """Compare two shapes.

    Parameters
    ----------
    scores : dict of two families to ndarray (C,)
        Log score of every client, out of fold.

    Returns
    -------
    Comparison
    """
    (one, first), (two, second) = scores.items()
    gap = first - second
    total, se = float(gap.sum()), float(np.sqrt(len(gap)) * gap.std(ddof=1)) if len(gap) > 1 else np.inf
    better, other = (one, two) if total >= 0 else (two, one)
    share = (
        0.0 if abs(total) >= DECIDED * se and total != 0 else stacking_share(scores[better], scores[other])
    )
    return Comparison(better, other, abs(total), float(se), share, len(gap))


def stacking_share(first: FloatArray, second: FloatArray) -> float:
    """Share of the second of two forecasts in the mixture with the best log score, held a little to a half.

    Parameters
    ----------
    first, second : ndarray (C,)
        Log scores of the same clients.

    Returns
    -------
    float
        Between 0 and 1, neither of them; by the EM algorithm, as if one more client each spoke for either.

    References
    ----------
    Yao, Y., Vehtari, A., Simpson, D. & Gelman, A. (2018). Using stacking to average Bayesian predictive
    distributions. Bayesian Anal. 13, 917-1007. doi:10.1214/17-BA1091.
    """
    odds = np.exp(np.clip(second - first, -50.0, 50.0))
    share = 0.5
    for _ in range(500):
        belongs = share * odds / (share * odds + 1.0 - share)
        new = float((belongs.sum() + 1.0) / (len(odds) + 2.0))
        if abs(new - share) < 1e-6:
            break
        share = new
    return share
