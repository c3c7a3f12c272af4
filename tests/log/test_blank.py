"""The blank workbook: what a colourist finds in it, and what `check` makes of it."""

from __future__ import annotations

import openpyxl
import pandas as pd
import pytest

from outcomes.errors import InputError
from outcomes.log.blank import write_blank_workbook
from outcomes.log.cells import read_cells
from outcomes.log.read import read_log
from outcomes.log.schema import TABLES, column, columns


@pytest.fixture
def path(tmp_path):
    write_blank_workbook(tmp_path / "log.xlsx")
    return tmp_path / "log.xlsx"


def test_sheets_headings_and_a_line_about_every_column(path):
    book = openpyxl.load_workbook(path)
    assert book.sheetnames == ["visits", "checks", "washes", "how to", "lists"]
    told = {(row[0], row[1]): row[4] for row in book["how to"].iter_rows(values_only=True)}
    for table in TABLES:
        assert [cell.value for cell in book[table][1]] == [c.name for c in columns(table)]
        for c in columns(table):
            assert told[table, c.name] == c.meaning


def test_numbers_of_drop_downs_stand_on_a_sheet_of_their_own(path):
    book = openpyxl.load_workbook(path)
    assert book["how to"].max_column == 5  # nothing beside the explanations
    first, *rows = book["lists"].iter_rows(min_row=3, values_only=True)
    assert first == (
        "start_level, goal_level, achieved_level, root_level, level", "applications, evenness",
        "condition_before, condition_after", "quoted_sessions", "tone_left",
    )  # fmt: skip
    lists = [[value for value in values if value is not None] for values in zip(*rows, strict=True)]
    assert [(values[0], values[-1], len(values)) for values in lists] == [
        (1, 10, 19), (1, 3, 3), (1, 5, 5), (1, 12, 12), (0, 100, 5),
    ]  # fmt: skip
    assert "leave them as they are" in book["lists"]["A1"].value


def test_example_row_is_sound_but_never_counted(path):
    with pytest.raises(InputError, match="no visits in it yet"):
        read_log(path)
    book = openpyxl.load_workbook(path)
    for table in TABLES:
        book[table]["A2"] = "V1"
    book.save(path)
    log = read_log(path)
    assert log.faults.empty
    assert [log.counts[table]["used"] for table in TABLES] == [1, 1, 1]


def test_rows_added_below_the_example_are_read(path):
    book = openpyxl.load_workbook(path)
    for table in TABLES:
        sheet = book[table]
        for cell in sheet[2]:
            sheet.cell(3, cell.column, cell.value)
        sheet["A3"] = "V1"
    book.save(path)
    log = read_log(path)
    assert [log.counts[table] for table in TABLES] == [{"in": 1, "used": 1, "set_aside": 0}] * 3
    assert sum("example row" in note for note in log.notes) == 3


def test_never_replaces_a_workbook(path):
    with pytest.raises(InputError, match="may hold a log"):
        write_blank_workbook(path)


def test_name_must_end_in_xlsx(tmp_path):
    with pytest.raises(InputError, match=r"ends in \.xlsx"):
        write_blank_workbook(tmp_path / "log.csv")


def test_the_same_bytes_every_time(path, tmp_path):
    write_blank_workbook(tmp_path / "again.xlsx")
    assert path.read_bytes() == (tmp_path / "again.xlsx").read_bytes()


def rules(path):
    """Table and column of every rule, with the rule."""
    book = openpyxl.load_workbook(path)
    return {
        (table, book[table].cell(1, part.min_col).value): (rule, part)
        for table in TABLES
        for rule in book[table].data_validations.dataValidation
        for part in rule.sqref.ranges
    }


def bars(rule):
    """Whether a spreadsheet says no to, or asks about, what isn't as the rule has it."""
    return rule.type not in (None, "none") and bool(rule.showErrorMessage)


@pytest.mark.parametrize(
    ("table", "name", "spelling"),
    [
        ("visits", "peroxide_pct", "6 %"), ("visits", "peroxide_pct", "20 vol"),
        ("visits", "minutes", "0:45"), ("visits", "planned_minutes", "1h05"),
        ("visits", "start_level", "7½"), ("visits", "achieved_level", "7/8"), ("visits", "mix_ratio", "1:2"),
        ("visits", "date", "20240314"), ("checks", "minutes", "20 min"),
        ("checks", "level", "L7"), ("visits", "toner_minutes", "5 min"), ("visits", "toner_ratio", "1:2"),
        ("washes", "tone_left", "75 %"), ("visits", "salon", "A"),
    ],
)  # fmt: skip
def test_no_rule_bars_a_spelling_that_check_reads(path, table, name, spelling):
    cells = pd.Categorical([spelling])
    assert list(read_cells(column(table, name), cells).codes) == [""]
    rule, _ = rules(path)[table, name]
    assert not bars(rule)
    assert rule.prompt


def test_fixed_values_have_a_drop_down(path):
    found = rules(path)
    for table in TABLES:
        for c in columns(table):
            rule, _ = found[table, c.name]
            assert (rule.type == "list") == bool(c.choices)
            if c.words:
                assert rule.formula1 == f'"{",".join(c.words)}"'
                assert bars(rule)


def test_rules_reach_10000_rows_below_the_headings(path):
    found = rules(path)
    assert len(found) == sum(len(columns(table)) for table in TABLES)
    assert {(part.min_row, part.max_row) for _, part in found.values()} == {(2, 10_001)}
