"""Several logs become one: what is new is added, what was corrected replaces, what collides is set aside."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from outcomes.errors import InputError
from outcomes.log.faults import finish
from outcomes.log.incoming import Incoming, Rows
from outcomes.log.journal import Entry, row_texts
from outcomes.log.row_faults import reading_faults, visit_faults
from outcomes.log.schema import TABLES
from outcomes.log.tally import Counts, Tally

__all__ = ["Merged", "code_collisions", "merge_logs"]

_AT = {"visits": "", "checks": "minutes", "washes": "washes"}
"""What tells the readings of one visit and zone apart."""
HERE = "(the merged log)"
_SEPARATOR = "\x00"
_FOREIGN = (
    "the visit code stands for another client or day in the merged log; give it a code of its own, or, to "
    "correct client or day, leave the row's other cells as they are"
)
_WHOSE = ["client", "date"]
_FOREIGN_READING = "its visit was set aside: the code stands for another one in the merged log"


@dataclass(frozen=True, eq=False)
class Merged:
    """A merged log, and what became of every row.

    Attributes
    ----------
    tables : mapping of str to DataFrame
    entries : tuple of Entry
        What goes into the journal.
    counts : mapping of str to mapping of str to mapping of str to int
        By log and table: in = added + corrected + unchanged + set_aside.
    """

    tables: Mapping[str, pd.DataFrame]
    entries: tuple[Entry, ...]
    counts: Mapping[str, Counts]

    @property
    def changes(self) -> bool:
        """Whether any row was added or corrected, or one of the log itself set aside."""
        return any(one.action != "set_aside" or one.file == HERE for one in self.entries)


def code_collisions(visits: Sequence[pd.DataFrame]) -> dict[str, list[tuple[str, str, str]]]:
    """Codes of clients and stylists that two salons use, each for somebody of its own perhaps.

    Parameters
    ----------
    visits : sequence of DataFrame
        The merged log's own visits first. What it has already is no news.

    Returns
    -------
    dict of str to list of (code, salon, salon)
        By column; empty where there are none.
    """
    found = {}
    for column in ("client", "stylist"):
        pairs = [one[[column, "salon"]].dropna().drop_duplicates() for one in visits]
        together = pd.concat(pairs, ignore_index=True).drop_duplicates()
        several = together[together.duplicated(column, keep=False)]
        known = pairs[0][pairs[0].duplicated(column, keep=False)][column]
        fresh = several[~several[column].isin(known) | ~_in(several, pairs[0])]
        fresh = several[several[column].isin(fresh[column])]
        told = fresh.groupby(column, sort=True)["salon"].agg(["first", "last"])
        rows = told.reset_index().astype(str).to_numpy().tolist()
        if rows:
            found[column] = [(code, one, other) for code, one, other in rows]
    return found


def _in(frame: pd.DataFrame, other: pd.DataFrame) -> np.ndarray:
    here, there = (pd.MultiIndex.from_frame(one) for one in (frame, other))
    return np.asarray(here.isin(there))


def merge_logs(base: Mapping[str, pd.DataFrame], logs: Sequence[Incoming]) -> Merged:
    """Merge logs into one, in their order.

    Parameters
    ----------
    base : mapping of str to DataFrame
        The merged log so far, sound; tables without rows at first.
    logs : sequence of Incoming

    Returns
    -------
    Merged

    Raises
    ------
    InputError
        The merged log so far has faults itself.
    """
    tables = {table: _as_rows(base[table]) for table in TABLES}
    _sound(tables)
    tally = Tally()
    for log in logs:
        counts = tally.begin(log)
        new = {table: _completed(table, tables[table], log) for table in TABLES}
        tables["visits"], foreign = _visits(tables["visits"], new["visits"], tally, counts["visits"])
        for table in TABLES[1:]:
            tables[table] = _readings(table, tables, new[table], foreign, tally, counts[table])
    return Merged({table: rows.frame for table, rows in tables.items()}, tuple(tally.entries), tally.counts)


def _as_rows(frame: pd.DataFrame) -> Rows:
    n = len(frame)
    return Rows(frame.reset_index(drop=True), np.full(n, HERE, dtype=object), np.zeros(n, dtype=np.int64))


def _sound(tables: Mapping[str, Rows]) -> None:
    found = visit_faults(tables["visits"].frame, tables["visits"].rows)
    if len(found):
        raise InputError(
            "the merged log so far has faults; mend those that `outcomes check` lists, then merge"
        )


def _identities(table: str, frame: pd.DataFrame) -> pd.Index[Any]:
    """What makes a row the same row in another log: visit and zone, and of a reading when it was taken."""
    parts = [frame["visit"].tolist(), frame["zone"].tolist()]
    at = _AT[table]
    if at:
        parts.append([f"{number:.12g}" for number in frame[at]])
        # two readings at one time are told apart by their order
        parts.append(frame.groupby(["visit", "zone", at], sort=False).cumcount().tolist())
    told = [_SEPARATOR.join(map(str, row)) for row in zip(*parts, strict=True)]
    found: pd.Index[Any] = pd.Index(np.array(told, dtype=object), dtype=object)
    return found


def _completed(table: str, now: Rows, log: Incoming) -> Rows:
    """A log's rows; of columns that it doesn't have, what the merged log knows already stays."""
    new = log.tables[table]
    silent = [name for name in new.frame if name not in log.given[table] and name != "zone"]
    at = _identities(table, now.frame).get_indexer(_identities(table, new.frame))
    known = np.flatnonzero(at >= 0)
    if not len(known):
        return new
    frame = new.frame.copy()
    for name in silent:
        values = now.frame[name].iloc[at[known]].to_numpy()
        there = pd.notna(values) & frame[name].iloc[known].isna().to_numpy(dtype=bool)
        frame.loc[known[there], name] = values[there]
    return Rows(frame, new.files, new.rows)


def _compared(table: str, now: Rows, new: Rows) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Where each new row lies in the log (-1: nowhere), whether it says the same, and what the log says."""
    at = _identities(table, now.frame).get_indexer(_identities(table, new.frame))
    texts, old = row_texts(new.frame), row_texts(now.frame)
    same = np.zeros(len(texts), dtype=bool)
    same[at >= 0] = old[at[at >= 0]] == texts[at >= 0]
    return at, same, old


