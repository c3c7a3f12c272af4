"""Strings and comments of a program: what a person wrote there, told from names that the program goes by."""

from __future__ import annotations

import re
from bisect import bisect

__all__ = ["is_said", "said_in"]

# around a short word in a string: spaces, or marks of a sentence; packed data have others
_AS_WORD = re.compile(r"""[\s"'`,;:=_.()\[\]{}-]?\w+[\s"'`,;:=_.()\[\]{}-]?""")
_DRAWN = re.compile(r"""["'`]\s*[Mm][\s\d.,+MLHVCSQTAZmlhvcsqtaz-]*["'`]""")  # a path, as SVG writes it
_SAID = re.compile(
    r"""(?<![\w)\]])(?:[fFrRbBuU]{1,2}|return|case|typeof)?(?P<string>"(?:[^"\\\n]|\\.){0,500}"|"""
    r"""'(?:[^'\\\n]|\\.){0,500}'|`(?:[^`\\]|\\.)*`)"""
    r"|(?:(?<!\S)\#[ !]|(?<![:\w])//)[^\n]*|/\*.*?\*/|<!--.*?-->",
    re.DOTALL,
)


def said_in(text: str) -> list[tuple[int, int]]:
    """Where strings and comments stand, but for strings that are drawn as paths.

    Parameters
    ----------
    text : str
        A program, in one of the languages that pages and notebooks have.

    Returns
    -------
    list of (int, int)
        Start and end of each, in order.
    """
    return [
        one.span() for one in _SAID.finditer(text) if not (one["string"] and _DRAWN.fullmatch(one["string"]))
    ]


def is_said(text: str, start: int, end: int, said: list[tuple[int, int]]) -> bool:
    """Whether a short word of a program is a word in a string or comment.

    Parameters
    ----------
    text : str
    start, end : int
        Where the word stands.
    said : list of (int, int)
        As `said_in` gives them.

    Returns
    -------
    bool
    """
    i = bisect(said, (start, len(text))) - 1
    within = i >= 0 and start < said[i][1]
    return within and _AS_WORD.fullmatch(text[max(0, start - 1) : end + 1]) is not None
