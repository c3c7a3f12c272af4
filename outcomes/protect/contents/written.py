"""Tables written into text with marks between their cells: Markdown, frames of lines, LaTeX."""

from __future__ import annotations

import re

from outcomes.protect.contents.pieces import Piece, Pieces
from outcomes.protect.contents.printed import pieces_of_printed_tables
from outcomes.protect.private.codes import heading_of

__all__ = ["pieces_of_latex_tables", "pieces_of_written_tables"]

# the line below the headings in Markdown, and those of a frame
_RULE = re.compile(r"\s*[|+]?(?:\s*:?[-=]+:?\s*[|+])+(?:\s*:?[-=]+:?\s*)?")
_FRAME = str.maketrans(
    dict.fromkeys("│┃┆║", "|")
    | dict.fromkeys("─━═╌", "-")
    | dict.fromkeys("┌┬┐├┼┤└┴┘╞╪╡╔╦╗╠╬╣╚╩╝╭╮╰╯┏┳┓┡╇┩", "+")
)
_LATEX_ROW = re.compile(r"(?P<row>[^\n]*?)\\\\")
_COMMAND = re.compile(r"\\[a-zA-Z]+\*?(?:\[[^\]]*\])?(?:\{[^{}]*\})*")
_LAST_GROUP = re.compile(r"\{([^{}]*)\}$")


def pieces_of_written_tables(text: str, place: str = "") -> Pieces:
    """Cells of tables in a text, however it parts them, under headings that say what they are.

    Parameters
    ----------
    text : str
    place : str
        What its lines are lines of, where that isn't the file.

    Yields
    ------
    Piece
        Marked as looked at again.
    """
    yield from _of_framed(text, place)
    yield from pieces_of_latex_tables(text, place)
    yield from pieces_of_printed_tables(text, place)


def _of_framed(text: str, place: str) -> Pieces:
    """Cells of Markdown, and of tables with lines drawn around their cells."""
    if not text.isascii():
        text = text.translate(_FRAME)
    if "|" not in text or ("--" not in text and "==" not in text):
        return
    heads: list[str] = []
    before = ""
    for number, line in enumerate(text.split("\n"), 1):
        if _RULE.fullmatch(line):
            above = _cells(before) if "|" in before else []
            # a frame has a line below each row: only the first one tells headings
            heads = above if not heads or any(map(heading_of, above)) else heads
        elif "|" in line:
            for head, cell in zip(heads, _cells(line), strict=False):
                if cell and heading_of(head):
                    yield Piece(cell, place, number, line.find(cell) + 1, head, again=True)
        else:
            heads = []
        before = line


def _cells(line: str) -> list[str]:
    return [cell.strip(" *`") for cell in line.strip().strip("|").split("|")]


def pieces_of_latex_tables(text: str, place: str = "") -> Pieces:
    r"""Cells of tables in LaTeX, whose cells & parts and whose rows \\ ends.

    Parameters
    ----------
    text : str
    place : str
        What its lines are lines of, where that isn't the file.

    Yields
    ------
    Piece
        Marked as looked at again.
    """
    if "&" not in text or "\\\\" not in text:
        return
    heads: list[str] = []
    has_rows = False
    number, behind = 1, 0
    for found in _LATEX_ROW.finditer(text):
        number += text.count("\n", behind, found.start())
        behind = found.start()
        if "&" not in found["row"]:
            continue
        cells = [_shown(cell) for cell in re.split(r"(?<!\\)&", found["row"])]
        known = [cell if heading_of(cell) else "" for cell in cells]
        if any(known):
            # names of an index stand in a row of their own below the other headings
            merge = len(heads) == len(known) and not has_rows
            heads = [a or b for a, b in zip(known, heads, strict=True)] if merge else known
            has_rows = False
            continue
        for head, cell in zip(heads, cells, strict=False):
            if head and cell:
                has_rows = True
                yield Piece(cell, place, number, 0, head, again=True)


def _shown(cell: str) -> str:
    r"""What a reader sees of a cell: \textbf{client} is client, \multirow{2}{*}{17} is 17."""

    def content(command: re.Match[str]) -> str:
        last = _LAST_GROUP.search(command[0])
        return last[1] if last and not command[0].startswith("\\begin") else " "

    for _ in range(3):  # commands within commands
        cell = _COMMAND.sub(content, cell)
    return cell.replace("\\_", "_").replace("\\", "").strip(" {}$")
