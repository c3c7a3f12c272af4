"""Text that isn't UTF-8 throughout: each line by itself, since several programs may have written it."""

from __future__ import annotations

import re

import numpy as np

__all__ = ["text_of_lines"]

OLDER = "cp1252"  # what older spreadsheets write
# from the first letter beyond ASCII to the end of its line: what stands before reads the same either way
_BEYOND_ASCII = re.compile(rb"[\x80-\xff][^\r\n]*")
_PIECE = 2**22  # bytes looked through at a time
_SEVERAL_BYTES = re.compile(rb"[\xc2-\xdf][\x80-\xbf]|[\xe0-\xef][\x80-\xbf]{2}|[\xf0-\xf4][\x80-\xbf]{3}")


def text_of_lines(data: bytes) -> tuple[str, str]:
    """Text of which some lines are UTF-8 and the others cp1252.

    Parameters
    ----------
    data : bytes
        Not valid UTF-8 as a whole.

    Returns
    -------
    str, str
        The text, and a note for people, without the name of the file.
    """
    if not (_side_by_side(data) and _SEVERAL_BYTES.search(data)):
        return data.decode(
            OLDER, errors="replace"
        ), f"isn't UTF-8; read as {OLDER}, as older spreadsheets write"
    counts = {"utf-8": 0, OLDER: 0}

    def as_utf8(line: re.Match[bytes]) -> bytes:
        try:
            line[0].decode("utf-8")
        except UnicodeDecodeError:
            counts[OLDER] += 1
            return line[0].decode(OLDER, errors="replace").encode()
        counts["utf-8"] += 1
        return line[0]

    text = _BEYOND_ASCII.sub(as_utf8, data).decode("utf-8")
    told = [f"{n:,} line{'' if n == 1 else 's'} as {name}" for name, n in counts.items() if n]
    return (
        text,
        f"isn't UTF-8 throughout; read {' and '.join(told)}, by what each line's letters are valid in",
    )


def _side_by_side(data: bytes) -> bool:
    """Whether two bytes beyond ASCII stand together, as any letter of UTF-8; sooner than a pattern tells."""
    for start in range(0, len(data), _PIECE):
        beyond = np.frombuffer(data[start : start + _PIECE + 1], dtype=np.uint8) >= 0x80
        if (beyond[1:] & beyond[:-1]).any():
            return True
    return False
