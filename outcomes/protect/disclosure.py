"""May a file leave the salon? Its raw codes of the log, e-mail addresses, phone numbers and exact dates."""

from __future__ import annotations

import os
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass
from typing import Any

import pandas as pd

from outcomes.errors import InputError
from outcomes.protect.contents.readable import Leaving, files_of
from outcomes.protect.looking import LISTED, FileSearch, Find
from outcomes.protect.private.codes import CODE_COLUMNS, LogCodes, codes_of_log
from outcomes.protect.private.search import Search

__all__ = ["LISTED", "Disclosure", "Find", "disclosure"]


@dataclass(frozen=True, eq=False)
class Disclosure:
    """What was found in some files, and what was looked for.

    Attributes
    ----------
    log : str
        Name of the log.
    files : tuple of str
        Files that were looked into.
    finds : tuple of Find
        In the order of the files; of each kind, and of the codes of each column, the first 2,000 in a file.
    counts : mapping of str to mapping
        File -> what (`client code`, `date`) -> number of finds, all of them.
    refused : mapping of str to str
        File -> why it couldn't be looked into.
    unseen : mapping of str to mapping
        File -> `pictures`, `encoded`: how many of what it holds weren't looked into.
    notes : tuple of str
        What a person should look at.
    looked_for : mapping of str to mapping
        Column -> how many codes were looked for `everywhere`, and how many only `under_headings`.
    may_show : tuple of str
        Columns whose codes may stay.
    """

    log: str
    files: tuple[str, ...]
    finds: tuple[Find, ...]
    counts: Mapping[str, Mapping[str, int]]
    refused: Mapping[str, str]
    unseen: Mapping[str, Mapping[str, int]]
    notes: tuple[str, ...]
    looked_for: Mapping[str, Mapping[str, int]]
    may_show: tuple[str, ...]

    @property
    def found(self) -> int:
        """How many finds there are in all files."""
        return sum(sum(whats.values()) for whats in self.counts.values())

    @property
    def is_clean(self) -> bool:
        """Whether nothing was found, and every file could be looked into."""
        return not self.found and not self.refused

    def frame(self) -> pd.DataFrame:
        """Finds as rows: file, place, line, character, kind, of, text, note."""
        names = list(Find.__dataclass_fields__)
        rows = pd.DataFrame([asdict(find) for find in self.finds], columns=pd.Index(names))
        return rows.astype({"line": "Int64", "character": "Int64"})

    def to_dict(self) -> dict[str, Any]:
        """Everything as JSON values."""
        return {
            "log": self.log,
            "found": self.found,
            "is_clean": self.is_clean,
            "files": list(self.files),
            "finds": [asdict(find) for find in self.finds],
            "counts": {file: dict(whats) for file, whats in self.counts.items()},
            "not_looked_into": [{"file": file, "why": why} for file, why in self.refused.items()],
            "unseen": {file: dict(parts) for file, parts in self.unseen.items()},
            "notes": list(self.notes),
            "looked_for": {name: dict(count) for name, count in self.looked_for.items()},
            "may_show": list(self.may_show),
        }

    def __str__(self) -> str:
        if self.found:
            return f"{self.found:,} found, in {', '.join(self.counts)}"
        if self.refused:
            return f"nothing found, but {len(self.refused)} of the files couldn't be looked into"
        return "nothing found"


def disclosure(
    paths: Iterable[str | os.PathLike[str]],
    log: str | os.PathLike[str],
    may_show: Sequence[str] = (),
    *,
    map_file: str | os.PathLike[str] | None = None,
    dates: str = "",
) -> Disclosure:
    """Look through files for what must not leave the salon.

    Parameters
    ----------
    paths : iterable of path
        Files, and folders of which every file is looked into.
    log : path
        The log whose codes are raw, as `read_log` takes it; its rows that can't be used count as well.
    may_show : sequence of str
        Code columns whose codes may stay, such as `stylist`.
    map_file : path, optional
        What the log's own headings mean, as for `read_log`.
    dates : {"", "day-first", "month-first"}
        Order of day and month in the log where it doesn't settle it itself, as for `read_log`.

    Returns
    -------
    Disclosure

    Raises
    ------
    InputError
        A path with nothing there, a log that can't be read, or a column that holds no codes.
    """
    for name in may_show:
        if name not in CODE_COLUMNS:
            raise InputError(
                f"{name}: found among the columns whose codes may stay; expected some of "
                f"{', '.join(CODE_COLUMNS)}; name files before them"
            )
    files = [one for path in paths for one in files_of(path)]
    if not files:
        raise InputError(f"{', '.join(map(str, paths))}: no file in it; name what is to leave the salon")
    return look_through(files, codes_of_log(log, map_file=map_file, dates=dates), may_show)


def look_through(files: Sequence[Leaving], log: LogCodes, may_show: Sequence[str] = ()) -> Disclosure:
    """The same for files that were listed, and a log whose codes are known.

    Parameters
    ----------
    files : sequence of Leaving
    log : LogCodes
    may_show : sequence of str

    Returns
    -------
    Disclosure
    """
    search = Search(log, may_show)
    looked, refused, unseen, notes = [], {}, {}, []
    finds: list[Find] = []
    counts: dict[str, dict[str, int]] = {}
    for file in files:
        one, name = FileSearch(file, search), file.name
        try:
            for find in one.finds():
                finds.append(find)
        except InputError as cause:
            refused[name] = str(cause).removeprefix(f"{file.path}: ")
        else:
            looked.append(name)
        if one.counts:
            counts[name] = dict(one.counts.most_common())
        parts = {"pictures": one.unseen.pictures, "encoded": one.unseen.encoded}
        if any(parts.values()):
            unseen[name] = parts
        notes += [f"{name}: {note}" for note in one.unseen.notes]
    return Disclosure(
        log=log.source,
        files=tuple(looked),
        finds=tuple(finds),
        counts=counts,
        refused=refused,
        unseen=unseen,
        notes=tuple(notes),
        looked_for=log.counts(without=may_show),
        may_show=tuple(dict.fromkeys(may_show)),
    )
