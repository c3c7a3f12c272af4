"""Text no wider than a terminal, for people who read it there."""

from __future__ import annotations

import textwrap

__all__ = ["WIDTH", "folded"]

WIDTH = 80
"""Columns."""


def folded(text: str, indent: int = 0, hang: int = 2) -> list[str]:
    """Lines of at most 80 columns, those after the first further in; words stay whole.

    Parameters
    ----------
    text : str
    indent : int
        Columns before the first line.
    hang : int
        How much further in the others begin.

    Returns
    -------
    list of str
    """
    return textwrap.wrap(
        text,
        WIDTH,
        initial_indent=" " * indent,
        subsequent_indent=" " * (indent + hang),
        break_long_words=False,
        break_on_hyphens=False,
    )
