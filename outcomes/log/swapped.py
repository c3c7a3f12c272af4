"""Several files of a folder replaced together: a kill at any moment leaves all old ones, or all new ones.

The new files are written beside the old ones, whole and on disk, before one small file names them. From the
moment that it's there the new ones count: whoever reads the folder reads them, and the next writer moves them
into their places. Taking it away is the last step.
"""

from __future__ import annotations

import json
import os
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path

from outcomes.errors import InputError

__all__ = ["alone_in", "current_files", "finish_swap", "swap_files"]

_NAMES = ".moving.json"  # names the new files; while it's there, they count
_LOCK = ".lock"
_NEW = ".new"


def current_files(folder: Path) -> Mapping[str, Path]:
    """Files that a swap left beside their places, by the names that they'll have.

    Parameters
    ----------
    folder : Path

    Returns
    -------
    mapping of str to Path
        Empty where every file is in its place.

    Raises
    ------
    InputError
        The note of the swap can't be read: somebody else wrote it.
    """
    note = folder / _NAMES
    if not note.is_file():
        return {}
    try:
        names = json.loads(note.read_text(encoding="utf-8"))
        found = {str(name): folder / f".{name}{_NEW}" for name in names}
    except (OSError, ValueError, TypeError):
        raise InputError(f"{note}: damaged; take it away if the files beside it are whole") from None
    return {name: path for name, path in found.items() if path.is_file()}


def finish_swap(folder: Path) -> None:
    """Move the files of an interrupted swap into their places; take away those that never counted.

    Parameters
    ----------
    folder : Path

    Raises
    ------
    InputError
        The folder can't be written.
    """
    try:
        for name, path in current_files(folder).items():
            os.replace(path, folder / name)
        (folder / _NAMES).unlink(missing_ok=True)
        for left in (*folder.glob(f".*{_NEW}"), *folder.glob(f"{_NAMES}.*")):
            left.unlink(missing_ok=True)
    except OSError as error:
        raise InputError(f"{folder}: can't be written ({error.strerror}); choose another folder") from None


@contextmanager
def swap_files(folder: Path, names: tuple[str, ...]) -> Iterator[Mapping[str, Path]]:
    """New files that take the places of old ones together, when the block ends well.

    Parameters
    ----------
    folder : Path
        Must be there.
    names : tuple of str
        The files' names.

    Yields
    ------
    mapping of str to Path
        Where each is to be written.

    Raises
    ------
    InputError
        The folder can't be written.
    """
    finish_swap(folder)
    new = {name: folder / f".{name}{_NEW}" for name in names}
    try:
        yield new
        for path in new.values():
            _on_disk(path)
        note = folder / f"{_NAMES}.half"
        note.write_text(json.dumps(list(names)), encoding="utf-8")
        _on_disk(note)
        os.replace(note, folder / _NAMES)  # from here on the new files count
        _on_disk(folder)
    except OSError as error:
        raise InputError(f"{folder}: can't be written ({error.strerror}); choose another folder") from None
    finally:
        if not (folder / _NAMES).exists():
            for path in new.values():
                path.unlink(missing_ok=True)
    finish_swap(folder)
    _on_disk(folder)


def _on_disk(path: Path) -> None:
    """Wait until a file, or the names in a folder, would outlive a loss of power."""
    try:
        handle = os.open(path, os.O_RDONLY)
    except PermissionError:  # some systems don't open folders
        return
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


@contextmanager
def alone_in(folder: Path) -> Iterator[None]:
    """Nobody else changes the folder meanwhile; who comes second is told, and changes nothing.

    Parameters
    ----------
    folder : Path
        Must be there.

    Yields
    ------
    None

    Raises
    ------
    InputError
        Another process is changing it, or it can't be written.
    """
    try:
        import fcntl
    except ImportError:  # a system without such locks
        yield
        return
    try:
        handle = os.open(folder / _LOCK, os.O_RDWR | os.O_CREAT, 0o666)
    except OSError as error:
        raise InputError(f"{folder}: can't be written ({error.strerror}); choose another folder") from None
    try:
        try:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError:
            raise InputError(f"{folder}: another merge is at work there; wait until it's done") from None
        yield
    finally:
        os.close(handle)  # the lock goes with it, whatever ends this process
