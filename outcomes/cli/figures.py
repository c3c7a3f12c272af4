"""The folder that a command draws its figures into."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING

from outcomes.errors import InputError

if TYPE_CHECKING:
    from outcomes.show.figures import Picture

__all__ = ["HELP", "figures_folder", "write_pictures"]

HELP = "folder for the figures, as PNG and SVG; made where absent"


def figures_folder(asked: str | None) -> Path | None:
    """The folder asked for, made where absent; before anything is worked out, so that nobody waits in vain.

    Parameters
    ----------
    asked : str or None

    Returns
    -------
    Path or None

    Raises
    ------
    InputError
        A file, or a place that can't be made.
    """
    if asked is None:
        return None
    folder = Path(asked)
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as cause:
        raise InputError(
            f"--figures {asked}: can't be made ({cause.strerror}); name a folder, new or old"
        ) from cause
    return folder


def write_pictures(folder: Path, pictures: Mapping[str, Picture]) -> str:
    """Write every picture; the line that says so.

    Parameters
    ----------
    folder : Path
    pictures : mapping of name to Picture

    Returns
    -------
    str

    Raises
    ------
    InputError
        A folder that can't be written to.
    """
    written = [path.name for name, picture in pictures.items() for path in picture.save(folder, name)]
    return f"{folder}: {', '.join(written)}"
