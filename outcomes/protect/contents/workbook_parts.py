"""The parts of a workbook beside its cells: comments, names, properties, formulas, drawings, caches."""

from __future__ import annotations

import posixpath
import re
import zipfile
from collections.abc import Iterator
from html import unescape
from pathlib import Path

from outcomes.errors import InputError
from outcomes.protect.contents.pieces import Piece, Pieces, Unseen

__all__ = ["pieces_of_parts"]

_SHEET_OF_CELLS = re.compile(r"xl/worksheets/[^/]+\.xml")
# what a workbook looks like, and how it's put together
_NO_TEXT = re.compile(
    r"\[Content_Types\]\.xml|(?:.*/)?_rels/\.rels|xl/styles\.xml|xl/theme/.*|xl/calcChain\.xml|"
    r"xl/metadata\.xml|.*/printerSettings\d*\.bin|.*/$"
)
_PICTURE = re.compile(r".*\.(?:png|jpe?g|gif|emf|wmf|bmp|tiff?|webp)", re.IGNORECASE)
_MARKUP = re.compile(r".*\.(?:xml|rels|vml|svg)", re.IGNORECASE)
_CELLS = re.compile(r"<(?:\w+:)?sheetData>.*?</(?:\w+:)?sheetData>", re.DOTALL)
_FORMULA_OF_CELL = re.compile(
    r'<(?:\w+:)?c\s[^>]*?\br="([A-Z]+\d+)"[^>]*>(?:(?!</(?:\w+:)?c>).)*?<(?:\w+:)?f\b[^>]*>([^<]+)<',
    re.DOTALL,
)
_STRING = re.compile(r"<(?:\w+:)?si>(.*?)</(?:\w+:)?si>", re.DOTALL)
_RUN = re.compile(r"<(?:\w+:)?t(?:\s[^>]*)?>([^<]*)<")
_AUTHOR = re.compile(r"<(?:\w+:)?(?:creator|lastModifiedBy)[^>]*>([^<]+)<")
_QUOTED = re.compile(r'"((?:[^"]|"")*)"')
_ITEM = re.compile(
    r"<(?P<close>/?)(?P<tag>[\w:.-]+)(?P<attributes>(?:[^<>\"']|\"[^\"]*\"|'[^']*')*)>|(?P<text>[^<]+)"
)
_ATTRIBUTE = re.compile(r"([\w:.-]+)\s*=\s*(?:\"([^\"]*)\"|'([^']*)')")
# references to cells, counts, sizes and colours, links between parts
_NO_TEXT_IN = frozenset(
    ("r", "ref", "sqref", "s", "t", "spans", "activeCell", "topLeftCell", "cell", "count", "uniqueCount",
     "id", "Id", "uid", "rId", "type", "Type", "Target", "TargetMode", "ContentType", "style", "path",
     "points", "coordsize", "adj", "fillcolor", "strokecolor", "rgb", "sheetId", "shapeId", "authorId",
     "guid", "idx", "ptCount", "formatCode", "numFmtId", "from", "to", "val", "min", "max", "dx", "dy",
     "x", "y", "cx", "cy", "w", "h", "x14ac:dyDescent", "customWidth", "width", "ht")
)  # fmt: skip
_FORMULAS = frozenset(
    ("f", "formula", "formula1", "formula2", "definedName", "sqref")
)  # fmt: skip
_BANDS = re.compile(r"(?:odd|even|first)(?:Header|Footer)")
# marks in headers and footers: parts of the line, font, size, colour, style, what is filled in when printed
_BAND_MARK = re.compile(
    r'&(?:(?P<apart>[LCRPNDTZFAG])|(?P<also>&)|"[^"]*"|\d{1,3}|K(?:[0-9A-Fa-f]{6}|\d\d[+-]\d{3})|[BIUESXYOH])'
)
_SAVED = frozenset(
    ("created", "modified", "lastPrinted")
)  # fmt: skip  # when a workbook was saved is no visit's day


def pieces_of_parts(parts: zipfile.ZipFile, place: Path, unseen: Unseen, texts: set[str]) -> Pieces:
    """Pieces of everything in a workbook but its cells.

    Parameters
    ----------
    parts : ZipFile
        The open workbook.
    place : Path
        Name shown in refusals.
    unseen : Unseen
        Counts pictures; its notes name the authors.
    texts : set of str
        Texts of all cells, which need no second look.

    Yields
    ------
    Piece

    Raises
    ------
    InputError
        It holds another document, or a program, that isn't text.
    """
    sheets = _sheet_names(parts)
    for name in parts.namelist():
        if _NO_TEXT.fullmatch(name):
            continue
        if _PICTURE.fullmatch(name):
            unseen.pictures += 1
            continue
        if not _MARKUP.fullmatch(name):
            raise InputError(
                f"{place}: holds {posixpath.basename(name)}, which can't be looked into; remove it, or save "
                "the sheets in a new workbook"
            )
        text = parts.read(name).decode("utf-8-sig", errors="replace")
        owner = sheets.get(name, "")
        if name == "xl/sharedStrings.xml":
            yield from _unused(text, texts)
            continue
        if _SHEET_OF_CELLS.fullmatch(name):
            yield from _formulas(text, owner)
            text = _CELLS.sub("", text)
        if name == "docProps/core.xml":
            unseen.notes += [f'names "{who}" as its author' for who in dict.fromkeys(_AUTHOR.findall(text))]
        yield from _markup(text, _shown(name, owner), owner)


