"""Names beside points: placed where there's room for them, and left away where there's none."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import Any

import numpy as np
import numpy.typing as npt
from matplotlib.axes import Axes

from outcomes.show.figures.picture import QUIET

__all__ = ["name_points"]

FloatArray = npt.NDArray[np.float64]

# all in points
_MARK = 4.5  # from the middle of a mark past its edge
_NEAR = (5.5, 8.0)  # between the middle of a mark and its name
_FAR = (16.0, 24.0, 34.0, 46.0, 60.0, 76.0, 94.0)
_ANGLES = 32  # tried around a point
_SPARE = 1.0  # around a name: letters are placed to whole pixels
_STEP, _THIN = 2.0, 1.2  # along a line, and to its sides

_LEADER = {"arrowstyle": "-", "linewidth": 0.6, "color": QUIET, "shrinkA": 0.0, "shrinkB": 3.5}


def name_points(
    axes: Axes,
    points: npt.ArrayLike,
    names: Sequence[str],
    needed: Sequence[bool],
    lines: Sequence[npt.ArrayLike] = (),
    **style: Any,
) -> list[int]:
    """Write names beside points so that none lies on another, on a point, or beyond the axes.

    Needed names come first and may stand far away, with a line to their point, or over a drawn line; of the
    others those with most room come first.

    Parameters
    ----------
    axes : matplotlib Axes
        In its final place, with its final limits and scales.
    points : array_like (k, 2)
        In data.
    names : sequence of str (k)
    needed : sequence of bool (k)
    lines : sequence of array_like (m, 2)
        Drawn lines, which names keep away from where they can.
    **style
        Of matplotlib's Text.

    Returns
    -------
    list of int
        Places of the points without a name.
    """
    at = _in_points(axes, points)
    drawn = np.vstack([np.empty((0, 2)), *(_along(_in_points(axes, line)) for line in lines)])
    edge = np.array([axes.bbox.width, axes.bbox.height]) * 72.0 / axes.figure.dpi
    taken = np.hstack([at - _MARK, at + _MARK])
    unnamed = []
    for i in _order(at, needed):
        half = _half_size(axes, names[i], style)
        found = _place(at[i], half, taken, drawn, edge, is_needed=needed[i])
        if found is None:
            unnamed.append(i)
            continue
        middle, leader = found
        spots = _along(np.vstack([at[i], leader])) if leader is not None else np.empty((0, 2))
        taken = np.vstack(
            [taken, np.hstack([middle - half, middle + half]), np.hstack([spots - _THIN, spots + _THIN])]
        )
        axes.annotate(
            names[i], tuple(np.asarray(points)[i]), xytext=tuple(middle - at[i]), textcoords="offset points",
            ha="center", va="center", parse_math=False,
            arrowprops=None if leader is None else _LEADER, **style,
        )  # fmt: skip
    return sorted(unnamed)


def _order(at: FloatArray, needed: Sequence[bool]) -> list[int]:
    """Needed ones first, then those farthest from all others."""
    apart = np.hypot(*(at[:, None, :] - at[None, :, :]).transpose(2, 0, 1))
    np.fill_diagonal(apart, np.inf)
    room = apart.min(axis=1, initial=np.inf)
    return sorted(range(len(at)), key=lambda i: (not needed[i], -room[i], i))


def _place(
    point: FloatArray,
    half: FloatArray,
    taken: FloatArray,
    drawn: FloatArray,
    edge: FloatArray,
    *,
    is_needed: bool,
) -> tuple[FloatArray, FloatArray | None] | None:
    """Middle of a name, and where the line to it ends; None where there's no room."""
    others = taken[~_is_around(taken, point)]
    for over_lines in (False, True) if is_needed else (False,):
        for middle, is_far in _candidates(point, half, _FAR if is_needed else _FAR[:2]):
            low, high = middle - half, middle + half
            if (low < 0.0).any() or (high > edge).any() or _meets(taken, low, high):
                continue
            if not over_lines and _holds(drawn, low, high):
                continue
            if not is_far:
                return middle, None
            end = _edge(point, middle, half)
            spots = _along(np.vstack([point, end]))
            if not _meets(others, spots[:, None], spots[:, None]):
                return middle, end
    return None


def _candidates(
    point: FloatArray, half: FloatArray, far: Sequence[float]
) -> Iterator[tuple[FloatArray, bool]]:
    for away in _NEAR:
        for x, y in ((1, 0), (-1, 0), (0, 1), (0, -1), (1, 1), (1, -1), (-1, 1), (-1, -1)):
            # a corner needs less than a side to clear the mark
            yield point + np.array([x, y]) * (half + away * (0.5 if x and y else 1.0)), False
    for away in far:
        for angle in np.arange(_ANGLES) * 2.0 * np.pi / _ANGLES:
            yield point + np.array([np.cos(angle), np.sin(angle)]) * (half + away), True


def _edge(point: FloatArray, middle: FloatArray, half: FloatArray) -> FloatArray:
    """Where a line from a point to the middle of a name meets it."""
    way = middle - point
    return np.asarray(middle - way * np.min(half / np.maximum(np.abs(way), 1e-9)))


def _in_points(axes: Axes, data: npt.ArrayLike) -> FloatArray:
    """Data as printer's points from the lower left corner of the axes."""
    pixels = axes.transData.transform(np.asarray(data, dtype=np.float64).reshape(-1, 2))
    return np.asarray((pixels - [axes.bbox.x0, axes.bbox.y0]) * 72.0 / axes.figure.dpi)


def _half_size(axes: Axes, name: str, style: dict[str, Any]) -> FloatArray:
    text = axes.text(0.5, 0.5, name, parse_math=False, **style)
    box = text.get_window_extent()
    text.remove()
    return np.array([box.width, box.height]) * 36.0 / axes.figure.dpi + _SPARE


def _along(line: FloatArray) -> FloatArray:
    """Spots on a line, no further apart than a name is high."""
    spots = [line[:1]]
    for start, end in pairwise(line):
        steps = max(int(np.hypot(*(end - start)) / _STEP), 1)
        spots.append(start + (end - start) * np.arange(1, steps + 1)[:, None] / steps)
    return np.vstack(spots)


def _meets(boxes: FloatArray, low: FloatArray, high: FloatArray) -> bool:
    return bool(((boxes[:, :2] < high) & (boxes[:, 2:] > low)).all(axis=-1).any())


def _holds(spots: FloatArray, low: FloatArray, high: FloatArray) -> bool:
    return bool(((spots > low) & (spots < high)).all(axis=1).any())


def _is_around(boxes: FloatArray, point: FloatArray) -> npt.NDArray[np.bool_]:
    """Its own mark, and whatever else touches it."""
    return np.asarray(((boxes[:, :2] <= point) & (boxes[:, 2:] >= point)).all(axis=1))
