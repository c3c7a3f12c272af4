"""Data that stand encoded within a text: pictures are counted, and what is text itself is read."""

from __future__ import annotations

import base64
import binascii
import re
from urllib.parse import unquote_to_bytes

from outcomes.protect.contents.pieces import Unseen

__all__ = ["without_data"]

_DATA_URI = re.compile(
    r"data:(?P<type>[\w.+-]+/[\w.+-]+)?(?P<rest>(?:;[\w=.+-]+)*?)(?P<base64>;base64)?,"
    r"(?P<data>[A-Za-z0-9+/=%_.~!*'-]+(?:\s[A-Za-z0-9+/=]{30,})*)"
)
_LONG_RUN = re.compile(r"(?<![A-Za-z0-9+/_.-])[A-Za-z0-9+/]{200,}={0,2}(?![\w.-])")
_NOT_LINE = re.compile(r"[^\n]")


def without_data(text: str, unseen: Unseen) -> tuple[str, list[tuple[int, str, str]]]:
    """Text without encoded data, of which what is text itself is given beside it.

    Parameters
    ----------
    text : str
    unseen : Unseen
        Counts pictures and other data.

    Returns
    -------
    str, list of (int, str, str)
        The text with spaces in place of data; of data that is text its position, kind (such as image/svg+xml)
        and content.
    """
    found: list[tuple[int, str, str]] = []

    def blank(match: re.Match[str]) -> str:
        kind = match.groupdict().get("type") or ""
        content = _decoded(match)
        if kind.startswith("image/") and "svg" not in kind:
            unseen.pictures += 1
        elif content is not None:
            found.append((match.start(), kind, content))
        elif kind or "+" in match[0] or "/" in match[0] or "=" in match[0]:
            unseen.encoded += 1
        else:
            return match[0]  # a long word, of which nobody knows that it's data
        return _NOT_LINE.sub(" ", match[0])

    if "data:" in text:
        text = _DATA_URI.sub(blank, text)
    if len(text) >= 200:
        text = _LONG_RUN.sub(blank, text)
    return text, found


def _decoded(match: re.Match[str]) -> str | None:
    """Content of encoded data where that is text."""
    groups = match.groupdict()
    try:
        if groups.get("data") is not None and not groups["base64"]:
            data = unquote_to_bytes(groups["data"])
        else:
            data = base64.b64decode(re.sub(r"\s", "", groups.get("data") or match[0]), validate=True)
        text = data.decode("utf-8")
    except (binascii.Error, ValueError):
        return None
    return text if text.isprintable() or not re.search(r"[\x00-\x08\x0e-\x1a\x7f]", text) else None
