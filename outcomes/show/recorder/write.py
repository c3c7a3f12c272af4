"""The recorder as a file."""

from __future__ import annotations

import os

from outcomes.log.atomic import replacing
from outcomes.show.offline.one_file import one_file
from outcomes.show.recorder.fields import recorder_data

__all__ = ["recorder_page", "write_recorder"]


def recorder_page() -> str:
    """The recorder, in one piece.

    Returns
    -------
    str
        HTML.
    """
    return one_file("recorder", {"book": recorder_data()})


def write_recorder(path: str | os.PathLike[str]) -> None:
    """Write the recorder as one HTML file that needs no network.

    Parameters
    ----------
    path : path
        The file to write; one that is there is replaced.

    Raises
    ------
    InputError
        The place can't be written.
    """
    with replacing(path) as temporary:
        temporary.write_text(recorder_page(), encoding="utf-8", newline="\n")
