"""Text as people see it: which characters are the same, and where its words begin and end."""

from __future__ import annotations

import re
import sys
import unicodedata
from itertools import pairwise

__all__ = ["TOKEN", "plain", "runs_and_gaps", "unescaped"]

TOKEN = re.compile(r"[^\W_]+")  # letters and digits: C001 in client_C001, but not in XC001 or C0012
# what looks alike is alike: hyphens and dashes, spaces of any width, apostrophes; what isn't seen isn't there
_ALIKE: dict[int, str | None] = {
    **dict.fromkeys((*range(0x2010, 0x2016), 0x2212, 0xFE63, 0xFF0D), "-"),
    **dict.fromkeys((0xA0, *range(0x2000, 0x200B), 0x202F, 0x205F, 0x3000), " "),
    **dict.fromkeys((0x2018, 0x2019, 0x02BC, 0xFF07), "'"),
    **dict.fromkeys((0xFF20,), "@"),
    **dict.fromkeys((0xAD, *range(0x200B, 0x2010), 0x2060, 0xFEFF), None),
}
_TERMINAL = re.compile(r"\x1b\[[0-9;]*[A-Za-z]")  # colours of a terminal, in kept output of programs
_ESCAPED = re.compile(
    r"\\(?:u([0-9a-fA-F]{4})|x([0-9a-fA-F]{2})|U([0-9a-fA-F]{8})|u\{([0-9a-fA-F]{1,6})\}|([nrtbf])|([\"'`/\\]))"
)


def plain(text: str) -> str:
    """Text in composed letters, with one character each for those that look alike.

    Parameters
    ----------
    text : str

    Returns
    -------
    str
        Characters that can't be seen are left out, so that columns may move; lines stay.
    """
    if "\x1b" in text:
        text = _TERMINAL.sub(" ", text)
    if text.isascii():
        return text
    return unicodedata.normalize("NFC", text.translate(_ALIKE))


def unescaped(text: str) -> str:
    """Text of a program with the characters that its escapes stand for; an escaped line break is a space.

    Parameters
    ----------
    text : str

    Returns
    -------
    str
        As many lines as before.
    """
    return _ESCAPED.sub(_character, text) if "\\" in text else text


def _character(escape: re.Match[str]) -> str:
    number = escape[1] or escape[2] or escape[3] or escape[4]
    if number:
        character = chr(int(number, 16)) if int(number, 16) <= sys.maxunicode else " "
        return character if character.isprintable() else " "
    if escape[6]:
        # a quote within a string stays within it where it becomes one of the other kind
        return {'"': "'", "'": '"', "`": "'"}.get(escape[6], escape[6])
    return "  "


def runs_and_gaps(text: str) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """The runs of letters and digits of a text, in lower case, and what stands between them.

    Parameters
    ----------
    text : str

    Returns
    -------
    tuple of str, tuple of str
        One gap fewer than runs.
    """
    found = list(TOKEN.finditer(text))
    gaps = tuple(text[a.end() : b.start()] for a, b in pairwise(found))
    return tuple(one[0].casefold() for one in found), gaps
