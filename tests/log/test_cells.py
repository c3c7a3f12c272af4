"""Spellings of developer strength, levels, time, ratios, words, one column at a time."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from outcomes.log.cells import CellRead, read_cells
from outcomes.log.read import read_log
from outcomes.log.repairs import RULES
from outcomes.log.schema import column


def read(name: str, texts: list[str], table: str = "visits", **rest: str) -> CellRead:
    cells = pd.Categorical(texts, categories=pd.Index(dict.fromkeys(texts), dtype=object))
    return read_cells(column(table, name), cells, **rest)


def values(name: str, *texts: str, table: str = "visits", **rest: str) -> list[object]:
    got = read(name, list(texts), table, **rest)
    assert list(got.codes) == [""] * len(texts)
    return list(got.data)


def codes(name: str, *texts: str, table: str = "visits") -> list[str]:
    return list(read(name, list(texts), table).codes)


def test_developer_by_volume_and_percent():
    assert (
        values("peroxide_pct", "20 vol", "20v", "vol 20", "Vol. 20", "20 VOLUME", "6%", "6 %", "6", "6,0")
        == [6.0] * 9
    )
    assert values("peroxide_pct", "30 vol", "5 vol", "1.9 %") == [9.0, 1.5, 1.9]


def test_developer_with_a_hyphen_or_said_twice():
    assert (
        values("peroxide_pct", "20-vol", "20 - Vol", "20-volume", "6 % (20 vol)", "20 vol (6%)") == [6.0] * 5
    )
    assert values("peroxide_pct", "1,5 % (5vol.)", "12% (40 volume)") == [1.5, 12.0]
    assert values("peroxide_pct", "6 % (20 vol)", unit="volume") == [6.0]
    assert (
        codes("peroxide_pct", "6 % (30 vol)", "6 (20)", "6 % (6 %)", "6 %()", "(20 vol)", "6 % (20 vol) x")
        == ["unreadable"] * 6
    )
    assert codes("peroxide_pct", "15 % (50 vol)", "-20 vol") == ["peroxide_limit", "out_of_range"]


def test_percent_cell_of_a_spreadsheet():
    assert values("peroxide_pct", "0.06", "0.12", "0.015") == [6.0, 12.0, 1.5]


def test_bare_number_above_12_is_never_taken_as_volume():
    assert codes("peroxide_pct", "20", "30", "40", "12.5", "45 vol") == ["peroxide_limit"] * 5
    assert values("peroxide_pct", "12", "10") == [12.0, 10.0]


def test_heading_that_says_volume_settles_bare_numbers():
    assert values("peroxide_pct", "20", "40", "6 %", unit="volume") == [6.0, 12.0, 6.0]


def test_levels():
    texts = ("7", "7.5", "7½", "7/8", "7-8", "L7", "level 7", "7 1/2", "7,5", "8-7", "10")
    assert values("start_level", *texts) == [7, 7.5, 7.5, 7.5, 7.5, 7, 7, 7.5, 7.5, 7.5, 10]


def test_levels_that_are_faults():
    assert codes("start_level", "7.2", "11", "0.5", "7/9", "seven", "", "-", "-7", "inf", "7.5.1") == [
        "off_grid", "out_of_range", "out_of_range", "unreadable", "unreadable", "missing", "missing",
        "out_of_range", "unreadable", "unreadable",
    ]  # fmt: skip


def test_minutes():
    texts = (
        "45",
        "45 min",
        "0:45",
        "1h05",
        "1:05",
        "1 h 5 min",
        "2h",
        "45'",
        "45,5",
        "0:45:30",
        "90 minutes",
    )
    assert values("minutes", *texts) == [45, 45, 45, 65, 65, 65, 120, 45, 45.5, 45.5, 90]
    assert codes("minutes", "0", "181", "1:75", "soon") == [
        "out_of_range",
        "out_of_range",
        "unreadable",
        "unreadable",
    ]


def test_ratio_has_the_developer_last():
    assert values("mix_ratio", "2", "1:2", "1:1,5", "1:02", "2:3") == [2, 2, 1.5, 2, 1.5]
    assert codes("mix_ratio", "0:2", "1:9") == ["unreadable", "out_of_range"]


def test_yes_and_no():
    assert values("patch_test", "y", "x", "TRUE", "1", "Yes") == ["yes"] * 5
    assert values("patch_test", "n", "FALSE", "0", "no") == ["no"] * 4
    assert codes("patch_test", "maybe") == ["unreadable"]


def test_words_in_any_case_with_spaces():
    assert values("course_end", "Given up", "given-up", "GIVEN_UP", "open") == ["given_up"] * 3 + ["open"]
    assert values("warmth", "Pale Yellow") == ["pale_yellow"]
    assert values("heat", "None", "none") == ["none", "none"]  # a word here, not a missing value


def test_tone_left_on_its_grid():
    assert values("tone_left", "75%", "75 %", "0", table="washes") == [75, 75, 0]
    assert codes("tone_left", "80", table="washes") == ["off_grid"]


def test_share_cells_of_a_spreadsheet():
    assert values("tone_left", "0.25", "0,5", "0.75", "1", "1.0", "0", table="washes") == [
        25, 50, 75, 100, 100, 0,
    ]  # fmt: skip
    assert codes("tone_left", "0.8", "1 %", "0.5 %", "-0.25", table="washes") == [
        "off_grid", "off_grid", "off_grid", "out_of_range",
    ]  # fmt: skip
    assert codes("L", "0.75", table="washes") == [""]  # no share


def repairs(name, texts, table="visits", **rest):
    got = read(name, texts, table, **rest)
    return [
        (text, shown, rule) for text, shown, rule in zip(texts, got.shown, got.rules, strict=True) if rule
    ]


@pytest.mark.parametrize(
    ("table", "name", "text", "shown", "rule"),
    [
        ("washes", "tone_left", "0.75", "75", "fraction"),
        ("washes", "tone_left", "1", "100", "fraction"),
        ("washes", "tone_left", "50 %", "50", "unit"),
        ("visits", "peroxide_pct", "0.06", "6", "fraction"),
        ("visits", "peroxide_pct", "20 vol", "6", "volume"),
        ("visits", "peroxide_pct", "20v", "6", "volume"),
        ("visits", "peroxide_pct", "6 %", "6", "unit"),
        ("visits", "peroxide_pct", "1,5", "1.5", "decimal_comma"),
        ("visits", "start_level", "7/8", "7.5", "between"),
        ("visits", "start_level", "7-8", "7.5", "between"),
        ("visits", "start_level", "7½", "7.5", "half"),
        ("visits", "start_level", "L7", "7", "prefix"),
        ("visits", "start_level", "7,5", "7.5", "decimal_comma"),
        ("visits", "start_level", "7.5 (brassy)", "7.5", "note"),
        ("visits", "minutes", "45 min", "45", "unit"),
        ("visits", "minutes", "1h05", "65", "clock"),
        ("visits", "minutes", "0:45", "45", "clock"),
        ("visits", "minutes", "45 phone rang", "45", "note"),
        ("visits", "mix_ratio", "1:2", "2", "parts"),
        ("visits", "hair", "virgin", "natural", "spelling"),
        ("visits", "hair", "Natural", "natural", "spelling"),
        ("visits", "date", "13/07/2024", "2024-07-13", "slashed_date"),
        ("visits", "date", "45292", "2024-01-01", "serial_date"),
        ("visits", "date", "20240229", "2024-02-29", "date_form"),
    ],
)
def test_a_value_from_another_spelling_is_listed_with_its_rule(table, name, text, shown, rule):
    assert repairs(name, [text], table) == [(text, shown, rule)]
    assert rule in RULES


def test_plain_values_are_no_repairs():
    for table, name, text in (
        ("visits", "start_level", "7.5"), ("visits", "minutes", "45"), ("visits", "peroxide_pct", "6"),
        ("visits", "hair", "natural"), ("visits", "date", "2024-02-29"), ("visits", "client", "C 1"),
        ("washes", "tone_left", "75"), ("washes", "a", "-3.25"),
    ):  # fmt: skip
        assert repairs(name, [text], table) == []


def test_a_heading_of_volume_makes_every_bare_number_a_repair():
    assert repairs("peroxide_pct", ["20", "6 %"], unit="volume") == [
        ("20", "6", "volume"),
        ("6 %", "6", "unit"),
    ]


@pytest.mark.parametrize(
    ("name", "text"),
    [("minutes", "45 (or 50)"), ("minutes", "45 or so"), ("minutes", "45 sec"), ("start_level", "7 to 8"),
     ("start_level", "7-"), ("start_level", "7?"), ("start_level", "not 7"), ("peroxide_pct", "6 (20)"),
     ("start_level", "7, 8"), ("minutes", "45 ()")],
)  # fmt: skip
def test_a_number_beside_another_or_in_doubt_is_not_read(name, text):
    """What is behind it may be the number that was meant."""
    assert codes(name, text) == ["unreadable"]


def test_words_of_a_map_are_read():
    got = read("hair", ["Blondiert", "natural"], words={"blondiert": "lightened"})
    assert list(got.data) == ["lightened", "natural"]
    assert list(got.rules) == ["declared", ""]


def test_missing_optional_value_is_no_fault():
    got = read("texture", ["", "n/a", "fine"])
    assert list(got.codes) == ["", "", ""]
    assert list(pd.isna(got.data)) == [True, True, False]


def test_codes_are_kept_as_written():
    got = read("client", ["007", "NA", "-", "", "nan"])
    assert list(got.data[:3]) == ["007", "NA", "-"]
    assert list(got.codes) == ["", "", "", "missing", "missing"]


def test_failed_formulas_are_no_codes():
    assert codes("client", "#REF!", "#NAME?", "#DIV/0!", "#N/A", "#VIP", "#1!") == [
        "unreadable", "unreadable", "unreadable", "missing", "", "",
    ]  # fmt: skip
    assert codes("salon", "#REF!", "#N/A") == ["unreadable", ""]


def test_half_a_pair_of_quotes_is_no_part_of_a_needed_code():
    assert codes("client", 'C16"', '"C16', '"C16"', '6" foil', 'a "b"') == [
        "unreadable",
        "unreadable",
        "",
        "",
        "",
    ]
    assert codes("product", 'roll 6"') == [""]


@pytest.mark.filterwarnings("error")
def test_huge_numbers_are_out_of_range_not_an_overflow():
    for name in ("start_level", "minutes", "mix_ratio", "looks"):
        assert codes(name, "1e305", "-1e308", "9" * 300) == ["out_of_range"] * 3
    assert codes("peroxide_pct", "1e305", "1e306 vol", "1e307 %") == ["peroxide_limit"] * 3


def test_empty_column():
    got = read("minutes", [])
    assert got.data.dtype == np.float64
    assert len(got.codes) == 0


@pytest.mark.parametrize("name", ["start_level", "peroxide_pct", "minutes", "mix_ratio", "looks"])
def test_unreadable_and_faulty_values_are_never_numbers(name):
    got = read(name, ["abc", "1e999", "99999", "½", "--", "1:2:3:4", "0x10", "1_000", "٣x"])
    assert np.isnan(got.data[got.codes != ""].astype(float)).all()
    assert (got.codes != "").sum() >= 8


def test_nat_is_no_date_and_a_word_elsewhere(folder, visit):
    """Short for natural, as a salon may write: it isn't missing, and the cell isn't empty."""
    log = read_log(folder(visits=[visit(hair="NAT"), visit(visit="V2", date="NaT")]))
    assert log.faults[["column", "found", "code"]].to_numpy().tolist() == [
        ["hair", "NAT", "unreadable"], ["date", "NaT", "missing"],
    ]  # fmt: skip
    assert "hair NAT; expected one of natural, coloured, lightened" in log.faults["message"][0]
