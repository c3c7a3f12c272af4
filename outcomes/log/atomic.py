"""Files that are either written whole or not at all."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from outcomes.errors import InputError

__all__ = ["replacing"]


@contextmanager
def replacing(path: str | os.PathLike[str]) -> Iterator[Path]:
    """A temporary file beside `path`, which takes its place when the block ends well and vanishes otherwise.

    Raises
    ------
    InputError
        The folder isn't there, or nothing may be written in it.
    """
    target = Path(path)
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


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask
