"""A small sound log, of which tests change one cell at a time."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

VISIT = {
    "visit": "V1",
    "client": "C1",
    "stylist": "S1",
    "date": "2024-03-14",
    "hair": "natural",
    "start_level": "4",
    "goal_level": "8",
    "peroxide_pct": "6",
    "heat": "low",
    "minutes": "45",
    "achieved_level": "7.5",
    "stop": "time",
}

Row = dict[str, str]
Folder = Callable[..., Path]


def csv_text(rows: list[Row]) -> str:
    headings = list(dict.fromkeys(name for row in rows for name in row))
    lines = [headings, *([row.get(name, "") for name in headings] for row in rows)]
    return "\n".join(",".join(line) for line in lines) + "\n"


@pytest.fixture
def folder(tmp_path: Path) -> Folder:
    """Writes tables of rows (or ready text) into a folder and returns it."""

    def write(**tables: list[Row] | str) -> Path:
        place = tmp_path / "salon"
        place.mkdir(exist_ok=True)
        for table, rows in tables.items():
            text = rows if isinstance(rows, str) else csv_text(rows)
            (place / f"{table}.csv").write_text(text, encoding="utf-8", newline="")
        return place

    return write


@pytest.fixture
def visit() -> Callable[..., Row]:
    """Builds one sound visit with some cells changed or added."""

    def build(**cells: str) -> Row:
        return VISIT | cells

    return build
