"""Visits that share what others may know of them with enough clients, changed as little as that takes.

What holds for a whole log is decided once: how coarse its dates are, which is asked for, which zones keep
their name, and whether salon, texture and product leave. A course would fall apart, or its sessions change
places, were it decided row by row. Levels and colour history are then told apart as finely as the clients
suffice (`outcomes.protect.splitting`).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np
import numpy.typing as npt
import pandas as pd

from outcomes.errors import InputError
from outcomes.protect.counting import combination_codes, distinct_behind, distinct_of
from outcomes.protect.splitting import Rows, split_parts

__all__ = ["PERIODS", "QUASI_IDENTIFIERS", "Generalised", "cut_dates", "generalise"]

QUASI_IDENTIFIERS = (
    *("salon", "date", "zone", "hair", "texture", "colour_history", "start_level", "goal_level", "product"),
)
"""What somebody who knows a client could know of a visit."""

PERIODS = ("month", "quarter", "year")
"""How coarse dates may be, the finest first."""

MOST_LEFT_OUT = 0.05
_ROW_LEFT_OUT = 4  # a row left out is as bad as so many whose zone loses its name
_FEWEST_KEPT = (
    0.2  # a word kept in a smaller share of the rows that have it would tell little and cost others
)
_WHOLE = "all"
# Rows share the pseudonyms of client and stylist: a texture or salon that one row shows is known of the
# others. So they leave in all rows or in none: in all where that changes little else.
_ALL_OR_NONE = ("product", "texture", "salon")
_CHANGED_FOR_IT = 0.01  # share of the rows whose levels may change for one of them to leave

IntArray = npt.NDArray[np.int64]
BoolArray = npt.NDArray[np.bool_]


@dataclass(frozen=True, eq=False)
class Generalised:
    """What may be shown of each visit.

    Attributes
    ----------
    shown : DataFrame (n rows, index of the visits)
        The columns of `QUASI_IDENTIFIERS`.
    moved : ndarray (n,)
        Levels by which all levels of a row move, so that those gained stay as they were.
    kept : ndarray of bool (n,)
        Rows that enough clients share; the others are left out, and their `shown` and `moved` mean nothing.
    """

    shown: pd.DataFrame
    moved: npt.NDArray[np.float64]
    kept: BoolArray


@dataclass(frozen=True, eq=False)
class _Coarse:
    """The coarsest that every row can show."""

    date: pd.Series
    zone: npt.NDArray[np.object_]
    part: IntArray
    kept: BoolArray
    words: tuple[str, ...]

    def parts(self) -> list[IntArray]:
        at = np.flatnonzero(self.kept)
        order = at[np.argsort(self.part[at], kind="stable")]
        return [part for part in np.split(order, np.flatnonzero(np.diff(self.part[order])) + 1) if len(part)]


def cut_dates(date: pd.Series, period: str) -> pd.Series:
    """The first day of the month, quarter or year.

    Parameters
    ----------
    date : Series of datetime64 (n,)
    period : {"month", "quarter", "year"}

    Returns
    -------
    Series of datetime64 (n,)
    """
    code = {"month": "M", "quarter": "Q", "year": "Y"}[period]
    first: pd.Series = date.dt.to_period(code).dt.start_time.astype(date.dtype)
    return first


def generalise(
    visits: pd.DataFrame, looked: BoolArray, course: IntArray, least: int, period: str
) -> Generalised:
    """Decide what each visit shows.

    Parameters
    ----------
    visits : DataFrame (n rows)
        Canonical columns; at least one row.
    looked : ndarray of bool (n,)
        Whether it's known which looks were taken: of other visits the goal says more.
    course : ndarray of int (n,)
        Rows of one number, one client and zone, stay together.
    least : int
        Clients that must share what is shown.
    period : str
        One of `PERIODS`.

    Returns
    -------
    Generalised

    Raises
    ------
    InputError
        Too few clients: more than 5 % of the rows would have to be left out.
    """
    client = pd.factorize(visits["client"])[0].astype(np.int64)
    whole = visits.duplicated("visit", keep=False).groupby(course).transform("any").to_numpy(dtype=bool)
    coarse = _coarsest(visits, client, whole, period, least)
    if coarse is None:
        raise InputError(_too_few(visits, client, whole, period, least))
    rows = _rows(visits, looked, client, np.full(len(visits), -1))
    for name in _ALL_OR_NONE:
        with_it = _coarsest(visits, client, whole, period, least, (*coarse.words, name))
        if with_it is not None and _costs_little(rows, coarse, with_it, least):
            coarse = with_it
    return _fine(visits, looked, client, course, coarse, least)


def _coarsest(
    visits: pd.DataFrame,
    client: IntArray,
    whole: BoolArray,
    period: str,
    least: int,
    words: tuple[str, ...] = (),
) -> _Coarse | None:
    """Zones keep their names as far as that leaves few rows out; None where too many are left out anyway.

    A visit of several zones (`whole`, and what belongs to its course) always keeps them.
    """
    zone = visits["zone"].to_numpy(dtype=object)
    date = cut_dates(visits["date"], period)
    names = [name for name in sorted(set(zone)) if name != _WHOLE]
    best: tuple[float, _Coarse] | None = None
    for named in (set(some) for n in range(len(names), -1, -1) for some in combinations(names, n)):
        shown = np.where(whole | np.isin(zone.astype(str), sorted(named)), zone, _WHOLE)
        frame = visits[["hair", *words]].assign(date=date, zone=shown)
        part = combination_codes(frame, ["hair", "date", "zone", *words])
        kept = (distinct_of(part, client) >= least)[part]
        cost = _ROW_LEFT_OUT * (~kept).sum() + (shown != zone).sum()
        if (~kept).mean() <= MOST_LEFT_OUT and (best is None or cost < best[0]):
            best = (cost, _Coarse(date, shown, part, kept, words))
    return None if best is None else best[1]


def _costs_little(rows: Rows, without: _Coarse, with_it: _Coarse, least: int) -> bool:
    """Whether one more column leaves rows, zones and levels nearly as they were without it."""

    def changed(coarse: _Coarse) -> int:
        split = split_parts(rows, coarse.parts(), least)
        as_it_was = (split.wanted == rows.wanted) & (split.start == rows.start)
        return int((~as_it_was | (coarse.zone != without.zone) | ~coarse.kept).sum())

    return changed(with_it) - changed(without) <= _CHANGED_FOR_IT * len(rows.client)


def _rows(visits: pd.DataFrame, looked: BoolArray, client: IntArray, history: IntArray) -> Rows:
    """What splitting asks of the rows.

    A rinse at the goal says "at the goal or lighter" and, where nobody wrote down looks, "not yet at the look
    before". A goal shown too high makes the first untrue, one too low the second. Of visits that ended
    otherwise and whose looks are known, the goal says next to nothing.
    """
    target = (visits["stop"] == "target").to_numpy(dtype=bool)
    start = visits["start_level"].to_numpy(dtype=np.float64)
    return Rows(
        client=client,
        start=start,
        wanted=visits["goal_level"].to_numpy(dtype=np.float64) - start,
        over=np.where(target, 1.0, 0.05),
        under=np.where(~looked, 1.0, np.where(target, 0.6, 0.05)),
        history=history.astype(np.int64),
    )


def _fine(
    visits: pd.DataFrame,
    looked: BoolArray,
    client: IntArray,
    course: IntArray,
    coarse: _Coarse,
    least: int,
) -> Generalised:
    """Everything else told apart, the colour history in all rows of a course or in none.

    A course is worked on the same hair, so that what one row showed could be read into the others; leaving it
    out there makes others too few, and so it's tried until it holds.
    """
    rows = _rows(visits, looked, client, pd.factorize(visits["colour_history"])[0])
    parts = coarse.parts()
    split = split_parts(rows, parts, least)
    while True:
        torn = _torn(split.history, coarse.kept, course)
        few = (split.history & ~torn)[coarse.kept].sum() < _FEWEST_KEPT * (rows.history >= 0).sum()
        hidden = (torn | few) & (rows.history >= 0)
        if not hidden.any():
            break
        rows = replace(rows, history=np.where(hidden, -1, rows.history))
        again = [part for part in parts if hidden[part].any()]
        split = split.renewed(split_parts(rows, again, least))
    shown = visits[list(QUASI_IDENTIFIERS)].assign(
        date=coarse.date, zone=coarse.zone, start_level=split.start, goal_level=split.start + split.wanted
    )
    shown["colour_history"] = shown["colour_history"].astype(object).where(split.history, np.nan)
    for name in _ALL_OR_NONE:
        if name not in coarse.words:
            shown[name] = np.full(len(visits), np.nan, dtype=object)
    shared = distinct_behind(
        shown[coarse.kept].assign(client=client[coarse.kept]), QUASI_IDENTIFIERS, "client"
    )
    assert shared.min() >= least  # parts may come to show the same, which only adds clients
    return Generalised(shown, split.start - rows.start, coarse.kept)


def _torn(shown: BoolArray, kept: BoolArray, whose: IntArray) -> BoolArray:
    """Rows of those that show a word in some of their rows and not in others."""
    some = np.bincount(whose, shown & kept) > 0
    not_all = np.bincount(whose, ~shown & kept) > 0
    torn: BoolArray = (some & not_all)[whose]
    return torn


def _too_few(visits: pd.DataFrame, client: IntArray, whole: BoolArray, period: str, least: int) -> str:
    def holds(tried: int, within: str) -> bool:
        return _coarsest(visits, client, whole, within, tried) is not None

    reached, beyond = 1, least  # what holds for some clients holds for fewer
    while beyond - reached > 1:
        tried = (reached + beyond) // 2
        reached, beyond = (tried, beyond) if holds(tried, period) else (reached, tried)
    found = f"{reached}" if reached > 1 else "not even 2"
    coarser = next((p for p in PERIODS[PERIODS.index(period) + 1 :] if holds(least, p)), None)
    instead = f"give --period {coarser}, share" if coarser else "share"
    return (
        f"--min-clients {least}: in more than {100 * MOST_LEFT_OUT:.0f} % of the rows fewer clients than "
        f"that share even hair, zone and {period}; {found} could be reached; {instead} a longer time, or "
        "several salons together"
    )
