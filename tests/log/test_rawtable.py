"""Where the data of a table begins, and what in it is no data."""

from __future__ import annotations

import pytest

from outcomes.errors import InputError
from outcomes.log import rawtable
from outcomes.log.rawtable import grid_of_rows, raw_table

HEAD = ["visit", "minutes", "level"]


def read(rows):
    return raw_table("checks", "f", grid_of_rows(rows, "f"))


def test_title_blank_rows_and_repeated_headings():
    raw = read([["A salon"], [], HEAD, ["V1", "10", "5"], ["", " ", ""], HEAD, ["V1", "20", "6"], []])
    assert list(raw.rows) == [4, 7]
    assert list(raw.cells[1]) == ["10", "20"]
    assert raw.notes == (
        "f: 2 row(s) above the headings left out",
        "f: headings repeated in 1 row(s), left out",
    )


def test_short_and_long_rows_are_kept_with_their_number_of_fields():
    raw = read([HEAD, ["V1", "10"], ["V1", "20", "6", "x"], ["V1", "30", "7"]])
    assert list(raw.fields) == [2, 4, 3]
    assert len(raw.cells) == 3


def test_chunks_join_to_the_same_table(monkeypatch):
    rows = [HEAD, *([f"V{i // 3}", str(10 + i % 4), "5"] for i in range(23)), ["V9", "1", "2", "3", "4"]]
    whole = read(rows)
    monkeypatch.setattr(rawtable, "CHUNK", 4)
    parts = read(rows)
    assert [list(cells) for cells in parts.cells] == [list(cells) for cells in whole.cells]
    assert list(parts.fields) == list(whole.fields)
    assert list(parts.rows) == list(whole.rows)


def test_too_many_fields():
    with pytest.raises(InputError, match="600 fields"):
        read([HEAD, ["x"] * 600])


def test_nothing_at_all():
    with pytest.raises(InputError, match="no row of headings"):
        read([])