def _visits(now: Rows, new: Rows, tally: Tally, counts: dict[str, int]) -> tuple[Rows, frozenset[str]]:
    """The visits with one log's in them, and codes of visits that were set aside as somebody else's."""
    at, same, old = _compared("visits", now, new)
    foreign = _of_somebody_else(now.frame, new.frame, at)
    while True:
        corrected, added = (at >= 0) & ~same & ~foreign, (at < 0) & ~foreign
        merged = _put(now, new, at, corrected, added)
        wrong = visit_faults(merged.frame, merged.rows)["pos"].to_numpy(dtype=np.int64)
        codes = merged.frame["visit"].iloc[wrong]
        # a correction of one zone that contradicts another: nothing of that visit is taken
        contradicting = new.frame["visit"].isin(codes).to_numpy(dtype=bool) & (corrected | added)
        if not contradicting.any():
            break
        foreign |= contradicting
    tally.note("added", "visits", new.where(added), told=False)
    tally.note("corrected", "visits", new.where(corrected), before=old[at[corrected]])
    tally.note("set_aside", "visits", new.where(foreign), reasons=_FOREIGN)
    _count(counts, added=added, corrected=corrected, unchanged=same & ~foreign, set_aside=foreign)
    return merged, frozenset(new.frame["visit"][foreign])


def _count(counts: dict[str, int], **which: np.ndarray) -> None:
    for name, mask in which.items():
        counts[name] += int(mask.sum())


