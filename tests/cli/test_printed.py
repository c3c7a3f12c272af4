"""Characters that an output can't show, and outputs that take nothing."""

from __future__ import annotations

import io
import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from outcomes.cli.printed import as_json, bar_character


@pytest.mark.parametrize(
    ("encoding", "written", "bar"),
    [("utf-8", '{"stylist": "Zoë"}', "█"), ("ascii", '{"stylist": "Zo\\u00eb"}', "#")],
)
def test_json_and_bars(monkeypatch, encoding, written, bar):
    monkeypatch.setattr(sys, "stdout", io.TextIOWrapper(io.BytesIO(), encoding=encoding))
    assert as_json({"stylist": "Zoë"}) == written
    assert json.loads(as_json({"stylist": "Zoë"})) == {"stylist": "Zoë"}
    assert bar_character() == bar


# Linux alone has it; elsewhere a full disk would have to be made, for which tests lack the rights
@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no device that is always full")
def test_a_full_disk_is_one_line():
    with open("/dev/full", "w") as full:
        run = subprocess.run(
            [sys.executable, "-m", "outcomes", "check", "data_demo/faulty"],
            stdout=full,
            stderr=subprocess.PIPE,
            cwd=Path(__file__).parents[2],
            env=os.environ,
        )
    assert run.returncode == 2
    assert run.stderr.count(b"\n") == 1
    assert b"Traceback" not in run.stderr
