"""What is written reads back as the same log, and harmlessly in a spreadsheet."""

from __future__ import annotations

import csv
import json

import pandas as pd
import pytest

from outcomes.errors import InputError
from outcomes.log.read import read_log
from outcomes.log.write import write_faults, write_log, write_table_schema


@pytest.fixture
def log(folder, visit):
    return read_log(
        folder(
            visits=[
                visit(client="=1+1", salon="@x", product="-5", zone="ends", peroxide_pct="20 vol"),
                visit(visit="V2", date="20240315", achieved_level="7½", toner_minutes="12.25"),
                visit(visit="V3", stylist="+S", minutes="0", hair="=cmd"),
            ],
            checks=[{"visit": "V2", "minutes": "20", "level": "6"}],
        )
    )


@pytest.mark.parametrize("form", ["csv", "parquet"])
def test_round_trip(log, tmp_path, form):
    written = write_log(log, tmp_path / "out" / "deep", form)
    assert [path.name for path in written] == [f"visits.{form}", f"checks.{form}"]
    again = read_log(tmp_path / "out" / "deep")
    for table in ("visits", "checks", "washes"):
        pd.testing.assert_frame_equal(getattr(again, table), getattr(log, table))
    assert again.given - {("visits", "zone"), ("checks", "zone")} == log.given - {("visits", "zone")}
    assert again.faults.empty


def test_canonical_form(log, tmp_path):
    text = write_log(log, tmp_path / "out")[0].read_text(encoding="utf-8")
    rows = list(csv.DictReader(text.splitlines()))
    assert rows[0]["client"] == "'=1+1"
    assert rows[0]["salon"] == "'@x"
    assert rows[0]["product"] == "-5"  # a number runs as nothing
    assert (rows[0]["peroxide_pct"], rows[1]["achieved_level"], rows[1]["date"]) == ("6", "7.5", "2024-03-15")
    assert "\r" not in text


def test_faults_file_holds_faults_and_warnings(log, tmp_path):
    count = write_faults(log, tmp_path / "faults.csv")
    rows = list(csv.DictReader((tmp_path / "faults.csv").read_text(encoding="utf-8").splitlines()))
    assert count == len(rows) == len(log.faults) + len(log.warnings)
    assert {row["kind"] for row in rows} == {"fault"} | ({"warning"} if len(log.warnings) else set())
    assert list(rows[0]) == ["kind", "file", "row", "column", "found", "expected", "code", "message"]
    assert [row["found"] for row in rows if row["column"] == "hair"] == ["'=cmd"]


def test_another_logs_tables_are_not_mixed_in(log, tmp_path):
    (tmp_path / "washes.csv").write_text("visit,washes\n")
    with pytest.raises(InputError, match=r"already holds washes\.csv"):
        write_log(log, tmp_path)
    assert [path.name for path in tmp_path.iterdir() if path.is_file()] == ["washes.csv"]


def test_unknown_form(log, tmp_path):
    with pytest.raises(InputError, match="expected csv or parquet"):
        write_log(log, tmp_path, "xls")


def test_place_that_is_a_file(log, tmp_path):
    (tmp_path / "x").write_text("")
    with pytest.raises(InputError, match="can't be written"):
        write_log(log, tmp_path / "x")


def test_table_schema_file(tmp_path):
    write_table_schema(tmp_path / "s.json")
    told = json.loads((tmp_path / "s.json").read_text(encoding="utf-8"))
    assert [resource["name"] for resource in told["resources"]] == ["visits", "checks", "washes"]
