"""Workbooks as pieces: every cell of every sheet, and what else is in the file."""

from __future__ import annotations

import zipfile
import zlib
from pathlib import Path

from outcomes.errors import InputError
from outcomes.log.unpacked import look_through
from outcomes.log.workbook import cell_text
from outcomes.protect.contents.pieces import Piece, Pieces, Unseen
from outcomes.protect.contents.workbook_parts import pieces_of_parts
from outcomes.protect.private.codes import heading_of

__all__ = ["is_workbook", "pieces_of_workbook"]

HEADER_ROWS = 20


def is_workbook(place: Path) -> bool:
    """Whether a file is an .xlsx workbook, whatever its name.

    Parameters
    ----------
    place : Path

    Returns
    -------
    bool
    """
    try:
        with zipfile.ZipFile(place) as parts:
            return "xl/workbook.xml" in parts.namelist()
    except (zipfile.BadZipFile, OSError, ValueError, NotImplementedError):
        return False


def pieces_of_workbook(place: Path, unseen: Unseen) -> Pieces:
    """Pieces of a workbook.

    Parameters
    ----------
    place : Path
        An .xlsx or .xlsm file.
    unseen : Unseen
        Counts the pictures in it.

    Yields
    ------
    Piece

    Raises
    ------
    InputError
        It's damaged, protected by a password, unpacks to too much, or holds another document.
    """
    look_through(place)
    try:
        with zipfile.ZipFile(place) as parts:
            texts: set[str] = set()
            for piece in _cells(place):
                texts.add(piece.text.strip())
                yield piece
            yield from pieces_of_parts(parts, place, unseen, texts)
    except (zipfile.BadZipFile, zlib.error, KeyError, NotImplementedError, RuntimeError, EOFError, OSError):
        raise InputError(f"{place}: damaged workbook; save it again as .xlsx") from None


def _cells(place: Path) -> Pieces:
    from python_calamine import CalamineError, CalamineWorkbook, PasswordError, SheetTypeEnum

    try:
        book = CalamineWorkbook.from_path(str(place))
        for about in book.sheets_metadata:
            yield Piece(about.name, "name of a sheet", is_name=True)
            if about.typ == SheetTypeEnum.WorkSheet:
                grid = book.get_sheet_by_name(about.name).to_python(skip_empty_area=False)
                texts = [[cell_text(value) for value in row] for row in grid]
                numbers = [[isinstance(value, float) for value in row] for row in grid]
                yield from _sheet(about.name, texts, numbers)
    except PasswordError:
        raise InputError(f"{place}: protected by a password; save a copy without one") from None
    except CalamineError as error:
        told = " ".join(str(error).split())
        raise InputError(f"{place}: damaged workbook ({told}); save it again as .xlsx") from None


def _sheet(name: str, texts: list[list[str]], numbers: list[list[bool]]) -> Pieces:
    known = [sum(1 for cell in row if heading_of(cell)) for row in texts[:HEADER_ROWS]]
    at = known.index(max(known)) if any(known) else -1
    heads = texts[at] if at >= 0 else []
    for i, row in enumerate(texts):
        for j, text in enumerate(row):
            if not text:
                continue
            under = heads[j] if i > at >= 0 and heading_of(heads[j]) else ""
            # decimals and small numbers are nothing but under a heading
            if not numbers[i][j] or under or (len(text) >= 6 and text.isdigit()):
                yield Piece(text, f"{name}!{_letters(j)}{i + 1}", under=under)


def _letters(column: int) -> str:
    told, rest = "", column + 1
    while rest:
        rest, digit = divmod(rest - 1, 26)
        told = chr(ord("A") + digit) + told
    return told
