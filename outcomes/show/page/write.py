"""The page that answers at the chair, written as one file with the model in it."""

from __future__ import annotations

import os
from importlib.resources import files

from outcomes.log.atomic import replacing
from outcomes.predictive.saved import SalonModel
from outcomes.show.offline.one_file import one_file
from outcomes.show.page.pack import page_model

__all__ = ["write_page"]


def write_page(model: SalonModel, path: str | os.PathLike[str]) -> int:
    """Write the page; a file of that name is replaced only when the new one is whole.

    Parameters
    ----------
    model : SalonModel
    path : str or path

    Returns
    -------
    int
        Its size in bytes.

    Raises
    ------
    InputError
        The place can't be written to.
    """
    sheet = files("outcomes.show.page").joinpath("handout.css").read_text(encoding="utf-8")
    page = one_file("page", {"model": page_model(model)}, sheet=sheet).encode()
    with replacing(path) as unfinished:
        unfinished.write_bytes(page)
    return len(page)
