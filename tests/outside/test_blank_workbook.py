"""The blank workbook read back by another library (openpyxl 3.1): a drop-down for all fixed values."""

from __future__ import annotations

import openpyxl
import pytest

from outcomes.log.blank import write_blank_workbook
from outcomes.log.schema import TABLES, columns

# fixed values of the visit log, written out here so that a slip in the schema shows
LEVELS = [n / 2 for n in range(2, 21)]
TONES = ["neutral", "ash", "violet", "gold", "copper", "red", "other"]
FIXED = {
    ("visits", "zone"): ["roots", "lengths", "ends", "all"],
    ("visits", "hair"): ["natural", "coloured", "lightened"],
    ("visits", "texture"): ["fine", "medium", "coarse"],
    ("visits", "start_level"): LEVELS,
    ("visits", "goal_level"): LEVELS,
    ("visits", "wrap"): ["foil", "open", "film"],
    ("visits", "heat"): ["none", "low", "medium", "high"],
    ("visits", "applications"): [1, 2, 3],
    ("visits", "achieved_level"): LEVELS,
    ("visits", "stop"): ["target", "time", "condition", "other"],
    ("visits", "condition_before"): [1, 2, 3, 4, 5],
    ("visits", "condition_after"): [1, 2, 3, 4, 5],
    ("visits", "warmth"): ["none", "pale_yellow", "yellow", "orange", "red"],
    ("visits", "evenness"): [1, 2, 3],
    ("visits", "colour_history"): ["none", "one", "several"],
    ("visits", "course_end"): ["reached", "given_up", "open"],
    ("visits", "quoted_sessions"): list(range(1, 13)),
    ("visits", "patch_test"): ["yes", "no"],
    ("visits", "strand_test"): ["yes", "no"],
    ("visits", "root_level"): LEVELS,
    ("visits", "root_tone"): TONES,
    ("visits", "toner_tone"): [*TONES, "silver", "beige", "pearl"],
    ("checks", "zone"): ["roots", "lengths", "ends", "all"],
    ("checks", "level"): LEVELS,
    ("checks", "read_on"): ["product", "wet", "dry"],
    ("washes", "zone"): ["roots", "lengths", "ends", "all"],
    ("washes", "level"): LEVELS,
    ("washes", "tone_left"): [0, 25, 50, 75, 100],
    ("washes", "shampoo"): ["plain", "sulphate_free", "pigmented"],
}


@pytest.fixture(scope="module")
def book(tmp_path_factory):
    path = tmp_path_factory.mktemp("blank") / "log.xlsx"
    write_blank_workbook(path)
    return openpyxl.load_workbook(path)


def rules(sheet):
    """Rule of each column by its heading."""
    found = {}
    for rule in sheet.data_validations.dataValidation:
        (area,) = rule.sqref.ranges
        assert area.min_col == area.max_col
        assert (area.min_row, area.max_row) == (2, 10_001)
        found[sheet.cell(1, area.min_col).value] = rule
    return found


def listed(book, formula):
    """Values behind a list rule: written in it, or standing in cells."""
    if formula.startswith('"'):
        return formula.strip('"').split(",")
    name, _, area = formula.rpartition("!")
    return [row[0].value for row in book[name.strip("'")][area.replace("$", "")]]


@pytest.mark.parametrize("table", TABLES)
def test_every_column_of_fixed_values_has_its_drop_down_and_no_other(book, table):
    lists = {name: rule for name, rule in rules(book[table]).items() if rule.type == "list"}
    assert {(table, name): listed(book, rule.formula1) for name, rule in lists.items()} == {
        key: values for key, values in FIXED.items() if key[0] == table
    }
    # despite its name, showDropDown hides the arrow
    assert not any(rule.showDropDown for rule in lists.values())
    # words are held to the list; levels may also be written as 7½ or 7/8, and shares as 50 %
    free = {name for name, rule in lists.items() if not rule.showErrorMessage}
    assert free == {name for name in lists if name.endswith("level") or name == "tone_left"}


@pytest.mark.parametrize("table", TABLES)
def test_every_column_explains_itself_where_it_is_filled_in(book, table):
    told = rules(book[table])
    for column in columns(table):
        assert told[column.name].prompt == column.meaning
    headings = next(book[table].iter_rows(min_row=1, max_row=1))
    assert all(cell.comment is not None for cell in headings)


def test_numbers_of_a_drop_down_stand_below_the_names_of_their_columns(book):
    for table in TABLES:
        for name, rule in rules(book[table]).items():
            if rule.type == "list" and not rule.formula1.startswith('"'):
                sheet, _, area = rule.formula1.rpartition("!")
                letter, first = area.replace("$", "").split(":")[0][0], int(area.split("$")[2].strip(":"))
                heading = book[sheet.strip("'=")][f"{letter}{first - 1}"].value
                assert name in heading.split(", ")


def test_words_fit_a_spreadsheets_limit(book):
    formulas = [
        rule.formula1 for table in TABLES for rule in rules(book[table]).values() if rule.type == "list"
    ]
    assert max(map(len, formulas)) <= 257  # 255 characters and two quotes
