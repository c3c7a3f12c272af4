"""The list of repaired cells, and its file."""

from __future__ import annotations

import csv

import pandas as pd

from outcomes.log.read import read_log
from outcomes.log.repairs import REPAIR_COLUMNS, RULES
from outcomes.log.write import write_log, write_repairs


def test_every_repaired_cell_is_listed_in_the_order_of_rows(folder, visit):
    path = folder(
        visits=[visit(minutes="45 min"), visit(visit="V2", minutes="1h05", start_level="L4")],
        checks="visit,minutes,level\nV2,20,7/8\n",
    )
    log = read_log(path)
    assert log.repairs.to_numpy().tolist() == [
        ["visits.csv", 2, "minutes", "45 min", "45", "unit"],
        ["visits.csv", 3, "start_level", "L4", "4", "prefix"],
        ["visits.csv", 3, "minutes", "1h05", "65", "clock"],
        ["checks.csv", 2, "level", "7/8", "7.5", "between"],
    ]
    assert tuple(log.repairs.columns) == REPAIR_COLUMNS
    assert set(log.repairs["rule"]) <= set(RULES)


def test_a_faulty_cell_is_no_repair(folder, visit):
    log = read_log(folder(visits=[visit(minutes="45 min"), visit(visit="V2", minutes="999 min")]))
    assert log.repairs["row"].tolist() == [2]
    assert log.faults["found"].tolist() == ["999 min"]


def test_a_plain_log_has_none(folder, visit):
    log = read_log(folder(visits=[visit()]))
    assert list(log.repairs.columns) == list(REPAIR_COLUMNS)
    assert len(log.repairs) == 0


def test_the_file_lists_them_and_runs_nothing(folder, visit, tmp_path):
    log = read_log(folder(visits=[visit(hair="Virgin", minutes="45'")]))
    assert write_repairs(log, tmp_path / "repairs.csv") == 2
    with (tmp_path / "repairs.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.reader(file))
    assert rows == [
        list(REPAIR_COLUMNS),
        ["visits.csv", "2", "hair", "Virgin", "natural", "spelling"],
        ["visits.csv", "2", "minutes", "45'", "45", "unit"],
    ]
    risky = read_log(folder(visits=[visit(minutes="45 - =cmd")]))
    assert write_repairs(risky, tmp_path / "repairs.csv") == len(risky.repairs)
    made = read_log(folder(visits=[visit(minutes="+45 min")]))
    write_repairs(made, tmp_path / "repairs.csv")
    assert pd.read_csv(tmp_path / "repairs.csv")["from"].tolist() == ["'+45 min"]


def test_values_that_were_repaired_need_no_repair_once_written(folder, visit, tmp_path):
    log = read_log(folder(visits=[visit(minutes="0:45", start_level="3½", peroxide_pct="20 vol")]))
    assert len(log.repairs) == 3
    write_log(log, tmp_path / "canonical")
    again = read_log(tmp_path / "canonical")
    assert len(again.repairs) == 0
    pd.testing.assert_frame_equal(log.visits, again.visits)
