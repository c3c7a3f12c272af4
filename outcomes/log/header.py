"""Where the headings of a file stand: in one row or two, below a title or not."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from outcomes.errors import InputError
from outcomes.log.meaning import Meaning
from outcomes.log.schema import columns
from outcomes.log.vocabulary import named, normalise

__all__ = ["Declared", "find_header", "heading_score"]

Declared = Mapping[str, Meaning | None]
"""By normalised label, what a map file says of a heading; None: kept out."""


def heading_score(table: str, row: Sequence[str], declared: Declared | None = None) -> int:
    """How many different columns of the table a row names.

    Parameters
    ----------
    table : str
        `visits`, `checks` or `washes`.
    row : sequence of str
        Cells of one row.
    declared : mapping, optional
        Headings that a map file explains.

    Returns
    -------
    int
        0 where the row names none.
    """
    keys = [normalise(cell) for cell in row]
    known = {key: meaning for key, meaning in (declared or {}).items() if meaning is not None}
    found = {(known[key].table, known[key].column) for key in keys if key in known}
    for key in set(keys) - known.keys() - {""}:
        meant = named(table, key)
        if meant is not None and meant[0].table == table:
            found.add((table, meant[0].column))
    return len(found)


def find_header(
    table: str,
    early: Sequence[Sequence[str]],
    file: str,
    declared: Declared | None = None,
    *,
    lenient: bool = False,
) -> tuple[int, int, list[str]]:
    """The row that names most columns, the first of equals; or two rows, where only together they do.

    A title may stand above them. In a heading of two lines an empty cell above stands for what is written
    further left, as where one word was written over several columns.

    Parameters
    ----------
    table : str
        `visits`, `checks` or `washes`.
    early : sequence of sequence of str
        Cells of the first rows of a file.
    file : str
        Name shown in the refusal.
    declared : mapping, optional
        Headings that a map file explains.
    lenient : bool
        Where nothing is recognised, the first of the fullest rows without a number counts as the headings.

    Returns
    -------
    int, int, list of str
        Position in `early` of the first and the last line of the headings, and the headings.

    Raises
    ------
    InputError
        No row names at least two columns.
    """
    scores = [heading_score(table, row, declared) for row in early]
    best = max(scores, default=0)
    found = (scores.index(best), scores.index(best), list(early[scores.index(best)])) if best else None
    for i in range(len(early) - 1):
        if max(scores[i], scores[i + 1]) == 0:
            continue
        joined = _joined_lines(table, early[i], early[i + 1], declared)
        score = heading_score(table, joined, declared)
        if score > best + 1:  # one more alone may be chance: a first row of data under its headings
            best, found = score, (i, i + 1, joined)
    if lenient and best < 2 and (written := [_written(row) for row in early]) and max(written) > 1:
        at = written.index(max(written))
        return at, at, list(early[at])
    if found is None or best < 2:
        wanted = ", ".join(column.name for column in columns(table) if column.needed)
        raise InputError(
            f"{file}: no row of headings found in its first rows; expected {wanted}; put the headings in the "
            "first row, or name them in a map file (see `outcomes map --help`)"
        )
    return found


def _written(row: Sequence[str]) -> int:
    """How many cells of a row say something, if none begins with a digit; else 0."""
    return 0 if any(cell[:1].isdigit() for cell in row) else sum(map(bool, row))


def _joined_lines(
    table: str, above: Sequence[str], below: Sequence[str], declared: Declared | None
) -> list[str]:
    """Headings of two lines: both together where that names a column, else the one of the two that does."""
    width = max(len(above), len(below))
    upper, lower = (list(row) + [""] * (width - len(row)) for row in (above, below))
    joined, over = [], ""
    for top, bottom in zip(upper, lower, strict=True):
        over = top or (over if bottom else "")
        choices = [f"{over} {bottom}".strip(), bottom, top]
        known = (choice for choice in choices if choice and heading_score(table, [choice], declared))
        joined.append(next(known, choices[0]))
    return joined
