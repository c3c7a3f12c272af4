"""Logs as busy salons write them, each against its canonical form, which was written by hand."""

from __future__ import annotations

from pathlib import Path

import pandas as pd
import pytest

from outcomes.errors import InputError
from outcomes.log.mapfile import read_map
from outcomes.log.proposal import propose_map
from outcomes.log.read import read_log
from outcomes.log.schema import TABLES
from outcomes.log.vocabulary import normalise

UNTIDY = Path(__file__).parents[2] / "data_demo" / "untidy"
LOGS = sorted(p for p in UNTIDY.iterdir() if p.suffix in (".csv", ".tsv", ".xlsx"))
SET_ASIDE = {"notes_in_numbers": 1, "totals_row": 2, "mixed_dates": 1}


def read(path):
    said = path.with_suffix(".toml")
    return read_log(path, map_file=said if said.exists() else None)


@pytest.mark.parametrize("path", LOGS, ids=lambda p: p.stem)
def test_it_reads_as_what_it_means(path):
    log, expected = read(path), read_log(UNTIDY / "expected" / path.stem)
    assert all(count["set_aside"] == 0 for count in expected.counts.values())
    assert len(expected.repairs) == 0  # canonical already
    for table in TABLES:
        pd.testing.assert_frame_equal(getattr(log, table), getattr(expected, table))
        count = log.counts[table]
        assert count["in"] == count["used"] + count["set_aside"]
    assert sum(count["set_aside"] for count in log.counts.values()) == SET_ASIDE.get(path.stem, 0)


def test_every_value_that_is_written_otherwise_is_listed():
    found = read(UNTIDY / "volumes.csv").repairs
    assert found[["row", "column", "from", "to", "rule"]].to_numpy().tolist() == [
        [2, "peroxide_pct", "20v", "6", "volume"],
        [3, "peroxide_pct", "30 VOL", "9", "volume"],
        [4, "peroxide_pct", "vol 20", "6", "volume"],
        [5, "peroxide_pct", "6%", "6", "unit"],
        [7, "peroxide_pct", "6 % (20 vol)", "6", "volume"],
        [8, "peroxide_pct", "40vol", "12", "volume"],
    ]
    found = read(UNTIDY / "sheet_a_stylist.xlsx").repairs
    assert found[found["column"] == "stylist"]["to"].tolist() == ["Jo", "Jo", "Ari"]


def test_there_are_twelve_or_more_each_with_a_line_on_what_is_wrong():
    told = (UNTIDY / "README.md").read_text(encoding="utf-8")
    assert len(LOGS) >= 12
    for path in LOGS:
        assert f"| `{path.name}` | " in told
    assert "Invented" in told


@pytest.mark.parametrize("path", [p for p in LOGS if p.with_suffix(".toml").exists()], ids=lambda p: p.stem)
def test_what_needs_a_map_is_refused_without_it_and_asked_about(path):
    with pytest.raises(InputError):
        read_log(path)
    proposal = propose_map(path)
    said = read_map(path.with_suffix(".toml"))
    open_questions = {one.heading for one in proposal.asked} | {name for _, name in proposal.lacking}
    made = {one.heading for one in proposal.lines if one.heading == "visit_codes"}
    assert open_questions | made
    # the proposal names every heading that the map explains
    named = {normalise(one.heading) for one in proposal.lines}
    assert set(said.declared("visits")) <= named
