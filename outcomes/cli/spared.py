"""A file that a command writes may replace an older one of its kind, and nothing else."""

from __future__ import annotations

from pathlib import Path

from outcomes.errors import InputError
from outcomes.log.schema import TABLES

__all__ = ["spare_other_files", "spare_other_kinds"]

_READ = 4096  # bytes of a file's beginning that tell what it is


def spare_other_files(log: str, target: str, what: str, opening: str) -> None:
    """Refuse a target that is the log that is read, or any file but an older one of the same kind.

    Parameters
    ----------
    log, target : str
        Paths as given.
    what : str
        What would be written, in words.
    opening : str
        What files of that kind begin with, a byte-order mark aside.

    Raises
    ------
    InputError
        It's such a file, or can't be looked into.
    """
    folder, wanted = Path(log).resolve(), Path(target).resolve()
    if wanted == folder or (wanted.parent == folder and wanted.stem.lower() in TABLES):
        raise InputError(f"{target}: would replace the log itself; choose another name for {what}")
    spare_other_kinds(target, what, opening)


def spare_other_kinds(target: str, what: str, opening: str) -> None:
    """Refuse a target that is any file but an older one of the same kind.

    Parameters
    ----------
    target : str
        Path as given.
    what : str
        What would be written, in words.
    opening : str
        What files of that kind begin with, a byte-order mark aside.

    Raises
    ------
    InputError
        It's such a file, or can't be looked into.
    """
    wanted = Path(target).resolve()
    if not wanted.is_file():
        return
    try:
        with wanted.open("rb") as file:
            begins = file.read(_READ).removeprefix(b"\xef\xbb\xbf")
    except OSError as cause:
        raise InputError(f"{target}: can't be looked into ({cause.strerror}); name a new file") from cause
    if begins and not begins.startswith(opening.encode()):
        raise InputError(f"{target}: found another file there, not {what}; name a new file")
