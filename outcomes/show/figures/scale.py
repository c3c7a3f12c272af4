"""A scale of ratios, and a ratio with its band in figures."""

from __future__ import annotations

from collections.abc import Mapping
from math import log
from typing import Any

from matplotlib.axes import Axes
from matplotlib.ticker import FixedLocator, FuncFormatter, NullFormatter, NullLocator

__all__ = ["numbers", "ratio_scale"]

_TICKS = ((0.9, 0.8, 0.7, 0.5, 0.3, 0.2, 0.1), (1.1, 1.25, 1.5, 2.0, 3.0, 4.0, 5.0, 10.0))


def ratio_scale(axes: Axes, low: float, high: float) -> None:
    """Make the scale logarithmic, so that a half and a double lie equally far from no difference.

    Parameters
    ----------
    axes : matplotlib Axes
    low, high : float
        What lies on it; 0.9 to 1.1 always do.
    """
    low, high = 0.97 * min(0.9, low), 1.03 * max(1.1, high)
    axes.set_xscale("log")
    axes.set_xlim(low, high)
    axes.xaxis.set_major_locator(FixedLocator(_ticks(low, high)))
    axes.xaxis.set_major_formatter(FuncFormatter(lambda value, _: f"{value:g}"))
    axes.xaxis.set_minor_locator(NullLocator())
    axes.xaxis.set_minor_formatter(NullFormatter())


def _ticks(low: float, high: float) -> list[float]:
    """1, and from there to both sides whatever leaves room for its label."""
    room = 0.17 * log(high / low)
    ticks = [1.0]
    for side in _TICKS:
        last = 1.0
        for tick in side:
            if low <= tick <= high and abs(log(tick / last)) >= room:
                ticks.append(tick)
                last = tick
    return sorted(ticks)


def numbers(term: Mapping[str, Any], name: str) -> str:
    """A value with its band, two digits after the point.

    Parameters
    ----------
    term : mapping
        With low and high.
    name : str
        Of the value.

    Returns
    -------
    str
    """
    value, low, high = (round(term[key], 2) + 0.0 for key in (name, "low", "high"))  # no "-0.00"
    return f"{value:.2f} ({low:.2f} to {high:.2f})"
