"""Files are written whole or not at all."""

from __future__ import annotations

import pytest

from outcomes.errors import InputError
from outcomes.log.atomic import replacing


def write_half(path):
    with replacing(path) as temporary:
        temporary.write_text("half")
        raise ZeroDivisionError


def test_replaces_when_all_went_well(tmp_path):
    (tmp_path / "a.txt").write_text("old")
    with replacing(tmp_path / "a.txt") as temporary:
        temporary.write_text("new")
        assert (tmp_path / "a.txt").read_text() == "old"
    assert [(p.name, p.read_text()) for p in tmp_path.iterdir()] == [("a.txt", "new")]


def test_a_failure_leaves_the_old_file_and_nothing_else(tmp_path):
    (tmp_path / "a.txt").write_text("old")
    with pytest.raises(ZeroDivisionError):
        write_half(tmp_path / "a.txt")
    assert [(p.name, p.read_text()) for p in tmp_path.iterdir()] == [("a.txt", "old")]


def test_no_such_folder(tmp_path):
    with pytest.raises(InputError, match="can't be written"), replacing(tmp_path / "no" / "a.txt"):
        pass
