"""The log as others use it: canonical frames, what was given, counts that add up."""

from __future__ import annotations

import dataclasses

import numpy as np
import pandas as pd
import pytest

from outcomes import read_log
from outcomes.errors import InputError
from outcomes.log.schema import TABLES, columns


def test_frames_have_all_canonical_columns_in_order(folder, visit):
    log = read_log(folder(visits=[visit()]))
    for table in TABLES:
        frame = getattr(log, table)
        assert list(frame.columns) == [c.name for c in columns(table)]
        for c in columns(table):
            kind = {"number": "f", "date": "M"}.get(c.kind, "O")
            assert frame[c.name].dtype.kind == kind, c.name
    assert list(log.visits.index) == [0]
    assert log.visits["texture"].isna().all()


def test_absent_zone_is_lengths_everywhere(folder, visit):
    checks = [{"visit": "V1", "minutes": "20", "level": "6"}]
    washes = [{"visit": "V1", "washes": "3", "level": "6"}]
    log = read_log(folder(visits=[visit()], checks=checks, washes=washes))
    assert [list(getattr(log, table)["zone"]) for table in TABLES] == [["lengths"]] * 3


def test_given_are_columns_with_something_in_them(folder, visit):
    log = read_log(folder(visits=[visit(salon="", texture="fine", remark="x")]))
    assert ("visits", "texture") in log.given
    assert ("visits", "salon") not in log.given
    assert ("visits", "zone") not in log.given
    assert any("remark" in note for note in log.notes)


def test_the_example_row_is_never_counted(folder, visit):
    checks = [{"visit": "EXAMPLE", "minutes": "x", "level": "99"}]
    log = read_log(folder(visits=[visit(visit="Example", minutes="nonsense"), visit()], checks=checks))
    assert log.counts["visits"] == {"in": 1, "used": 1, "set_aside": 0}
    assert log.counts["checks"]["in"] == 0
    assert log.faults.empty
    assert sum("example row" in note for note in log.notes) == 2


def test_only_an_example_row_is_no_log(folder, visit):
    with pytest.raises(InputError, match="no visits in it yet"):
        read_log(folder(visits=[visit(visit="EXAMPLE")]))


def test_one_visits_file(folder, visit):
    place = folder(visits=[visit()])
    log = read_log(place / "visits.csv")
    assert log.source == "visits.csv"
    assert str(log) == "visits.csv: 1 of 1 visits used"


def test_log_with_no_visit_left_still_answers(folder, visit):
    log = read_log(folder(visits=[visit(minutes="0")]))
    assert log.counts["visits"] == {"in": 1, "used": 0, "set_aside": 1}
    assert log.visits.empty


def test_untidy_but_readable_headings_and_cells(folder):
    text = (
        "Salon A; spring\n"
        "Visit No;Client;Stylist;Visit date;Hair;Start Lvl;Goal lvl;Dev vol;Heat;Processing (min);Result;"
        "Stop reason\n"
        "V1;C1;S1;13/07/2024;Virgin;L4;8;20;Low;0:45;7½;Time\n"
        "V2;C2;S1;03/08/2024;bleached;7,5;9½;30;none;1h05;9/10;goal\n"
    )
    log = read_log(folder(visits=text))
    assert log.counts["visits"] == {"in": 2, "used": 2, "set_aside": 0}
    numbers = log.visits[["start_level", "goal_level", "peroxide_pct", "minutes", "achieved_level"]]
    assert numbers.to_numpy().tolist() == [[4, 8, 6, 45, 7.5], [7.5, 9.5, 9, 65, 9.5]]
    assert list(log.visits["date"]) == [pd.Timestamp("2024-07-13"), pd.Timestamp("2024-08-03")]
    assert list(log.visits["hair"]) == ["natural", "lightened"]
    assert list(log.visits["stop"]) == ["time", "target"]


def test_result_is_frozen(folder, visit):
    log = read_log(folder(visits=[visit()]))
    with pytest.raises(dataclasses.FrozenInstanceError):
        log.source = "x"  # type: ignore[misc]


def test_the_same_rows_in_another_order_are_used_alike(folder, visit):
    rows = [visit(visit=f"V{i}", minutes=str(i)) for i in range(0, 200, 9)]
    first = read_log(folder(visits=rows))
    order = np.random.default_rng(1).permutation(len(rows))
    second = read_log(folder(visits=[rows[i] for i in order]))
    assert first.counts == second.counts
    assert set(first.visits["visit"]) == set(second.visits["visit"])
