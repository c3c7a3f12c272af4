"""Parts of a log that are told apart as finely as enough clients stand behind each of them.

All rows of a part will show the same values. A part is split wherever every piece keeps enough clients, and
each time in the way that spares most. What that is, the weights below say: which of them moves estimates of
lift the least was measured.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from outcomes.protect.counting import distinct_of

__all__ = ["Rows", "Split", "split_parts"]

IntArray = npt.NDArray[np.int64]
FloatArray = npt.NDArray[np.float64]
BoolArray = npt.NDArray[np.bool_]

# What sparing a level of the way from start to goal, a level of the start, or the colour history counts for.
# How far the goal was carries the shape of lift and the error of looks; where on the scale a visit began
# matters less, as all its levels move together.
WEIGHTS = {"wanted": 5.0, "start": 0.5, "colour_history": 1.0}
_SEED = 1


@dataclass(frozen=True, eq=False)
class Rows:
    """What is told of each row, arrays (n,).

    Attributes
    ----------
    client : ndarray of int
        From 0.
    start : ndarray
        Start level.
    wanted : ndarray
        Levels from start to goal.
    over, under : ndarray
        How bad it is, by level, to show more or fewer levels wanted than there were.
    history : ndarray of int
        Code of the colour history, -1 where it's not to be told.
    """

    client: IntArray
    start: FloatArray
    wanted: FloatArray
    over: FloatArray
    under: FloatArray
    history: IntArray


@dataclass(frozen=True, eq=False)
class Split:
    """What the rows may show.

    Attributes
    ----------
    start, wanted : ndarray (n,)
        Levels; NaN in rows of no part.
    history : ndarray of bool (n,)
        Whether a row may show its colour history.
    """

    start: FloatArray
    wanted: FloatArray
    history: BoolArray

    def renewed(self, again: Split) -> Split:
        """This, but for the rows that were split again.

        Parameters
        ----------
        again : Split

        Returns
        -------
        Split
        """
        old = np.isnan(again.start)
        return Split(
            np.where(old, self.start, again.start),
            np.where(old, self.wanted, again.wanted),
            np.where(old, self.history, again.history),
        )


# how much a split spares; the pieces, and whether each may show its colour history
Option = tuple[float, list[tuple[IntArray, bool]]]


def split_parts(rows: Rows, parts: Sequence[IntArray], least: int) -> Split:
    """Split parts as long as all pieces have enough clients.

    Parameters
    ----------
    rows : Rows
    parts : sequence of ndarray of int
        Positions, those of a part together; each has enough clients.
    least : int
        Clients that are enough.

    Returns
    -------
    Split
    """
    n = len(rows.client)
    start, wanted = np.full(n, np.nan), np.full(n, np.nan)
    history = np.zeros(n, dtype=bool)
    turn = np.random.default_rng(_SEED).permutation(n)
    waiting = [(part, False) for part in parts]
    while waiting:
        part, settled = waiting.pop()
        by_history: Option = (0.0, []) if settled else _by_history(rows, part, least, turn)
        by_level = max((_by_level(rows, part, name, least) for name in ("wanted", "start")), key=_spared)
        if by_history[0] > by_level[0]:
            for piece, shows in by_history[1]:
                history[piece] = shows
                waiting.append((piece, True))
        elif by_level[0] > 0.0:
            waiting += [(piece, settled) for piece, _ in by_level[1]]
        else:
            start[part], wanted[part] = _shown(rows, part)
    return Split(start, wanted, history)


def _spared(option: Option) -> float:
    return option[0]


def _shown(rows: Rows, part: IntArray) -> tuple[float, float]:
    """The start and the levels wanted that all rows of a part show; together they stay within the scale."""
    values, _, cost = _costs(rows, part, "wanted")
    wanted = float(values[np.argmin(cost.sum(axis=1))])
    start = float(np.sort(rows.start[part])[(len(part) - 1) // 2])
    return min(start, 10.0 - wanted), wanted


def _costs(rows: Rows, part: IntArray, name: str) -> tuple[FloatArray, IntArray, FloatArray]:
    """Different values of a part, which one each row has, and what showing one (row) for another costs."""
    values, which = np.unique(getattr(rows, name)[part], return_inverse=True)
    ones = np.ones(len(part))
    over, under = (rows.over[part], rows.under[part]) if name == "wanted" else (ones, ones)
    away = values[:, None] - values[None, :]
    too_high = np.maximum(away, 0.0) * np.bincount(which, over)
    too_low = np.maximum(-away, 0.0) * np.bincount(which, under)
    return values, which.astype(np.int64), too_high + too_low


def _by_level(rows: Rows, part: IntArray, name: str, least: int) -> Option:
    """The cut between two levels that spares most."""
    values, which, cost = _costs(rows, part, name)
    if len(values) < 2:
        return 0.0, []
    client = np.unique(rows.client[part], return_inverse=True)[1]
    lowest = np.full(client.max() + 1, len(values))
    highest = np.full(client.max() + 1, -1)
    np.minimum.at(lowest, client, which)
    np.maximum.at(highest, client, which)
    # clients with a row below, and with one at or above, each value but the lowest
    below = np.cumsum(np.bincount(lowest, minlength=len(values)))[:-1]
    above = np.cumsum(np.bincount(highest, minlength=len(values))[::-1])[::-1][1:]
    summed = np.cumsum(cost, axis=1)
    pieces = summed[:, :-1].min(axis=0) + (summed[:, -1:] - summed[:, :-1]).min(axis=0)
    spared = np.where((below >= least) & (above >= least), summed[:, -1].min() - pieces, 0.0)
    at = int(np.argmax(spared))
    low = which <= at
    return WEIGHTS[name] * float(spared[at]), [(part[low], False), (part[~low], False)]


def _by_history(rows: Rows, part: IntArray, least: int, turn: IntArray) -> Option:
    """Each colour history by itself, and all that can't stand by itself together, without it.

    Where those are too few, clients with other histories join them, a few rather than all with one history,
    and in an order drawn by lot: what is missing should say nothing.
    """
    words, which = np.unique(rows.history[part], return_inverse=True)
    client = rows.client[part]
    clients = distinct_of(which.astype(np.int64), client)
    alone = (clients >= least) & (words >= 0)
    rest = ~alone[which]
    if rest.any():
        rest = _joined(rest, which, client, np.where(alone, clients - least, 0), least, turn[part])
        if not 0 < len(np.unique(client[rest])) >= least:
            return 0.0, []
    pieces = [(part[(which == word) & ~rest], True) for word in np.flatnonzero(alone)]
    pieces = [piece for piece in pieces if len(piece[0])]
    spared = sum(len(piece) for piece, _ in pieces)
    if rest.any():
        pieces.append((part[rest], False))
    if len(pieces) == 1:  # nothing is given up for it
        return (np.inf, pieces) if spared else (0.0, [])
    return WEIGHTS["colour_history"] * spared / float(np.log2(len(pieces))), pieces


def _joined(
    rest: BoolArray, which: IntArray, client: IntArray, spare: IntArray, least: int, turn: IntArray
) -> BoolArray:
    """The rest with as many clients more, of histories that can spare them, as make it enough."""
    rest, spare = rest.copy(), spare.copy()
    there = set(client[rest].tolist())
    for row in np.argsort(turn):
        if len(there) >= least:
            break
        word = which[row]
        if not rest[row] and spare[word] > 0 and client[row] not in there:
            rest |= (which == word) & (client == client[row])
            spare[word] -= 1
            there.add(int(client[row]))
    return rest
