"""Files of a folder that change together."""

from __future__ import annotations

import multiprocessing
import os

import pytest

from outcomes.errors import InputError
from outcomes.log.swapped import alone_in, current_files, finish_swap, swap_files

NAMES = ("a.txt", "b.txt")


def texts(folder):
    """What a reader finds: files that a stopped swap left beside their places count."""
    found = {p.name: p.read_text() for p in folder.iterdir() if not p.name.startswith(".")}
    return found | {name: path.read_text() for name, path in current_files(folder).items()}


def swap(folder, word):
    with swap_files(folder, NAMES) as new:
        for path in new.values():
            path.write_text(word)


def test_all_are_replaced(tmp_path):
    for word in ("old", "new"):
        swap(tmp_path, word)
        assert texts(tmp_path) == {"a.txt": word, "b.txt": word}
    assert sorted(p.name for p in tmp_path.iterdir()) == ["a.txt", "b.txt"]


def test_a_failure_leaves_the_old_ones_and_nothing_else(tmp_path):
    swap(tmp_path, "old")

    def fail():
        with swap_files(tmp_path, NAMES) as new:
            new["a.txt"].write_text("new")
            raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        fail()
    assert sorted(p.name for p in tmp_path.iterdir()) == ["a.txt", "b.txt"]
    assert texts(tmp_path) == {"a.txt": "old", "b.txt": "old"}


def test_a_stopped_swap_is_seen_and_finished(tmp_path):
    swap(tmp_path, "old")
    (tmp_path / ".a.txt.new").write_text("new")
    (tmp_path / ".b.txt.new").write_text("new")
    assert texts(tmp_path) == {"a.txt": "old", "b.txt": "old"}  # nothing names them yet
    (tmp_path / ".moving.json").write_text('["a.txt", "b.txt"]')
    assert texts(tmp_path) == {"a.txt": "new", "b.txt": "new"}
    os.replace(tmp_path / ".a.txt.new", tmp_path / "a.txt")
    assert texts(tmp_path) == {"a.txt": "new", "b.txt": "new"}
    finish_swap(tmp_path)
    assert sorted(p.name for p in tmp_path.iterdir()) == ["a.txt", "b.txt"]
    assert texts(tmp_path) == {"a.txt": "new", "b.txt": "new"}


def test_a_damaged_note_is_told(tmp_path):
    (tmp_path / ".moving.json").write_text("{")
    with pytest.raises(InputError, match="damaged"):
        current_files(tmp_path)


def test_a_place_that_can_not_be_written(tmp_path):
    with pytest.raises(InputError, match="can't be written"), swap_files(tmp_path / "no", NAMES) as new:
        new["a.txt"].write_text("x")


def _hold(folder, held, go):
    with alone_in(folder):
        held.set()
        go.wait(20)


def test_who_comes_second_changes_nothing(tmp_path):
    fork = multiprocessing.get_context("fork")
    held, go = fork.Event(), fork.Event()
    other = fork.Process(target=_hold, args=(tmp_path, held, go))
    other.start()
    assert held.wait(20)
    with pytest.raises(InputError, match="another merge is at work"), alone_in(tmp_path):
        pass
    go.set()
    other.join(20)
    with alone_in(tmp_path):  # the lock went with its holder
        pass
    assert other.exitcode == 0
