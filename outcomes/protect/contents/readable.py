"""A file, whatever its kind, as pieces of text with their places; what can't be looked into is refused."""

from __future__ import annotations

import os
import re
import tomllib
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import NamedTuple

from outcomes.errors import InputError
from outcomes.log.files import MAX_BYTES
from outcomes.protect.contents.encoded import without_data
from outcomes.protect.contents.markup import (
    pieces_of_data,
    pieces_of_kept_values,
    pieces_of_markup,
)
from outcomes.protect.contents.notebooks import is_notebook, pieces_of_notebook
from outcomes.protect.contents.pieces import Piece, Pieces, Unseen, parse_json, pieces_of_values
from outcomes.protect.contents.printed import pieces_of_printed_tables
from outcomes.protect.contents.programs import pieces_of_program
from outcomes.protect.contents.sheets import is_workbook, pieces_of_workbook
from outcomes.protect.contents.tables import pieces_of_delimited, pieces_of_parquet
from outcomes.protect.contents.written import pieces_of_latex_tables, pieces_of_written_tables
from outcomes.protect.private.tokens import unescaped

__all__ = ["Leaving", "files_of", "pieces_of_file"]

_MARKUP = (".html", ".htm", ".xhtml", ".svg", ".xml", ".vml", ".rss")
_VALUES = (".json", ".ipynb", ".geojson", ".jsonl", ".ndjson", ".webmanifest", ".map")
_TABLES = (".csv", ".tsv", ".txt", ".tab", ".dat")
_PROGRAMS = (".py", ".js", ".mjs", ".ts", ".css", ".r", ".sql", ".sh", ".jl")
_PICTURES = (
    b"\x89PNG",
    b"\xff\xd8\xff",
    b"GIF8",
    b"RIFF",
    b"II*\x00",
    b"MM\x00*",
    b"BM",
    b"\x00\x00\x01\x00",
)
_MARKS = ((b"\xef\xbb\xbf", "utf-8-sig"), (b"\xff\xfe", "utf-16"), (b"\xfe\xff", "utf-16"))
_CONTROL = re.compile(rb"[\x00-\x08\x0e-\x1a\x1c-\x1f\x7f]")
_LINE_END = re.compile(r"\r\n?")


class Leaving(NamedTuple):
    """A file that is to leave the salon: where it is, its name as shown, and as whoever gets it sees it."""

    path: Path
    name: str
    own_name: str


def files_of(path: str | os.PathLike[str]) -> list[Leaving]:
    """The files that a path names: of a folder all in it, hidden ones too.

    Parameters
    ----------
    path : path

    Returns
    -------
    list of Leaving
        In the order of their names.

    Raises
    ------
    InputError
        Nothing there, or no permission.
    """
    place = Path(path)
    if place.is_file():
        return [Leaving(place, str(place), place.name)]
    if not place.is_dir():
        state = "no file or folder" if not place.exists() else "neither a file nor a folder"
        raise InputError(f"{place}: found {state}; look at the path")
    found: list[Leaving] = []

    def refuse(error: OSError) -> None:
        raise InputError(f"{error.filename}: can't be read ({error.strerror}); ask its owner") from None

    for folder, _, names in os.walk(place, onerror=refuse, followlinks=False):
        for path_of_one in (Path(folder, name) for name in names):
            own = path_of_one.relative_to(place.parent if place.name else place)
            found.append(Leaving(path_of_one, str(path_of_one), own.as_posix()))
        links = [entry for entry in os.scandir(folder) if entry.is_symlink() and entry.is_dir()]
        if links:
            raise InputError(f"{links[0].path}: a link to another folder; name that folder by itself")
    return sorted(found, key=lambda one: one.name)


def pieces_of_file(place: Path, unseen: Unseen, wants: Callable[[str], bool] = bool) -> Pieces:
    """Pieces of a file.

    Parameters
    ----------
    place : Path
    unseen : Unseen
        Counts pictures and other data in it.
    wants : callable
        Whether a heading tells of the cells of a table what their text doesn't; by default all may.

    Yields
    ------
    Piece

    Raises
    ------
    InputError
        It can't be read, is too large, damaged, or of a kind that can't be looked into.
    """
    try:
        if not place.is_file():
            raise InputError(f"{place}: neither a file nor a folder; look at the path")
        size = place.stat().st_size
        if size > MAX_BYTES:
            raise InputError(
                f"{place}: {size / 2**20:.0f} MB; up to {MAX_BYTES // 2**20} MB can be looked into; split it"
            )
        with place.open("rb") as file:
            begins = file.read(8)
        if begins.startswith(b"PAR1"):
            yield from pieces_of_parquet(place)
        elif begins.startswith(b"PK") and is_workbook(place):
            yield from pieces_of_workbook(place, unseen)
        else:
            yield from _of_text(place, _decoded(place, place.read_bytes()), unseen, wants)
    except OSError as error:
        raise InputError(f"{place}: can't be read ({error.strerror or error}); ask its owner") from None


