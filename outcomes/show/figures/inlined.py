"""SVG text for a page that holds several: names that don't collide, and nothing that only a file needs."""

from __future__ import annotations

import re

__all__ = ["for_a_page", "with_names"]

_NAME = re.compile(r"[A-Za-z][\w-]*", re.ASCII)
_NAMED = re.compile(r'( id="|href="#|url\(#)')
_ONLY_IN_FILES = re.compile(
    r"<!--.*?-->\s*|<metadata>.*?</metadata>\s*|<title>.*?</title>\s*|<style\b.*?</style>", re.DOTALL
)
_EMPTY = re.compile(r"<defs>\s*</defs>\s*")
_SIZE = re.compile(r' (?:width|height)="[^"]*"')
_LINES = 'stroke-linejoin="round" stroke-linecap="butt"'


def with_names(svg: str, key: str) -> str:
    """Begin all names in an SVG, and what refers to them, with a key.

    Parameters
    ----------
    svg : str
        As matplotlib writes it, whose names are the same from figure to figure.
    key : str
        A letter, then letters, digits, - and _.

    Returns
    -------
    str

    Raises
    ------
    ValueError
        Another key, which couldn't be part of a name.
    """
    if not _NAME.fullmatch(key):
        raise ValueError(f"key {key!r}: a letter, then letters, digits, - and _ are expected")
    return _NAMED.sub(rf"\g<1>{key}-", svg)


def for_a_page(svg: str) -> str:
    """An SVG as an element of a page, which sets how wide it is.

    Left out are what stands before the element, width and height (the proportions stay), comments, metadata,
    the title, which `Picture` writes itself, and the style sheet, which would hold for the whole page.

    Parameters
    ----------
    svg : str
        As matplotlib writes it.

    Returns
    -------
    str
    """
    _, start, rest = svg.partition("<svg ")
    attributes, end, body = rest.partition(">")
    body = _EMPTY.sub("", _ONLY_IN_FILES.sub("", body))
    return f"{start}{_LINES} {_SIZE.sub('', f' {attributes}').lstrip()}{end}{body}"
