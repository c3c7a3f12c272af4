"""A figure inside a page: the one place where its SVG becomes part of the HTML."""

from __future__ import annotations

import re

from markupsafe import Markup

from outcomes.show.figures.picture import Picture

__all__ = ["inline_svg"]

_ONLY_IN_FILES = re.compile(
    r"<!--.*?-->\s*|<metadata>.*?</metadata>\s*|<title>.*?</title>\s*|<style\b.*?</style>", re.DOTALL
)
_NAMED = re.compile(r'( id="|href="#|url\(#|aria-labelledby="|(?<=title )(?=desc"))')


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
    drawn = picture.svg()
    element = _ONLY_IN_FILES.sub("", drawn[drawn.index("<svg ") :])
    return Markup(_NAMED.sub(rf"\g<1>{key}-", element))
