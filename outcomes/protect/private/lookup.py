"""Where codes stand in a text: everywhere those that tell themselves, the others where a word says so."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import replace
from typing import NamedTuple

from outcomes.protect.private.codes import Code, headings_of_codes
from outcomes.protect.private.said import is_said, said_in
from outcomes.protect.private.tokens import TOKEN

__all__ = ["CodeIndex", "Standing"]

_LOOSE = re.compile(r"\s*[_.,/'-]?\s*")  # Mrs K 12 is also Mrs_K_12 and mrs-k-12
_MORE_DIGITS = re.compile(r"\.\d")
_ONLY_ZEROS = re.compile(r"\.0+(?!\d)")
_FEW = 4  # letters and digits of a code that may be written with other marks between its parts
_NEXT_OF_LIST = re.compile(r"""["')\]]*\s{0,2}(?:,|;|/|&|\+|and\s|or\s)\s{0,2}["'(\[#]*(?=[^\W_])""")
_AFTER_NUMBER = re.compile(r"\.\d|\s?%")
_WHOLE = re.compile(r"\+?0*(\d+)(?:[.,]0+)?")
_WINDOW = 200  # characters in which the next part of a code, or the next code of a list, begins and ends


class Standing(NamedTuple):
    """A code in a text, from start to end, and the columns whose code it is."""

    start: int
    end: int
    columns: tuple[str, ...]


def _phrase(headings: Iterable[str]) -> re.Pattern[str]:
    """A word for a code column with what may stand between it and a code: client 12, stylist[A], visit: 7."""
    names = sorted((re.escape(name).replace("_", r"[\s_-]?") for name in headings), key=len, reverse=True)
    return re.compile(
        rf"(?<![^\W_])(?P<name>{'|'.join(names)})(?P<many>s?)"
        r"""(?:(?=\d)|(?![^\W_])["'\])]{0,3}[ \t]{0,2}(?:(?:code|id|no|nr|number)\.?[ \t]{0,2})?"""
        r"""[:=\#_-]?[ \t]{0,2}["'(\[\#]{0,3}(?=[^\W_]))""",
        re.IGNORECASE,
    )


class CodeIndex:
    """Codes by the first of their parts.

    Parameters
    ----------
    codes : iterable of Code
    may_show : iterable of str
        Columns whose codes aren't looked for.
    """

    def __init__(self, codes: Iterable[Code], may_show: Iterable[str] = ()) -> None:
        spared = set(may_show)
        self._anywhere: dict[str, list[Code]] = {}
        self._named: dict[str, dict[str, list[Code]]] = {}
        self._in_programs: dict[str, dict[str, list[Code]]] = {}
        # codes that are numbers, which spreadsheets and programs write without, or with more, leading zeros
        self._numbers: dict[str, set[str]] = {}
        for code in codes:
            left = tuple(name for name in code.columns if name not in spared)
            if not left or not code.runs:
                continue
            code = replace(code, columns=left)
            if code.text.isdecimal() and (not code.is_telling or code.text.startswith("0")):
                for name in left:
                    self._numbers.setdefault(name, set()).add(code.text.lstrip("0") or "0")
            if code.is_telling:
                self._anywhere.setdefault(code.runs[0], []).append(code)
            for table, goes in ((self._named, not code.is_telling), (self._in_programs, code.is_short)):
                if goes or not code.is_telling:
                    for name in left:
                        table.setdefault(name, {}).setdefault(code.runs[0], []).append(code)
        for parts in (self._anywhere, *self._named.values(), *self._in_programs.values()):
            for some in parts.values():
                some.sort(key=lambda code: -len(code.runs))
        own = {heading: name for heading, name in headings_of_codes().items() if name in self._in_programs}
        self._column = {heading.replace("_", ""): name for heading, name in own.items()}
        self._phrase = _phrase(own) if own else None
        self._phrase_starts = {heading.partition("_")[0] for heading in own}

    def anywhere(self, text: str, words: set[str], *, program: bool = False) -> Iterator[Standing]:
        """Codes that can be told from ordinary text.

        Parameters
        ----------
        text : str
        words : set of str
            The words of the text in lower case.
        program : bool
            Whether the text is a program's, in which short codes count only as they are spelled, and those of
            two characters only within strings and comments.

        Yields
        ------
        Standing
        """
        if self._anywhere.keys().isdisjoint(words):
            return
        found = {token: self._anywhere.get(token.casefold()) for token in set(TOKEN.findall(text))}
        hot = {token: codes for token, codes in found.items() if codes}
        said: list[tuple[int, int]] | None = None
        behind = 0  # where the last code ended: a shorter one within it isn't told again
        for token in TOKEN.finditer(text):
            start = token.start()
            for code in hot.get(token[0], ()):
                end = _fits(code, text, token.end())
                if end is None or start < behind or not _is_whole(code, text, start, end):
                    continue
                spelled = text[start:end]
                if code.is_short and program:
                    if spelled != code.text:
                        continue
                    if len(code.text) == 2:
                        said = said_in(text) if said is None else said
                        if not is_said(text, start, end, said):
                            continue
                elif len(code.text) < 3 and code.text.isalpha() and not _is_spelled(spelled, code):
                    continue
                behind = end
                yield Standing(start, end, code.columns)
                break

    def behind_words(self, text: str, words: set[str], *, program: bool = False) -> Iterator[Standing]:
        """Codes that a word before them tells: "client 12", "stylist: A", "clients 12 and 15".

        Parameters
        ----------
        text : str
        words : set of str
            The words of the text in lower case.
        program : bool
            Whether the text is a program's.

        Yields
        ------
        Standing
        """
        table = self._in_programs if program else self._named
        if self._phrase is None or not table or not self._mentions(words):
            return
        for found in self._phrase.finditer(text):
            key = re.sub(r"[\s_-]", "", found["name"]).casefold()
            column = self._column[key]
            codes = table.get(column)
            if codes is None:
                continue
            listed = [Standing(*span, (column,)) for span in self._listed(codes, text, found.end())]
            # "visits 62" is a number of visits; "clients 12 and 15" are two clients
            if len(listed) > 1 or not found["many"]:
                yield from listed

    def _mentions(self, words: set[str]) -> bool:
        starts = self._phrase_starts
        return any(start in words or start + "s" in words for start in starts) or any(
            word.startswith(start) for word in words for start in starts
        )

    def _listed(self, codes: dict[str, list[Code]], text: str, at: int) -> Iterator[tuple[int, int]]:
        """Where a code, or several in a row, stand from a place on."""
        stop = min(len(text), at + _WINDOW)
        while (token := TOKEN.match(text, at, stop)) is not None:
            for code in codes.get(token[0].casefold(), ()):
                end = _fits(code, text, token.end())
                if end is None or not _is_spelled(text[at:end], code) or _AFTER_NUMBER.match(text, end):
                    continue
                yield at, end
                break
            else:
                return
            following = _NEXT_OF_LIST.match(text, end)
            if following is None:
                return
            at = following.end()

    def has_ordinary(self, column: str) -> bool:
        """Whether some codes of a column are told by its heading alone.

        Parameters
        ----------
        column : str

        Returns
        -------
        bool
        """
        return column in self._named or column in self._numbers

    def under(self, text: str, column: str) -> Iterator[Standing]:
        """Codes of one column, of those that only a heading tells, in a text that stands under it.

        Parameters
        ----------
        text : str
            A cell, or a value.
        column : str

        Yields
        ------
        Standing
        """
        codes = self._named.get(column, {})
        tidy = text.strip()
        if (number := _WHOLE.fullmatch(tidy)) and number[1] in self._numbers.get(column, ()):
            start = text.index(tidy)
            yield Standing(start, start + len(tidy), (column,))
            return
        if not codes:
            return
        if re.fullmatch(r"[+-]?\d+[.,]\d+", tidy):  # 0.14 is no code
            return
        for token in TOKEN.finditer(text):
            for code in codes.get(token[0].casefold(), ()):
                end = _fits(code, text, token.end())
                if end is not None and _is_whole(code, text, token.start(), end):
                    yield Standing(token.start(), end, (column,))
                    break


def _fits(code: Code, text: str, end: int) -> int | None:
    """Where a code ends whose first part ends at a place; None where the others don't follow."""
    if not code.gaps:
        return end
    loose = sum(map(len, code.runs)) >= _FEW and not all(map(str.isdigit, code.runs))
    for gap, run in zip(code.gaps, code.runs[1:], strict=True):
        token = TOKEN.search(text, end, end + _WINDOW)
        if token is None or token[0].casefold() != run:
            return None
        found = text[end : token.start()]
        alike = " ".join(found.split()) == " ".join(gap.split()) and found.isspace() == gap.isspace()
        if not alike and not (loose and _LOOSE.fullmatch(found)):
            return None
        end = token.end()
    return end


def _is_spelled(spelled: str, code: Code) -> bool:
    """May is a stylist, may isn't."""
    return not code.text.isalpha() or spelled == code.text or spelled[0].isupper()


def _is_whole(code: Code, text: str, start: int, end: int) -> bool:
    """Whether the digits of a code are no part of a decimal: L7 in "L7.5", 104523 in 0.104523."""
    digits = code.text.isdigit()
    if digits and start > 1 and text[start - 1] == "." and text[start - 2].isdigit():
        return False
    if not (digits or code.is_short) or not _MORE_DIGITS.match(text, end):
        return True
    return digits and _ONLY_ZEROS.match(text, end) is not None
