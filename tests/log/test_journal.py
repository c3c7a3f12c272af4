"""Content keys and the texts of rows."""

from __future__ import annotations

import hashlib

import pandas as pd
import pytest

from outcomes.errors import InputError
from outcomes.log.journal import JOURNAL_COLUMNS, Entry, content_keys, read_journal, row_texts, write_journal


def test_a_row_s_text_has_its_filled_cells_in_order():
    frame = pd.DataFrame(
        {
            "visit": ["V1", 'a "b"'],
            "date": pd.to_datetime(["2024-03-01", None]),
            "minutes": [45.0, float("nan")],
            "level": [7.5, 7.0],
            "word": [None, "ß"],
        }
    ).astype({"visit": object, "word": object})
    assert row_texts(frame).tolist() == [
        '{"visit": "V1", "date": "2024-03-01", "minutes": 45, "level": 7.5}',
        '{"visit": "a \\"b\\"", "level": 7, "word": "ß"}',
    ]
    assert row_texts(frame.iloc[:0]).tolist() == []


def test_the_key_is_the_beginning_of_sha_256():
    keys = content_keys(row_texts(pd.DataFrame({"visit": ["V1"]}, dtype=object)))
    assert keys.tolist() == [hashlib.sha256(b'{"visit": "V1"}').hexdigest()[:16]]


def test_entries_are_added_behind_those_that_are_there(tmp_path):
    path = tmp_path / "journal.csv"
    for number in (1, 2):
        entry = Entry("added", "visits", f"V{number}", "lengths", "=a.csv", number, "k")
        write_journal(path, read_journal(path), [entry], f"day {number}")
    found = read_journal(path)
    assert tuple(found.columns) == JOURNAL_COLUMNS
    assert found[["when", "visit", "file", "row"]].to_numpy().tolist() == [
        ["day 1", "V1", "'=a.csv", "1"],
        ["day 2", "V2", "'=a.csv", "2"],
    ]


def test_another_file_of_that_name_is_refused(tmp_path):
    (tmp_path / "journal.csv").write_bytes(b"\xff\xfe\x00")
    with pytest.raises(InputError, match="no journal of a merged log"):
        read_journal(tmp_path / "journal.csv")
