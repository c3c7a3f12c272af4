"""Numbers with two readings: set aside and said, never guessed."""

from __future__ import annotations

import pandas as pd
import pytest

from outcomes.log.read import read_log
from outcomes.log.write import write_log


def strengths(folder, visit, *texts, heading="developer", **rest):
    rows = [visit(visit=f"V{i}", minutes=str(30 + i)) for i in range(len(texts))]
    for row, text in zip(rows, texts, strict=True):
        row.pop("peroxide_pct")
        row[heading] = text
    return read_log(folder(visits=rows), **rest)


def faults(log):
    return list(zip(log.faults["row"], log.faults["found"], log.faults["code"], strict=True))


def warned(log):
    return [code for code in log.warnings["code"] if code == "unit_unclear"]


@pytest.mark.parametrize("heading", ["developer", "developer %", "peroxide_pct"])
def test_a_bare_ten_among_volumes_is_set_aside(folder, visit, heading):
    log = strengths(folder, visit, "10", "6", "20", "10 vol", "10 %", heading=heading)
    assert faults(log) == [(2, "10", "ambiguous"), (4, "20", "peroxide_limit")]
    assert log.visits["peroxide_pct"].tolist() == [6, 3, 10]
    assert not warned(log)


def test_what_is_said_of_it(folder, visit):
    log = strengths(folder, visit, "10", "30", heading="peroxide_pct")
    assert log.faults["message"][0] == (
        "visits.csv row 2: peroxide_pct 10; expected a strength with its unit: among numbers that can only "
        'be volume 10 could be 10 % or 10 volume = 3 %; write "10 vol" or "10 %", or say the unit in a map '
        '("peroxide_pct in volume")'
    )


def test_a_note_or_a_comma_leaves_it_in_doubt(folder, visit):
    log = strengths(folder, visit, "10 (new)", "10.0", "40")
    assert [code for *_, code in faults(log)] == ["ambiguous"] * 2 + ["peroxide_limit"]


def test_twelve_is_percent_among_volumes_too(folder, visit):
    """One volume too many in a column of % puts none of its 12 in doubt: nobody sells 12 volume."""
    log = strengths(folder, visit, "12", "9", "40")
    assert faults(log) == [(4, "40", "peroxide_limit")]
    assert log.visits["peroxide_pct"].tolist() == [12, 9]


def test_where_all_may_be_percent_ten_is_percent_as_before(folder, visit):
    log = strengths(folder, visit, "10", "6", "12", "0.1")
    assert faults(log) == []
    assert log.visits["peroxide_pct"].tolist() == [10, 6, 12, 10]
    assert warned(log) == ["unit_unclear"] * 2


def test_a_number_beyond_every_volume_says_nothing_of_the_others(folder, visit):
    assert faults(strengths(folder, visit, "10", "60")) == [(3, "60", "peroxide_limit")]


def test_a_spreadsheets_ten_percent_is_no_bare_ten(folder, visit):
    assert faults(strengths(folder, visit, "0.1", "20")) == [(3, "20", "peroxide_limit")]


@pytest.mark.parametrize(("unit", "read"), [("volume", [3, 6]), ("percent", [10])])
def test_a_map_says_the_unit(folder, visit, tmp_path, unit, read):
    told = tmp_path / "map.toml"
    told.write_text(f'[visits]\ndeveloper = "peroxide_pct in {unit}"\n', encoding="utf-8")
    log = strengths(folder, visit, "10", "20", map_file=told)
    assert log.visits["peroxide_pct"].tolist() == read
    assert not warned(log)


@pytest.mark.parametrize(
    ("text", "told"),
    [("1.30", "it could be 1 h 30 or 1.3 minutes; write 90 or 1:30"),
     ("1,15", "it could be 1 h 15 or 1.15 minutes; write 75 or 1:15"),
     ("2.00", "it could be 2 h 00 or 2 minutes; write 120 or 2:00"),
     ("0.45", "it could be 0 h 45 or 0.45 minutes; write 45 or 0:45")],
)  # fmt: skip
def test_minutes_that_may_be_hours_and_minutes(folder, visit, text, told):
    text = f'"{text}"'
    log = read_log(folder(visits=[visit(), visit(visit="V2", minutes=text)]))
    assert log.faults[["row", "code"]].to_numpy().tolist() == [[3, "ambiguous"]]
    assert log.faults["message"][0].endswith(told)


@pytest.mark.parametrize(("text", "minutes"), [("1.3", 1.3), ("1.75", 1.75), ("12.30", 12.3), ("1.300", 1.3)])
def test_minutes_of_one_reading(folder, visit, text, minutes):
    assert read_log(folder(visits=[visit(minutes=text)])).visits["minutes"].tolist() == [minutes]


def test_minutes_that_a_row_can_do_without_count_as_not_given(folder, visit):
    log = read_log(folder(visits=[visit(planned_minutes="1.30", toner_minutes="0.00")]))
    assert log.faults.empty
    assert pd.isna(log.visits["planned_minutes"][0])
    assert log.visits["toner_minutes"][0] == 0
    told = log.warnings[log.warnings["code"] == "unreadable_optional"]["message"].tolist()
    assert len(told) == 1
    assert told[0].endswith("it counts as not given; write 90 or 1:30")


@pytest.mark.parametrize("form", ["csv", "parquet"])
def test_a_minute_and_a_quarter_is_read_again(folder, visit, tmp_path, form):
    log = read_log(folder(visits=[visit(minutes="0:01:15"), visit(visit="V2", minutes="45")]))
    write_log(log, tmp_path / "canonical", form)
    again = read_log(tmp_path / "canonical")
    assert again.visits["minutes"].tolist() == [1.25, 45]
    assert again.faults.empty
