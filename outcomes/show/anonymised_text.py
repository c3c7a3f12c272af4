"""What was done to a log that may be handed on, in words."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from math import isnan
from pathlib import Path
from typing import TYPE_CHECKING

from outcomes.answers.wording import FADE_NAMES, count
from outcomes.protect.generalise import PERIODS
from outcomes.show.folded import WIDTH

if TYPE_CHECKING:
    import pandas as pd

    from outcomes.calibration.moved import Moved
    from outcomes.protect.anonymised import Anonymised, Change

__all__ = ["LIMITS", "anonymised_text"]

UNMOVED = 0.05  # standard errors; rounds to 0.0
MUCH_MOVED = 2.0
ALWAYS_CODED = ("visit", "client", "stylist", "course")
CODED = ("salon", "product")  # where they leave at all

LIMITS = (
    "This holds for one visit by itself. Rows of one client share a pseudonym: whoever knows several visits "
    "of a client may still find them, and what one row shows can be read into another.",
    "Levels of different sessions moved by themselves: a session may start far from where the one before it "
    "ended, and `outcomes check` warns of it.",
    "Minutes, developer, levels gained, tests, tones, root shades and measured colours leave as they "
    "were logged: whoever knows those of a visit may find it.",
    "Whoever has the key can tell whose pseudonym is whose: keep it apart from what is handed on. Keep it "
    "safe too: with another key, next quarter's log won't fit this one.",
)


def anonymised_text(
    done: Anonymised, moved: Moved, written: Sequence[Path], key_file: str, key_is_new: bool
) -> str:
    """The whole report.

    Parameters
    ----------
    done : Anonymised
    moved : Moved
    written : sequence of Path
        Files of the log.
    key_file : str
        As given.
    key_is_new : bool

    Returns
    -------
    str
        Lines of at most 80 columns, but for paths.
    """
    folder = written[0].parent
    lines = [f"{folder}: {', '.join(path.name for path in written)}"]
    lines.append(f"{key_file}: the key, {'made for its owner alone' if key_is_new else 'as it was'}")
    lines += ["", *_row_counts(done), "", *_clients(done), "", "What was changed", ""]
    lines += _hanging("  ", f"codes of {', '.join(ALWAYS_CODED[:-1])} and {ALWAYS_CODED[-1]}: pseudonyms")
    width = max(len(change.column) for change in done.changes) + 2
    lines += [line for change in done.changes for line in _change(change, width)]
    lines += [line for note in done.kept_out for line in _hanging("  ", note)]
    lines += ["", *_moved(moved, done.period), "", "Keep in mind", ""]
    lines += [line for limit in LIMITS for line in _hanging("  ! ", limit)]
    return "\n".join(lines)


def _row_counts(done: Anonymised) -> list[str]:
    lines = []
    for table, n in done.rows.items():
        if not n["in"] + n["set_aside"]:
            continue
        told = f"{n['in']:,} used = {n['released']:,} leave + {n['left_out']:,} left out"
        aside = f"; {n['set_aside']:,} set aside stay here" if n["set_aside"] else ""
        lines += _hanging(f"  {table:<8}", told + aside)
    if done.rows["visits"]["left_out"]:
        said = f"left out: fewer than {count(done.min_clients, 'client')} share hair, zone and {done.period}"
        lines += _hanging("  ", said)
    return lines


def _clients(done: Anonymised) -> list[str]:
    known = [name.replace("_", " ") for name in done.quasi_identifiers]
    known[known.index("date")] = "month"
    rows = f"{done.rows_below:,} of {done.rows['visits']['in']:,} rows"
    before = (
        f"before: {count(done.clients_before, 'client')} at the least; {rows} shared theirs with fewer than "
        f"{done.min_clients}"
    )
    combinations = count(done.combinations, "combination")
    after = f"now: {count(done.clients_after, 'client')} at the least, in each of {combinations}"
    same = "in none of them do all rows have the same result"
    if done.same_result:
        same = (
            f"in {done.same_result:,} of them ({count(done.same_result_rows, 'row')}) all rows have the same "
            "result: whoever knows that a client is among them knows the result"
        )
    lines = ["How many clients share what could be known of a visit", ""]
    for text in ("known: " + ", ".join(known), before, after, same):
        lines += _hanging("  ", text)
    return lines


def _change(change: Change, width: int) -> list[str]:
    cells = f"{change.cells:,} of {change.of:,}" if change.cells else f"none of {change.of:,}"
    as_it_was = "a pseudonym, as it's one for all" if change.column in CODED else "as it was"
    to = change.to if change.cells else as_it_was
    if change.most:
        to += f"; {change.mean:.1f} away on average, {change.most:g} at most"
    return _hanging(f"  {change.column:<{width}}{cells:<17}", to)


def _moved(moved: Moved, period: str) -> list[str]:
    lines = ["How far estimates moved, in standard errors of the log's own fit"]
    for model, table in moved.table.groupby("model", sort=False):
        name = "lift" if model == "lift" else f"fade by {FADE_NAMES[str(model)]}"
        told = table.dropna(subset=["moved"])
        away = told["moved"].abs()
        if len(told) == len(table) and away.max() < UNMOVED:
            lines += ["", *_hanging("  ", f"{name}: none of {count(len(told), 'term')} moved")]
            continue
        said = f"{name}: {int((away < 1.0).sum())} of {count(len(told), 'term')} by less than 1"
        if len(told):
            said += f"; furthest: {told['term'].iloc[int(away.argmax())]}, by {away.max():.1f}"
        gone = table.loc[table["after"].isna(), "term"]
        if len(gone):
            said += f"; not to be estimated any more: {', '.join(gone)}"
        lines += ["", *_hanging("  ", said), "", *_terms(table)]
    for model, why in moved.left_out.items():
        name = "lift" if model == "lift" else f"fade by {FADE_NAMES[model]}"
        lines += ["", *_hanging("  ", f"{name} isn't compared: {why}")]
    longer = " or ".join(PERIODS[PERIODS.index(period) + 1 :])
    if longer and (moved.table["moved"].abs() >= MUCH_MOVED).any():
        said = (
            f"moved by {MUCH_MOVED:g} or more: with dates cut less finely (--period {longer}), less changes"
        )
        lines += ["", *_hanging("  ", said)]
    return lines


def _terms(table: pd.DataFrame) -> list[str]:
    width = max(len(term) for term in table["term"]) + 2
    lines = [f"    {'':<{width}}{'before':>8}{'after':>9}{'moved':>8}"]
    for term, kind, before, after, away in zip(
        *(table[name].tolist() for name in ("term", "kind", "before", "after", "moved")), strict=True
    ):
        numbers = (
            f"{'x' if kind == 'ratio' else ' '}{before:>7.3f}",
            f"{'-' if isnan(after) else f'{after:.3f}':>9}",
            f"{'-' if isnan(away) else f'{round(away, 1) + 0.0:+.1f}':>8}",
        )
        lines.append(f"    {term:<{width}}{''.join(numbers)}")
    return lines


def _hanging(first: str, text: str) -> list[str]:
    """Lines of at most 80 columns, the later ones under where the words begin."""
    return textwrap.wrap(
        text,
        WIDTH,
        initial_indent=first,
        subsequent_indent=" " * max(len(first), 4),
        break_long_words=False,
        break_on_hyphens=False,
    )
