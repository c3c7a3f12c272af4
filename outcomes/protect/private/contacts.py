"""E-mail addresses and phone numbers in text, told from decimals, dates, lists of numbers and identifiers."""

from __future__ import annotations

import re
from collections.abc import Iterator
from itertools import chain, pairwise

__all__ = ["PHONE_WORDS", "emails_in", "is_phone_cell", "phones_in"]

PHONE_WORDS = frozenset(
    ("tel", "telephone", "phone", "mobile", "mob", "cell", "call", "ring", "whatsapp", "fax", "telefon",
     "mobil", "handy", "téléphone")
)  # fmt: skip
_AT = re.compile(r"@|%40")
_SPELLED_AT = re.compile(r"\s?[(\[]\s?at\s?[)\]]\s?", re.IGNORECASE)
_BEFORE_AT = re.compile(r"[\w.%+'&/=?^`{|}~!#$*-]*[\w+%-]$")
_AFTER_AT = re.compile(
    r"(?:[^\W_](?:[\w-]{0,62}[^\W_])?(?:\.|\s?[(\[]dot[)\]]\s?))+(?P<last>[^\W\d_]{2,24})(?![\w-])"
)
_LONGEST = 64  # characters before the sign; domains have up to 255
# what a sign of this kind has behind it in the name of a file: picture@2x.png
_FILES = frozenset(
    ("png", "jpg", "jpeg", "gif", "svg", "webp", "ico", "css", "js", "mjs", "json", "html", "py")
)  # fmt: skip
_LEADS = " '&/=?^`{|}~!#$*"

# seven digits or more with few marks between each two; what may not stand before it is tested after
_NUMBER = re.compile(r"[+(\d](?:(?<=\()\+)?(?:[ ().\-/]{0,3}\d){6,}(?![\w@])(?!\.\d)(?!%)")
_NO_PHONE = re.compile(r"\d+[.,]\d+|\d{4}-\d\d-\d\d")  # a decimal, or a month as anonymising leaves it
_DOTTED = re.compile(r"0[1-9]\d{1,3}\.\d{6,8}")  # 0170.1234567: no decimal begins so
_IN_PAIRS = re.compile(r"\(?(0[1-9]\d(?: \d\d){4})")  # 017 01 23 45 67
_CUED = re.compile(
    rf"(?<![^\W_])(?:{'|'.join(sorted(PHONE_WORDS, key=len, reverse=True))})(?:\s?(?:no|nr|number|us|me))?"
    r"[\s.:=\"'(]{0,4}(?P<number>\+?\(?\d(?:[ ().\-/]{0,3}\d){5,14})(?!\w)(?!\.\d)",
    re.IGNORECASE,
)
_NEXT = re.compile(r"\s(?=\+|\(?0[1-9]|00[1-9])")  # where another number may begin within a run of them
_MOST_DIGITS = 11  # of most numbers; in a longer run the last group may be something else
_DIGITS = re.compile(r"\d+")
_ALL_DIGITS = ("0123456789", "1234567890")  # an alphabet, in programs and texts about them
_CELL = re.compile(r"\+?[\d ().\-/]+")
_HOUR = re.compile(r"(?:[01]\d|2[0-4])[0-5]\d")


def emails_in(text: str, *, spelled: bool = True) -> Iterator[tuple[int, int]]:
    """Where e-mail addresses stand in a text, those that write the sign as (at) or %40 too.

    Parameters
    ----------
    text : str
    spelled : bool
        Whether (at) is looked for.

    Yields
    ------
    int, int
        Start and end of one address.
    """
    signs = list(_AT.finditer(text)) if "@" in text or "%40" in text else []
    for sign in chain(signs, _SPELLED_AT.finditer(text) if spelled else ()):
        before = _BEFORE_AT.search(text[max(0, sign.start() - _LONGEST) : sign.start()])
        after = _AFTER_AT.match(text, sign.end(), sign.end() + 255)
        if before is None or after is None or not _is_domain_end(after["last"]):
            continue
        name = before[0].lstrip(_LEADS)
        # of https://name@host the address begins behind the last mark that no address has inside
        name = re.split(r"[/=?&]", name)[-1]
        if name:
            yield sign.start() - len(name), after.end()


def _is_domain_end(word: str) -> bool:
    """DE, de and De, but no mixture as in packed data, and no ending of a file's name."""
    return (word.islower() or word.isupper() or word.istitle()) and word.casefold() not in _FILES


def phones_in(text: str, *, cued: bool = True) -> Iterator[tuple[int, int]]:
    """Where phone numbers stand in a text.

    Parameters
    ----------
    text : str
    cued : bool
        Whether numbers behind a word such as "tel" are looked for, which may have any form.

    Yields
    ------
    int, int
        Start and end of one number.
    """
    for found in _NUMBER.finditer(text):
        if (_NO_PHONE.fullmatch(found[0]) and not _DOTTED.fullmatch(found[0])) or not _stands_free(
            text, found.start()
        ):
            continue
        if pairs := _IN_PAIRS.fullmatch(found[0]):
            yield found.start() + pairs.start(1), found.end()
            continue
        for tries in _tries(found[0]):
            for start, end in tries:
                if _is_phone(found[0][start:end]):
                    yield found.start() + start, found.start() + end
                    break
    if cued:
        for found in _CUED.finditer(text):
            if 7 <= _count(found["number"]) <= 15:
                yield found.span("number")


def is_phone_cell(text: str) -> bool:
    """Whether a cell under a heading for phone numbers holds one.

    Parameters
    ----------
    text : str

    Returns
    -------
    bool
    """
    return _CELL.fullmatch(text.strip()) is not None and 6 <= _count(text) <= 15


def _count(text: str) -> int:
    return sum(map(len, _DIGITS.findall(text)))


def _stands_free(text: str, start: int) -> bool:
    """Whether neither a word nor another number runs into a number: x+12345678, 10.1080/00031305."""
    before, further = text[start - 1 : start], text[start - 2 : start - 1] if start > 1 else ""
    if before and (before.isalnum() or before in "_+"):
        return False
    if before in (".", ":", "/", "-") and further.isdigit():
        return False
    return not (before == "." and (not further or further.isspace() or further in "=<>([,;:"))


def _tries(text: str) -> Iterator[list[tuple[int, int]]]:
    """The parts of a run of numbers that may be one each: of "room 12 0151 234 5678 45 min" the second."""
    starts = [0, *(found.end() for found in _NEXT.finditer(text))]
    for start, stop in zip(starts, [*starts[1:], len(text)], strict=True):
        part = text[start:stop].rstrip(" -/.(")
        while part.startswith("(") and part.count("(") > part.count(")"):  # one of the sentence around it
            part, start = part[1:], start + 1
        parts = [(start, start + len(part))]
        if _count(part) > _MOST_DIGITS and part[0] in "+(0":
            for _ in range(2):
                part = part.rpartition(" ")[0].rstrip(" -/.(")
                parts.append((start, start + len(part)))
        yield parts


def _is_phone(text: str) -> bool:
    groups = _DIGITS.findall(text)
    if sum(map(len, groups)) < 7 or text in _ALL_DIGITS:
        return False
    marks = _DIGITS.split(text)[1:-1]
    digits = sum(map(len, groups))
    written = "".join(marks)
    if (
        "." in written
        and not _DOTTED.fullmatch(text)
        and (len(marks) == 1 or set(written) - set(". ()") or written.count(".") < len(marks) - 1)
    ):
        return False  # one dot is a decimal's
    if "/" in written and written.count("/") > 1:
        return False
    if any(len(mark.strip()) > 1 and not set(mark) & set("()") for mark in marks):
        return False
    if written.count("(") + text.startswith("(") > 1:
        return False  # a list of pairs
    if text.lstrip("(").startswith("+"):
        return 8 <= digits <= 15 and groups[0][0] != "0" and len(groups) <= 7
    if groups[0].startswith("00"):
        long = len(groups) == 1
        return (10 if long else 8) <= digits - 2 <= 15 and groups[0][2:3] != "0" and len(groups) <= 8
    if groups[0].startswith("0"):
        return _is_national(groups, digits)
    return _is_in_groups(text, groups, marks)


def _is_national(groups: list[str], digits: int) -> bool:
    """With a leading 0: 0151 234 5678, (01) 2345-678, 01512345678."""
    if len(groups[0]) < 2 or groups[0][1] == "0":
        return False
    sizes = [len(group) for group in groups]
    if sizes == [2] * 5:  # numbers that count up are a list
        steps = {int(b) - int(a) for a, b in pairwise(groups)}
        return len(steps) > 1 or steps.pop() > 10
    if len(groups) == 1:
        return 10 <= digits <= 11
    if len(groups) > 5 or max(sizes) == 2 or (sizes == [4, 4] and all(map(_HOUR.fullmatch, groups))):
        return False
    return 9 <= digits <= 12 and sizes[0] <= 6 and sizes[-1] >= 2 and min(sizes) >= 2


def _is_in_groups(text: str, groups: list[str], marks: list[str]) -> bool:
    """Without a leading 0: 555-123-4567, (555) 123-4567, 123-456-789."""
    sizes = [len(group) for group in groups]
    if groups[0] == "1" and len(groups) == 4:  # the code of a country, written without its sign
        sizes, marks = sizes[1:], marks[1:]
    if sizes == [3, 3, 4]:
        return text.startswith("(") or len({mark.strip() or " " for mark in marks}) == 1 or marks[0] == ") "
    return sizes == [3, 3, 3] and set(marks) == {"-"}
