"""A bar where a person watches, silence elsewhere."""

from __future__ import annotations

import os
import subprocess
import sys

WORK = """
import time
from outcomes.cli.progress import working
with working("fitting"):
    time.sleep(0.5)
print("done")
"""


def test_a_terminal_shows_what_goes_on():
    ours, theirs = os.openpty()
    run = subprocess.run([sys.executable, "-c", WORK], stdout=subprocess.PIPE, stderr=theirs, timeout=60)
    os.close(theirs)
    shown = os.read(ours, 65536)
    os.close(ours)
    assert run.stdout == b"done\n"
    assert b"fitting" in shown


def test_silent_where_standard_error_is_no_terminal():
    run = subprocess.run([sys.executable, "-c", WORK], capture_output=True, timeout=60)
    assert (run.stdout, run.stderr) == (b"done\n", b"")
