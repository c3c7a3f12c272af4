"""Files that are either written whole or not at all."""

from __future__ import annotations

import os
import stat
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from outcomes.errors import InputError

__all__ = ["replacing"]


@contextmanager
def replacing(path: str | os.PathLike[str]) -> Iterator[Path]:
    """A temporary file beside `path`, which takes its place when the block ends well and vanishes otherwise.

    Parameters
    ----------
    path : path
        The file to write.

    Yields
    ------
    Path
        The temporary file, with the ending of `path`.

    Raises
    ------
    InputError
        The folder isn't there, nothing may be written in it, or `path` is a folder, device or pipe.
    """
    target = _regular(Path(path))
    try:
        handle, name = tempfile.mkstemp(dir=target.parent, prefix=f".{target.name}.", suffix=target.suffix)
        os.close(handle)
    except OSError as error:
        raise InputError(f"{target}: can't be written ({error.strerror}); choose another place") from None
    temporary = Path(name)
    try:
        yield temporary
        os.chmod(temporary, 0o666 & ~_umask())
        os.replace(temporary, target)
    except OSError as error:
        raise InputError(f"{target}: can't be written ({error.strerror}); choose another place") from None
    finally:
        temporary.unlink(missing_ok=True)


def _regular(target: Path) -> Path:
    """The file that a path names, behind all links; refuses what is there and must not be replaced."""
    real = Path(os.path.realpath(target))
    try:
        mode = target.stat().st_mode
    except OSError:
        return real  # not there yet; any other trouble shows when the temporary file is made
    # /dev/stdout may lead to a regular file, but replacing that would part it from whoever writes to it
    place = target.absolute().parent
    if stat.S_ISREG(mode) and place not in (Path("/dev"), Path("/dev/fd")) and place.parts[1:2] != ("proc",):
        return real
    kind = "a folder" if stat.S_ISDIR(mode) else "a device or pipe"
    raise InputError(f"{target}: can't be written (found {kind}, expected a file); name a new file")


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask
