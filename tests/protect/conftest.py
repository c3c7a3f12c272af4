"""A log with codes of several kinds, and a look through one file of given content."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest

from outcomes.protect.contents.readable import Leaving
from outcomes.protect.disclosure import Disclosure, look_through
from outcomes.protect.private.codes import LogCodes, make_code

CODES = {
    "visit": ("V00001", "V00002", "7"),
    "client": ("C001", "C0012", "Mrs K 12", "12", "104523", "Anna-Lena", "Rose"),
    "stylist": ("S1", "A", "ash", "May", "JS"),
    "salon": ("L7", "1"),
    "product": ("P1",),
    "course": ("K-9",),
}
DAYS = frozenset({date(2024, 3, 14), date(2023, 11, 2)})


@pytest.fixture
def log() -> LogCodes:
    """Codes that tell themselves, codes that don't, and two visit days."""
    codes = [make_code(text, (name,)) for name, texts in CODES.items() for text in texts]
    return LogCodes("salon", tuple(codes), DAYS)


@pytest.fixture
def look(tmp_path: Path, log: LogCodes) -> Callable[..., Disclosure]:
    """Writes a file and looks through it."""

    def through(content: str | bytes, name: str = "report.txt", may_show: tuple[str, ...] = ()) -> Disclosure:
        path = tmp_path / name
        if isinstance(content, str):
            content = content.encode()
        path.write_bytes(content)
        return look_through([Leaving(path, name, name)], log, may_show)

    return through


@pytest.fixture
def finds(look: Callable[..., Disclosure]) -> Callable[..., list[tuple[str, str, str]]]:
    """Place, what, and text of every find in a file."""

    def told(*given: object, **more: object) -> list[tuple[str, str, str]]:
        answer = look(*given, **more)
        assert not answer.refused
        return [(find.place, find.what, find.text) for find in answer.finds]

    return told
