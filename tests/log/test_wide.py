"""Looks and wash readings in extra columns of a sheet of visits."""

from __future__ import annotations

import pandas as pd
import pytest

from outcomes.log.read import read_log


def table(log, name, *columns):
    return log.__getattribute__(name)[list(columns)].to_numpy().tolist()


def test_a_heading_of_minutes_is_a_look_in_each_filled_row(folder, visit):
    rows = [visit(**{"20 min": "5", "30 min": "6,5"}), visit(visit="V2", **{"20 min": "", "30 min": "6"})]
    text = folder(visits=[row | {k: f'"{v}"' for k, v in row.items() if "," in v} for row in rows])
    log = read_log(text)
    assert table(log, "checks", "visit", "zone", "minutes", "level") == [
        ["V1", "lengths", 20.0, 5.0],
        ["V1", "lengths", 30.0, 6.5],
        ["V2", "lengths", 30.0, 6.0],
    ]
    assert log.counts["checks"] == {"in": 3, "used": 3, "set_aside": 0}
    assert 'column "20 min" is read as level at 20 minutes' in " ".join(log.notes)


def test_numbered_looks_take_their_minutes_from_a_column_of_their_own(folder, visit):
    cells = {"look 1 min": "15", "look 1 level": "5", "look 2 min": "25", "look 2 level": "6"}
    other = {"look 1 min": "", "look 1 level": "", "look 2 min": "20", "look 2 level": ""}
    log = read_log(folder(visits=[visit(zone="ends", **cells), visit(visit="V2", **other)]))
    assert table(log, "checks", "visit", "zone", "minutes", "level") == [
        ["V1", "ends", 15.0, 5.0],
        ["V1", "ends", 25.0, 6.0],
    ]
    # the look without its level is set aside, in the row where it stands
    assert log.faults[["row", "column", "code"]].to_numpy().tolist() == [[3, "level", "missing"]]
    assert log.counts["checks"] == {"in": 3, "used": 2, "set_aside": 1}


def test_without_its_level_a_number_before_min_is_the_minutes(folder, visit):
    log = read_log(folder(visits=[visit(**{"look 5 min": "4.5"})]))
    assert table(log, "checks", "minutes", "level") == [[5.0, 4.5]]


@pytest.mark.parametrize(
    ("cells", "column", "values"),
    [
        (("7", "6.5"), "level", [7.0, 6.5]),
        (("75 %", "50 %"), "tone_left", [75.0, 50.0]),
        (("75", "0"), "tone_left", [75.0, 0.0]),
        (("8", "6/7"), "level", [8.0, 6.5]),
        (("8", "L7½"), "level", [8.0, 7.5]),
        (("0.75", "1"), "tone_left", [75.0, 100.0]),
    ],
)
def test_cells_tell_what_a_reading_after_washes_measures(folder, visit, cells, column, values):
    rows = [visit(visit=f"V{i}", **{"after 10 washes": cell}) for i, cell in enumerate(cells)]
    log = read_log(folder(visits=rows))
    assert log.washes[column].tolist() == values
    assert log.washes["washes"].tolist() == [10.0, 10.0]


@pytest.mark.parametrize("cells", [("7", "75"), ("7", "soft"), ("0", "5")])
def test_cells_that_could_be_neither_or_both_are_asked_about(folder, visit, cells):
    rows = [visit(visit=f"V{i}", **{"after 10 washes": cell}) for i, cell in enumerate(cells)]
    log = read_log(folder(visits=rows))
    assert len(log.washes) == 0
    assert "may be level after 10 washes or tone_left after 10 washes" in " ".join(log.notes)


def test_readings_of_one_wash_number_are_one_row_with_their_shampoo(folder, visit):
    cells = {"level after 6 washes": "6", "tone after 6 washes": "75", "roots level after 12 washes": "5",
             "shampoo": "purple"}  # fmt: skip
    log = read_log(folder(visits=[visit(**cells)]))
    assert table(log, "washes", "zone", "washes", "level", "tone_left", "shampoo") == [
        ["lengths", 6.0, 6.0, 75.0, "pigmented"],
        ["roots", 12.0, 5.0, pytest.approx(float("nan"), nan_ok=True), "pigmented"],
    ]


def test_washes_beside_their_number(folder, visit):
    rows = [
        visit(washes="8", **{"level after washes": "6"}),
        visit(visit="V2", washes="", **{"level after washes": ""}),
    ]
    log = read_log(folder(visits=rows))
    assert table(log, "washes", "visit", "washes", "level") == [["V1", 8.0, 6.0]]
    assert log.counts["washes"]["in"] == 1


def test_looks_of_a_visit_that_is_set_aside_are_set_aside_too(folder, visit):
    log = read_log(folder(visits=[visit(), visit(visit="V2", minutes="", **{"20 min": "5"})]))
    assert log.faults[["row", "column", "code"]].to_numpy().tolist() == [
        [3, "minutes", "missing"],
        [3, "visit", "visit_set_aside"],
    ]


def test_looks_of_extra_columns_join_those_of_their_own_table(folder, visit):
    log = read_log(folder(visits=[visit(**{"20 min": "5"})], checks="visit,minutes,level\nV1,30,6\n"))
    assert sorted(log.checks["minutes"]) == [20.0, 30.0]
    assert isinstance(log.checks["minutes"], pd.Series)
