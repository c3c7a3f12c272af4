"""Files are written whole or not at all."""

from __future__ import annotations

import os
import stat
from pathlib import Path

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


# Windows has none, so nobody there can name one as a file to write
@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="this system has no named pipes")
def test_a_pipe_is_refused_and_stays_a_pipe(tmp_path):
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    with pytest.raises(InputError, match="found a device or pipe, expected a file"), replacing(pipe):
        pytest.fail("the block ran")
    assert stat.S_ISFIFO(pipe.stat().st_mode)
    assert list(tmp_path.iterdir()) == [pipe]


@pytest.mark.parametrize("device", ["/dev/null", "/dev/full", "/dev/stdout", "/dev/fd/1", "/proc/self/fd/1"])
def test_a_device_is_refused_before_anything_is_made(device):
    if not Path(device).exists():  # /proc is Linux's, /dev/full too; what isn't there can't be written to
        pytest.skip("this system has no such device")
    with pytest.raises(InputError, match=f"{device}: can't be written"), replacing(device):
        pytest.fail("the block ran")


def test_a_folder_is_refused(tmp_path):
    with pytest.raises(InputError, match="found a folder, expected a file"), replacing(tmp_path):
        pytest.fail("the block ran")


def test_a_link_stays_a_link(tmp_path):
    (tmp_path / "a.txt").write_text("old")
    (tmp_path / "link").symlink_to("a.txt")
    with replacing(tmp_path / "link") as temporary:
        temporary.write_text("new")
    assert (tmp_path / "link").is_symlink()
    assert (tmp_path / "a.txt").read_text() == "new"
