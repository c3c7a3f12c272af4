"""Two distributions as one: draws of either, in proportion."""

from __future__ import annotations

from dataclasses import replace
from typing import TypeVar

import numpy as np

from outcomes.predictive.distribution import Predictive

__all__ = ["mix"]

P = TypeVar("P", bound=Predictive)


def mix(first: P, second: P, share: float) -> P:
    """The first distribution, a share of its draws taken from the second.

    Parameters
    ----------
    first, second : Predictive
        Of the same design and codes, with as many draws.
    share : float
        Of the second, 0 to 1.

    Returns
    -------
    Predictive
        Everything but the draws is that of `first`.
    """
    # evenly among the draws, so that any first part of them is a fair sample
    ends = np.floor(np.arange(first.n_draws + 1) * share + 0.5)
    of_second = np.diff(ends) > 0
    draws = {
        name: np.where(of_second.reshape(-1, *[1] * (values.ndim - 1)), second.draws[name], values)
        for name, values in first.draws.items()
    }
    return replace(first, draws=draws)
