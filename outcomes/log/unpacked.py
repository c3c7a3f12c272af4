"""A workbook is looked through before it's opened: how much it unpacks to, and how large its sheets would be.

A few bytes may stand for a great deal: a part that unpacks to gigabytes, or one cell in the last corner of a
sheet, for which a reader lays out every cell before it.
"""

from __future__ import annotations

import re
import zipfile
import zlib
from pathlib import Path

from outcomes.errors import InputError

__all__ = ["MAX_CELLS", "MAX_RATIO", "MAX_UNPACKED", "look_through"]

MAX_UNPACKED = 2**29  # bytes of all parts of a workbook together
# 100,000 rows all alike, as two libraries pack them, unpack to 10 to 17 times their size; blanks to 1,000
MAX_RATIO = 100
_LARGE = 2**23  # bytes from which on a part's ratio counts
MAX_CELLS = 8_000_000  # of one sheet, from its first cell to its last: 200,000 rows of 40 columns; 1.7 GB
MAX_PARTS = 10_000
_CHUNK = 2**20
_OVERLAP = 300  # bytes; a reference that lies across two chunks is found in the second
# Only cells with something in them count: what was merely coloured closes itself.
_TAG = re.compile(rb"<(?:\w+:)?(c|row)\b([^>]*)>")
_REFERENCE = re.compile(rb"""\br\s*=\s*["']\s*([A-Za-z]*)(\d*)""")
_SHEET = re.compile(r"xl/(?:\w+/)*sheet[^/]*\.xml", re.IGNORECASE)
_BROKEN = (
    *(zipfile.BadZipFile, zlib.error, KeyError, NotImplementedError, RuntimeError, EOFError, OSError),
    UnicodeDecodeError,  # names of parts that aren't what their flag says
)


def look_through(place: Path) -> str:
    """Read every part of a workbook once, a piece at a time.

    Parameters
    ----------
    place : Path

    Returns
    -------
    str
        The part xl/workbook.xml.

    Raises
    ------
    InputError
        Not a workbook, damaged, or too large: nothing was laid out yet.
    """
    try:
        with zipfile.ZipFile(place) as parts:
            infos = parts.infolist()
            if len(infos) > MAX_PARTS or sum(info.file_size for info in infos) > MAX_UNPACKED:
                raise InputError(
                    f"{place}: unpacks to more than {MAX_UNPACKED // 2**20} MB; split it by year"
                )
            for info in infos:
                if info.file_size > max(_LARGE, MAX_RATIO * info.compress_size):
                    raise InputError(
                        f"{place}: {info.filename} unpacks to {info.file_size // 2**20} MB, more than "
                        f"{MAX_RATIO} times its size, which no sheet does; save the log as CSV"
                    )
            if "xl/workbook.xml" not in parts.namelist():
                raise KeyError("xl/workbook.xml")
            for info in infos:
                # a part that unpacks to more than it says fails its checksum where it should have ended
                _one_part(place, parts, info)
            return parts.read("xl/workbook.xml").decode("utf-8", errors="replace")
    except _BROKEN as error:
        if isinstance(error, OSError) and not isinstance(error, zipfile.BadZipFile) and error.errno:
            raise
        raise InputError(
            f"{place}: not an .xlsx workbook, whatever its name says, or a damaged one; save it as .xlsx, or "
            "as CSV UTF-8"
        ) from None


def _one_part(place: Path, parts: zipfile.ZipFile, info: zipfile.ZipInfo) -> None:
    is_sheet = _SHEET.fullmatch(info.filename) is not None
    rows = columns = numbered = 0
    kept = b""
    with parts.open(info) as stream:
        while chunk := stream.read(_CHUNK):
            if not is_sheet:
                continue
            for kind, tags in _by_kind(kept + chunk):
                found = [_REFERENCE.search(tag) for tag in tags]
                lines = max((int(at[2] or 0) for at in found if at), default=0)
                if kind == b"row":
                    numbered = max(numbered, lines)
                    continue
                letters = {at[1] for at in found if at}
                columns = max(columns, *map(_number, letters), 0)
                # a cell that doesn't say where it stands is where its row says
                rows = max(rows, lines if all(at and at[2] for at in found) else max(lines, numbered))
            kept = chunk[-_OVERLAP:]
            if rows * columns > MAX_CELLS:
                raise InputError(
                    f"{place}: a sheet reaches to row {rows:,} and column {columns:,}; at most {MAX_CELLS:,} "
                    "cells of a sheet can be read; take away what stands far out, or save the log as CSV"
                )


def _by_kind(text: bytes) -> list[tuple[bytes, set[bytes]]]:
    """Attributes of the rows and of the cells with something in them, each kind once."""
    kinds: dict[bytes, set[bytes]] = {b"row": set(), b"c": set()}
    for kind, tag in _TAG.findall(text):
        if not tag.endswith(b"/"):
            kinds[kind].add(tag)
    return list(kinds.items())


def _number(letters: bytes) -> int:
    number = 0
    for letter in letters.upper():
        number = 26 * number + letter - ord("A") + 1
    return number