def _of_somebody_else(now: pd.DataFrame, new: pd.DataFrame, at: np.ndarray) -> np.ndarray:
    """Which new rows have the code of another visit: of another salon, another client or another day.

    A client or a day by itself may be corrected, where the rest of the row says that it's the same visit.
    Codes that begin anew every month would otherwise write one month over the other.
    """
    first = now.drop_duplicates("visit").set_index("visit")[["client", "date", "salon"]]
    before = first.reindex(new["visit"]).reset_index(drop=True)
    known = before["client"].notna()
    other = (before["client"] != new["client"]).astype(int) + (before["date"] != new["date"])
    salons = before["salon"].notna() & new["salon"].notna() & (before["salon"] != new["salon"])
    rest = [name for name in new if name not in _WHOSE]
    same_rest = np.zeros(len(new), dtype=bool)
    same_rest[at >= 0] = row_texts(now[rest].iloc[at[at >= 0]]) == row_texts(new.loc[at >= 0, rest])
    corrects = (other == 1).to_numpy(dtype=bool) & same_rest
    return np.array(known & (((other > 0) & ~corrects) | salons), dtype=bool)


def _put(now: Rows, new: Rows, at: np.ndarray, corrected: np.ndarray, added: np.ndarray) -> Rows:
    """Rows with corrections in their places and what is new behind them."""
    n = len(now.frame)
    order = np.concatenate([np.arange(n), n + np.flatnonzero(added)])
    order[at[corrected]] = n + np.flatnonzero(corrected)
    frames = [frame for frame in (now.frame, new.frame) if len(frame)] or [now.frame]
    together = pd.concat(frames, ignore_index=True)
    return Rows(
        together.iloc[order].reset_index(drop=True),
        np.concatenate([now.files, new.files])[order],
        np.concatenate([now.rows, new.rows])[order],
    )


def _readings(
    table: str,
    tables: Mapping[str, Rows],
    new: Rows,
    foreign_visits: frozenset[str],
    tally: Tally,
    counts: dict[str, int],
) -> Rows:
    """Looks or wash readings with one log's in them."""
    now, visits = tables[table], tables["visits"].frame
    lost, why = _unfit(table, now, visits)  # since a visit was corrected
    tally.note("set_aside", table, now.where(lost), reasons=why)
    now = now.where(~lost)
    fails, why = _unfit(table, new, visits)
    foreign = new.frame["visit"].isin(list(foreign_visits)).to_numpy(dtype=bool)
    tally.note("set_aside", table, new.where(foreign), reasons=_FOREIGN_READING)
    tally.note("set_aside", table, new.where(fails & ~foreign), reasons=why[~foreign[fails]])
    aside = fails | foreign
    sound = new.where(~aside)
    at, same, old = _compared(table, now, sound)
    corrected, added = (at >= 0) & ~same, at < 0
    tally.note("added", table, sound.where(added), told=False)
    tally.note("corrected", table, sound.where(corrected), before=old[at[corrected]])
    _count(counts, added=added, corrected=corrected, unchanged=same, set_aside=aside)
    return _put(now, sound, at, corrected, added)


def _unfit(table: str, readings: Rows, visits: pd.DataFrame) -> tuple[np.ndarray, np.ndarray]:
    """Which readings don't go with the visits (n,), and the reasons of those (k,)."""
    used = np.ones(len(visits), dtype=bool)
    wrong = reading_faults(readings.frame, readings.rows, visits, used, at_roots=table == "washes")
    unfit = np.zeros(len(readings.frame), dtype=bool)
    pos = np.sort(wrong["pos"].to_numpy(dtype=np.int64), kind="stable")
    unfit[pos] = True
    messages = finish("", [wrong])["message"].str.replace(r"^ row \d+: ", "", regex=True)
    told = pd.Series(messages.to_numpy(dtype=object), dtype=object).groupby(pos).agg(" | ".join)
    return unfit, told.to_numpy(dtype=object)