def _unused(text: str, texts: set[str]) -> Pieces:
    """Texts that were left behind when their cells were emptied."""
    for item in _STRING.findall(text):
        content = unescape("".join(_RUN.findall(item)))
        if content.strip() not in texts:
            yield Piece(content, "texts that no cell shows")


def _formulas(text: str, sheet: str) -> Pieces:
    """Texts in the formulas of cells: what a formula gives was read with the cells."""
    if "<f" not in text and ":f" not in text:
        return
    for cell, formula in _FORMULA_OF_CELL.findall(text):
        for quoted in _QUOTED.findall(unescape(formula)):
            yield Piece(quoted, f"{sheet}!{cell}, formula")


def _markup(text: str, place: str, sheet: str) -> Pieces:
    """Texts and attributes of one part; of a comment with the cell that it belongs to."""
    tags: list[str] = []
    spot = place
    for item in _ITEM.finditer(text):
        if item["text"] is not None:
            content, tag = unescape(item["text"]), tags[-1] if tags else ""
            if not content.strip() or tag in _SAVED:
                continue
            if tag in _FORMULAS:
                yield from (Piece(quoted, spot) for quoted in _QUOTED.findall(content))
            elif _BANDS.fullmatch(tag):
                yield Piece(_BAND_MARK.sub(_without_mark, content), spot)
            else:
                yield Piece(content, spot)
            continue
        tag, attributes = item["tag"].rpartition(":")[2], item["attributes"]
        if item["close"]:
            if tags:
                tags.pop()
            continue
        told = [(key, unescape(a or b)) for key, a, b in _ATTRIBUTE.findall(attributes)]
        if tag in ("comment", "threadedComment"):
            cell = dict(told).get("ref", "")
            spot = f"{sheet}!{cell}, comment" if sheet else f"{cell}, comment"
        for key, value in told:
            link = (key == "Target" and "://" in value) or value.startswith("mailto:")
            if (key not in _NO_TEXT_IN or link) and not key.startswith("xmlns"):
                yield Piece(value, spot)
        if not attributes.endswith("/"):
            tags.append(tag)


def _without_mark(mark: re.Match[str]) -> str:
    """Marks of style part no word, those of a place do."""
    return " " if mark["apart"] else "&" if mark["also"] else ""


def _shown(name: str, owner: str) -> str:
    if name.startswith("docProps/"):
        return "document properties"
    if name == "xl/workbook.xml":
        return "names of the workbook"
    return f"{owner}, {posixpath.basename(name)}" if owner else name


def _sheet_names(parts: zipfile.ZipFile) -> dict[str, str]:
    """Part -> the sheet that it is, or belongs to."""
    ids = dict(_relations(parts, "xl/workbook.xml"))
    head = parts.read("xl/workbook.xml").decode("utf-8-sig", errors="replace")
    sheets: dict[str, str] = {}
    for tag in re.findall(r"<(?:\w+:)?sheet\s[^>]*>", head):
        about = {key: unescape(a or b) for key, a, b in _ATTRIBUTE.findall(tag)}
        part = ids.get(next((value for key, value in about.items() if key.endswith(":id")), ""), "")
        sheets[part] = about.get("name", "")
    for part, name in list(sheets.items()):
        for _, target in _relations(parts, part):
            sheets.setdefault(target, name)
            sheets.setdefault(
                posixpath.join(posixpath.dirname(part), "_rels", posixpath.basename(part) + ".rels"), name
            )
    return sheets


def _relations(parts: zipfile.ZipFile, part: str) -> Iterator[tuple[str, str]]:
    """Id and target of what a part refers to."""
    folder, own = posixpath.split(part)
    links = posixpath.join(folder, "_rels", f"{own}.rels")
    text = parts.read(links).decode("utf-8-sig", errors="replace") if links in parts.namelist() else ""
    for tag in re.findall(r"<(?:\w+:)?Relationship\s[^>]*>", text):
        about = {key: unescape(a or b) for key, a, b in _ATTRIBUTE.findall(tag)}
        target = about.get("Target", "")
        whole = target[1:] if target.startswith("/") else posixpath.normpath(posixpath.join(folder, target))
        yield about.get("Id", ""), whole
