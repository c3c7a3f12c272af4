"""A file that a command writes must never replace the log that it reads."""

from __future__ import annotations

from pathlib import Path

from outcomes.errors import InputError
from outcomes.log.schema import TABLES

__all__ = ["spare_the_log"]


def spare_the_log(log: str, target: str, what: str) -> None:
    """Refuse a target that is the log, or one of its tables.

    Parameters
    ----------
    log, target : str
        Paths as given.
    what : str
        What would be written, in words.

    Raises
    ------
    InputError
    """
    folder, wanted = Path(log).resolve(), Path(target).resolve()
    if wanted == folder or (wanted.parent == folder and wanted.stem.lower() in TABLES):
        raise InputError(f"{target}: would replace the log itself; choose another name for {what}")