def _decoded(place: Path, data: bytes) -> str:
    """Text with line feeds alone; refuses what isn't text."""
    if data.startswith(_PICTURES) or place.suffix.lower() in (".png", ".jpg", ".jpeg"):
        raise InputError(f"{place}: a picture can't be looked into; look at it yourself")
    if data.startswith(b"%PDF"):
        raise InputError(f"{place}: PDF can't be looked into; check what it was made from, such as its page")
    if data.startswith((b"PK", b"\x1f\x8b")):
        raise InputError(f"{place}: a packed file can't be looked into; unpack it, and check what it holds")
    text = None
    for mark, encoding in _MARKS:
        if data.startswith(mark):
            try:
                text = data.decode(encoding)
            except UnicodeDecodeError:
                raise InputError(f"{place}: damaged {encoding} text; save it again as UTF-8") from None
    if text is None:
        if _CONTROL.search(data):
            raise InputError(
                f"{place}: not a text file, so it can't be looked into; check what it was made from"
            )
        try:
            text = data.decode("utf-8")
        except UnicodeDecodeError:
            text = data.decode("cp1252", errors="replace")
    return _LINE_END.sub("\n", text) if "\r" in text else text


def _without_mark(place: Path, data: bytes) -> str:
    """UTF-8, in which some program text holds a control character or two, or else cp1252 without any."""
    strange = len(_CONTROL.findall(data)) if _CONTROL.search(data) else 0
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError:
        text = None
    if b"\x00" in data or (strange and text is None) or strange * 100 > len(data):
        raise InputError(f"{place}: not a text file, so it can't be looked into; check what it was made from")
    return data.decode("cp1252", errors="replace") if text is None else text


def _of_text(place: Path, text: str, unseen: Unseen, wants: Callable[[str], bool]) -> Pieces:
    kind = place.suffix.lower()
    if kind in _VALUES:
        try:
            yield from _of_values(parse_json(text), unseen)
            return
        except ValueError:
            lines = _lines_of_values(text) if kind in (".json", ".jsonl", ".ndjson") else None
        if lines is not None:
            for number, value in lines:
                yield from pieces_of_kept_values(value, f"line {number}:", unseen)
            return
        # cut short, or not JSON at all: as text, with what its escapes stand for
        yield from _of_lines(unescaped(text), unseen)
        return
    if kind in _MARKUP or text.lstrip()[:15].lower().startswith(("<!doctype html", "<html", "<svg", "<?xml")):
        yield from pieces_of_markup(text, unseen)
    elif kind in _PROGRAMS:
        text, inner = without_data(text, unseen)
        yield from pieces_of_program(text, "", 1)
        yield from pieces_of_data(text, inner, unseen, "", 1)
    elif kind == ".toml":
        yield from _of_lines(unescaped(text), unseen)
        yield from _of_toml(text)
    else:
        yield from _of_lines(text, unseen)
        if kind in _TABLES:
            yield from pieces_of_delimited(text, wants, narrowest=2 if kind == ".txt" else 1)
            if kind in (".txt", ".dat"):
                yield from pieces_of_latex_tables(text)
                yield from pieces_of_printed_tables(text)
        else:
            yield from pieces_of_written_tables(text)


def _of_values(value: object, unseen: Unseen) -> Pieces:
    if is_notebook(value):
        yield from pieces_of_notebook(value, unseen)
    else:
        yield from pieces_of_kept_values(value, "", unseen)


def _lines_of_values(text: str) -> list[tuple[int, object]] | None:
    """Values of JSON, one a line; None where a line is something else."""
    try:
        return [(i, parse_json(line)) for i, line in enumerate(text.split("\n"), 1) if line.strip()]
    except ValueError:
        return None


def _of_lines(text: str, unseen: Unseen) -> Iterator[Piece]:
    text, inner = without_data(text, unseen)
    yield Piece(text, "", 1)
    yield from pieces_of_data(text, inner, unseen, "", 1)


def _of_toml(text: str) -> Pieces:
    """What keys say of their values; comments and the rest were looked at as text."""
    try:
        yield from pieces_of_values(tomllib.loads(text), again=True)
    except (tomllib.TOMLDecodeError, RecursionError):
        return
