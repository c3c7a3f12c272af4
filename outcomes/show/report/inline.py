"""A figure inside a page: the one place where its SVG becomes part of the HTML."""

from __future__ import annotations

from markupsafe import Markup

from outcomes.show.figures.picture import Picture

__all__ = ["inline_svg"]


def inline_svg(picture: Picture, key: str) -> Markup:
    """A figure as an element of a page, its names apart from those of every other figure.

    Parameters
    ----------
    picture : Picture
    key : str
        Begins each name in it: letters.

    Returns
    -------
    Markup
        Drawn by this package, which escapes the text in it.
    """
    return Markup(picture.svg(key, inline=True))
