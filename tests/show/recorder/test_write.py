"""The recorder is one file that asks for nothing."""

from __future__ import annotations

import re

import pytest

from outcomes.answers.wording import CAUTIONS
from outcomes.errors import InputError
from outcomes.show.recorder.write import recorder_page, write_recorder


def test_nothing_is_left_to_fetch():
    page = recorder_page()
    assert re.findall(r"\bhttps?:", page) == []
    assert re.findall(r"""\b(?:src|href)="(?!data:)""", page) == []
    assert "default-src 'none'" in page
    assert len(page.encode()) < 300_000


def test_it_carries_every_caution():
    page = recorder_page()
    assert all(caution in page for caution in CAUTIONS)


def test_the_same_file_each_time_and_in_place_of_an_older_one(tmp_path):
    path = tmp_path / "recorder.html"
    path.write_text("older", encoding="utf-8")
    write_recorder(path)
    first = path.read_bytes()
    write_recorder(path)
    assert path.read_bytes() == first
    assert b"\r" not in first
    assert first.startswith(b"<!doctype html>")


def test_nowhere_to_write(tmp_path):
    with pytest.raises(InputError, match="can't be written"):
        write_recorder(tmp_path / "no" / "recorder.html")
