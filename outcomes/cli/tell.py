"""How a command tells its answer: as JSON, or in words; and drawn into a folder, where one is asked for."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any, Protocol

from outcomes.cli.printed import as_json
from outcomes.errors import InputError

if TYPE_CHECKING:
    from outcomes.show.figures import Picture

__all__ = ["HELP", "figures_folder", "tell"]

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


class _Answer(Protocol):
    def to_dict(self) -> dict[str, Any]: ...


def tell(
    answer: _Answer,
    text: Callable[[], str],
    *,
    json: bool,
    folder: Path | None = None,
    pictures: Callable[[], Mapping[str, Picture]] = dict,
) -> int:
    """Draw an answer if asked for, and print it.

    Parameters
    ----------
    answer : object
        With `to_dict`.
    text : callable
        Makes the words; called only if they're wanted, as is `pictures`, so that nothing is loaded in vain.
    json : bool
        Whether JSON is printed in place of words.
    folder : Path, optional
        For the pictures.
    pictures : callable
        Makes them, by name.

    Returns
    -------
    int
        0.

    Raises
    ------
    InputError
        A folder that can't be written to.
    """
    drawn = "" if folder is None else _written(folder, pictures())
    if json:
        print(as_json(answer.to_dict()))
    else:
        print("\n\n".join(part for part in (text(), drawn) if part))
    return 0


def _written(folder: Path, pictures: Mapping[str, Picture]) -> str:
    """Every picture as files; the line that says so."""
    written = [path.name for name, picture in pictures.items() for path in picture.save(folder, name)]
    return f"{folder}: {', '.join(written)}"
