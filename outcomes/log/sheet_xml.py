"""What the XML of a sheet says of its formulas, and the reader of workbooks doesn't pass on.

Pieces of text are looked for; nothing is parsed, so that no entity of the XML is ever put in its place.
"""

from __future__ import annotations

import re
import zipfile
import zlib
from html import unescape
from pathlib import Path

from outcomes.errors import InputError

__all__ = ["formula_cells"]

# A cell of a sheet's XML: its attributes, and what stands in it. Cells without content have no closing tag.
_CELL = re.compile(rb"<(?:\w+:)?c(\s[^<>]*[^<>/])>(.*?)</(?:\w+:)?c>", re.DOTALL)
_ERROR_TYPE = re.compile(rb"""\st=["']e["']""")
_TEXT_TYPE = re.compile(rb"""\st=["']str["']""")
_REFERENCE = re.compile(rb"""\sr=["']([A-Z]{1,3})(\d{1,7})["']""")
_VALUE = re.compile(rb"<(?:\w+:)?v>([^<]*)<")
_FORMULA = rb"<(?:\w+:)?f(?:\s[^<>]*)?(?:/>|>[^<]*</(?:\w+:)?f>)"
_NOTHING = rb"(?:<(?:\w+:)?v(?:\s[^<>]*)?(?:/>|>\s*</(?:\w+:)?v>))?"
_NO_VALUE = re.compile(
    rb"<(?:\w+:)?c(\s[^<>]*[^<>/])>\s*" + _FORMULA + rb"\s*" + _NOTHING + rb"\s*</(?:\w+:)?c>"
)


def formula_cells(place: Path, sheet: str) -> list[tuple[int, int, str]]:
    """Cells whose formula failed, and those whose formula has no stored value.

    Parameters
    ----------
    place : Path
        A workbook.
    sheet : str
        Name of the sheet.

    Returns
    -------
    list of (int, int, str)
        Row and column, from 0, and the error as a spreadsheet shows it; empty where there is no value, as a
        library leaves it. A formula that gave empty text has a value.

    Raises
    ------
    InputError
        A damaged workbook.
    """
    try:
        with zipfile.ZipFile(place) as parts:
            part = _sheet_part(parts, sheet)
            data = parts.read(part) if part in parts.namelist() else b""
    except (zipfile.BadZipFile, zlib.error, NotImplementedError, RuntimeError, EOFError):
        raise InputError(f"{place}: damaged workbook; save it again as .xlsx") from None
    found = []
    if _ERROR_TYPE.search(data):
        for cell in _CELL.finditer(data):
            at, text = _place(cell[1]), _VALUE.search(cell[2])
            if at and text and text[1] and _ERROR_TYPE.search(cell[1]):
                found.append((*at, text[1].decode("utf-8", errors="replace")))
    for cell in _NO_VALUE.finditer(data):
        at = _place(cell[1])
        if at and not _TEXT_TYPE.search(cell[1]):
            found.append((*at, ""))
    return found


def _place(attributes: bytes) -> tuple[int, int] | None:
    at = _REFERENCE.search(attributes)
    if at is None:
        return None
    column = 0
    for letter in at[1]:
        column = 26 * column + letter - ord("A") + 1
    return int(at[2]) - 1, column - 1


def _sheet_part(parts: zipfile.ZipFile, sheet: str) -> str:
    """Name of the part that holds a sheet; empty where the workbook doesn't say."""
    tags = re.findall(r"<(?:\w+:)?sheet\s[^>]*>", parts.read("xl/workbook.xml").decode("utf-8", "replace"))
    own = next((tag for tag in tags if unescape(_attribute(tag, "name")) == sheet), "")
    links = "xl/_rels/workbook.xml.rels"
    text = parts.read(links).decode("utf-8", "replace") if links in parts.namelist() else ""
    for tag in re.findall(r"<(?:\w+:)?Relationship\s[^>]*>", text):
        if _attribute(tag, "Id") == _attribute(own, r"\w+:id"):
            target = _attribute(tag, "Target")
            return target[1:] if target.startswith("/") else f"xl/{target}"
    return ""


def _attribute(tag: str, name: str) -> str:
    found = re.search(rf"""\s{name}=(["'])(.*?)\1""", tag)
    return found[2] if found else ""
