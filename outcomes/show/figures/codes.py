"""Codes of a log as figures can write them: on one line, not long, in letters that the font has.

A code is somebody else's text. It may hold line breaks, control characters, other scripts, a page of words.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Callable, Iterable
from functools import lru_cache
from pathlib import Path

import matplotlib as mpl
from matplotlib.ft2font import FT2Font

__all__ = ["drawn_codes", "told_codes"]

_LETTERS = 14
_EM = 0.6  # of a usual letter, so that 14 wide ones don't take twice the room
_LACKING = "\N{WHITE SQUARE}"
_MORE = "\N{HORIZONTAL ELLIPSIS}"
_ISOLATED = "\N{FIRST STRONG ISOLATE}", "\N{POP DIRECTIONAL ISOLATE}"


def drawn_codes(codes: Iterable[str]) -> dict[str, str]:
    """What figures write for codes; no two are written alike.

    Parameters
    ----------
    codes : iterable of str

    Returns
    -------
    dict of str to str
        In their order. About 14 letters at most; what the font lacks is a square.
    """
    return _told_apart(codes, lambda code: "".join(one if _has(one) else _LACKING for one in _plain(code)))


def told_codes(codes: Iterable[str]) -> dict[str, str]:
    """What text alternatives write for codes: as short as in the figure, but in their own letters.

    Parameters
    ----------
    codes : iterable of str

    Returns
    -------
    dict of str to str
        In their order. Those written from right to left turn no number beside them around.
    """
    told = _told_apart(codes, _plain)
    return {
        code: name.join(_ISOLATED) if any(map(_is_from_right, name)) else name for code, name in told.items()
    }


def _told_apart(codes: Iterable[str], written: Callable[[str], str]) -> dict[str, str]:
    """Those that would be written alike are numbered."""
    names: dict[str, str] = {}
    taken: set[str] = set()
    for code in codes:
        whole = written(code)
        name, number = _short(whole, _LETTERS), 1
        while name in taken:
            number += 1
            after = f" ({number})"
            name = _short(whole, _LETTERS - len(after)) + after
        taken.add(name)
        names[code] = name
    return names


def _plain(code: str) -> str:
    """On one line, without controls (of direction too) and without heaps of marks on one letter."""
    kept: list[str] = []
    for one in unicodedata.normalize("NFC", " ".join(code.split())):
        if unicodedata.combining(one) and all(map(unicodedata.combining, kept[-2:])):
            continue
        kept.append(one if one.isprintable() else _LACKING)
    return "".join(kept) or _LACKING


def _short(name: str, letters: int) -> str:
    width = 0.0
    for i, one in enumerate(name):
        width += _width(one)
        if i >= letters or width > _EM * letters:
            return name[: max(i - 1, 1)].rstrip() + _MORE
    return name


def _is_from_right(letter: str) -> bool:
    return unicodedata.bidirectional(letter) in ("R", "AL")


@lru_cache(maxsize=1)
def _font() -> FT2Font:
    font = FT2Font(str(Path(mpl.get_data_path()) / "fonts" / "ttf" / "DejaVuSans.ttf"))
    font.set_size(100.0, 72.0)
    return font


def _has(letter: str) -> bool:
    return _font().get_char_index(ord(letter)) > 0


@lru_cache(maxsize=4096)
def _width(letter: str) -> float:
    """In ems."""
    drawn = letter if _has(letter) else _LACKING
    return float(_font().load_char(ord(drawn)).linearHoriAdvance / 65536 / 100.0)
