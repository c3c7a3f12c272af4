"""A moving bar on standard error while something takes its time; silent where that isn't a terminal."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager

__all__ = ["working"]


@contextmanager
def working(what: str) -> Iterator[None]:
    """Show that `what` is going on, until the block ends.

    Parameters
    ----------
    what : str
        A few words, such as "fitting".

    Yields
    ------
    None
    """
    if not sys.stderr.isatty():
        yield
        return
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TextColumn, TimeElapsedColumn

    columns = (TextColumn("{task.description}"), BarColumn(), TimeElapsedColumn())
    with Progress(*columns, console=Console(stderr=True), transient=True) as progress:
        progress.add_task(what, total=None)
        yield
