"""Workbooks and Parquet: typed cells become what a person would have written."""

from __future__ import annotations

import zipfile
from datetime import date, datetime, time, timedelta

import numpy as np
import openpyxl
import pandas as pd
import pytest
import xlsxwriter
from openpyxl.utils.datetime import MAC_EPOCH

from outcomes.errors import InputError
from outcomes.log import unpacked
from outcomes.log.proposal import propose_map
from outcomes.log.read import read_log
from outcomes.log.workbook import cell_text


@pytest.mark.parametrize(
    ("value", "text"),
    [(3.0, "3"), (7.5, "7.5"), (True, "TRUE"), (None, ""), (float("nan"), ""), (pd.NaT, ""), ("x", "x"),
     (date(2024, 2, 29), "2024-02-29"), (datetime(2024, 2, 29), "2024-02-29"), (np.float64(4), "4"),
     (datetime(2024, 2, 29, 12, 30), "2024-02-29 12:30:00"), (time(0, 45), "0:45"), (np.int64(1017), "1017"),
     (timedelta(minutes=65), "1:05"), (time(0, 45, 30), "0:45:30")],
)  # fmt: skip
def test_cell_text(value, text):
    assert cell_text(value) == text


def book(tmp_path, rows, *, title="Visits ", epoch=None, name="salon.xlsx"):
    made = openpyxl.Workbook()
    if epoch:
        made.epoch = epoch
    sheet = made.active
    sheet.title = title
    for row in rows:
        sheet.append(row)
    made.save(tmp_path / name)
    return tmp_path / name


def rows_of(build, /, **cells):
    row = build() | cells
    return [list(row), list(row.values())]


def test_typed_cells_of_a_sheet(tmp_path, visit):
    cells = {"date": date(2024, 2, 29), "minutes": time(0, 45), "start_level": 4.0, "visit": 1017.0}
    log = read_log(book(tmp_path, [["Our log"], [], *rows_of(visit, patch_test=True, **cells)]))
    first = log.visits.iloc[0]
    assert first["visit"] == "1017"
    assert first["date"] == pd.Timestamp("2024-02-29")
    assert (first["minutes"], first["start_level"], first["patch_test"]) == (45, 4, "yes")
    assert log.counts["visits"] == {"in": 1, "used": 1, "set_aside": 0}


def test_rows_keep_their_sheet_numbers(tmp_path, visit):
    head, good = rows_of(visit)
    bad = rows_of(visit, visit="V2", heat="tepid")[1]
    log = read_log(book(tmp_path, [["Our log"], [], head, good, [], bad]))
    assert list(log.faults["row"]) == [6]
    assert log.faults["file"][0] == "salon.xlsx, sheet Visits "


@pytest.mark.parametrize(("epoch", "serial"), [(None, 45351), (MAC_EPOCH, 45351 - 1462)])
def test_bare_serials_count_from_the_workbooks_own_day(tmp_path, visit, epoch, serial):
    log = read_log(book(tmp_path, rows_of(visit, date=serial), epoch=epoch))
    assert log.visits["date"][0] == pd.Timestamp("2024-02-29")


def test_shares_typed_as_percent(tmp_path, visit):
    path = book(tmp_path, rows_of(visit))
    made = openpyxl.load_workbook(path)
    sheet = made.create_sheet("washes")
    for row in (["visit", "washes", "tone_left"], ["V1", 3, 0.75], ["V1", 1, 1]):
        sheet.append(row)
    for i in (2, 3):
        sheet.cell(i, 3).number_format = "0%"
    made.save(path)
    log = read_log(path)
    assert list(log.washes["tone_left"]) == [75, 100]
    assert any("tone_left: 2 cells read from other spellings" in note for note in log.notes)


def test_date_cell_on_the_day_that_never_was_is_a_fault(tmp_path, visit):
    path = book(tmp_path, rows_of(visit, date=60))
    made = openpyxl.load_workbook(path)
    made.active.cell(2, list(visit()).index("date") + 1).number_format = "yyyy-mm-dd"
    made.save(path)
    assert list(read_log(path).faults["code"]) == ["unreadable"]


def test_cell_merged_over_rows_stands_for_all_of_them(tmp_path, visit):
    head, first = rows_of(visit)
    second = rows_of(visit, visit="V2", client=None)[1]
    path = book(tmp_path, [head, first, second])
    made = openpyxl.load_workbook(path)
    at = head.index("client") + 1
    made.active.merge_cells(start_row=2, end_row=3, start_column=at, end_column=at)
    made.save(path)
    assert list(read_log(path).visits["client"]) == ["C1", "C1"]


def test_level_that_became_a_date_is_explained(tmp_path, visit):
    log = read_log(book(tmp_path, rows_of(visit, achieved_level=date(2024, 8, 7))))
    assert "write 7.5 for 7/8, as text" in log.faults["message"][0]


ERRORS = ("#REF!", "#VALUE!", "#DIV/0!", "#NAME?", "#NUM!", "#NULL!")


@pytest.mark.parametrize("error", ERRORS)
@pytest.mark.parametrize("name", ["visit", "client", "date", "hair", "minutes", "start_level", "stop"])
def test_a_failed_formula_in_a_needed_column_is_a_fault(tmp_path, visit, error, name):
    head, good = rows_of(visit)
    bad = rows_of(visit, **({"visit": "V2"} | {name: error}))[1]
    log = read_log(book(tmp_path, [["Our log"], head, good, bad]))
    told = log.faults[["row", "column", "found", "code"]].to_numpy().tolist()
    assert told == [[4, name, error, "unreadable"]]
    assert log.faults["message"][0].endswith("; a formula failed there; write the value itself")


def test_a_failed_formula_in_another_column_is_a_warning(tmp_path, visit):
    head, first = rows_of(visit, salon="#REF!", texture="#NAME?", course="#N/A", looks="#N/A")
    log = read_log(book(tmp_path, [head, first]))
    assert log.faults.empty
    told = log.warnings[["row", "column", "found", "code"]].iloc[:2].to_numpy().tolist()
    assert told == [
        [2, "salon", "#REF!", "unreadable_optional"],
        [2, "texture", "#NAME?", "unreadable_optional"],
    ]
    assert list(log.warnings["code"][2:]) == ["no_checks"]
    assert log.visits[["salon", "texture", "course", "looks"]].isna().all(axis=None)


def test_a_failed_formula_is_found_on_whichever_sheet_it_stands(tmp_path, visit):
    path = book(tmp_path, rows_of(visit))
    made = openpyxl.load_workbook(path)
    for i, title in enumerate(("notes", "checks")):
        sheet = made.create_sheet(title, i)
        for row in (["visit", "minutes", "level"], ["V1", 20, "#NUM!"], ["V1", 30, 6]):
            sheet.append(row)
    made.save(path)
    log = read_log(path)
    assert log.faults[["file", "row", "found"]].to_numpy().tolist() == [
        ["salon.xlsx, sheet checks", 2, "#NUM!"]
    ]
    assert log.counts["visits"]["used"] == 1


def test_failed_formulas_of_another_program(tmp_path, visit):
    """xlsxwriter writes the formula beside the error, and cells without content."""
    head, first = rows_of(visit)
    with xlsxwriter.Workbook(tmp_path / "salon.xlsx") as made:
        sheet = made.add_worksheet("visits")
        sheet.write_row(0, 0, head)
        sheet.write_row(1, 0, first)
        sheet.write_blank(1, len(head), None, made.add_format({"bold": True}))
        sheet.write_formula(1, head.index("minutes"), "=Times!#REF!+1", None, "#REF!")
    log = read_log(tmp_path / "salon.xlsx")
    assert log.faults[["row", "column", "found"]].to_numpy().tolist() == [[2, "minutes", "#REF!"]]


def test_missing_sheet_names_those_found(tmp_path, visit):
    with pytest.raises(InputError, match="no sheet of visits; sheets found: Data; name one of them visits"):
        read_log(book(tmp_path, [["remark", "visit"], ["x", "V1"]], title="Data"))


def test_a_sheet_is_known_by_its_headings_where_none_is_named_visits(tmp_path, visit):
    log = read_log(book(tmp_path, rows_of(visit), title="Data"))
    assert log.counts["visits"] == read_log(book(tmp_path, rows_of(visit))).counts["visits"]


def test_not_a_workbook(tmp_path):
    (tmp_path / "log.xlsx").write_text("visit,client\n")
    with pytest.raises(InputError, match=r"not an \.xlsx workbook"):
        read_log(tmp_path / "log.xlsx")


def test_damaged_workbook(tmp_path):
    with zipfile.ZipFile(tmp_path / "log.xlsx", "w") as parts:
        parts.writestr("xl/workbook.xml", "<workbook")
    with pytest.raises(InputError, match="damaged workbook"):
        read_log(tmp_path / "log.xlsx")


def test_unpacking_limit(tmp_path, visit, monkeypatch):
    path = book(tmp_path, rows_of(visit))
    monkeypatch.setattr(unpacked, "MAX_UNPACKED", 100)
    with pytest.raises(InputError, match="unpacks to more than"):
        read_log(path)


def test_parquet_reads_as_csv_does(tmp_path, visit, folder):
    rows = [visit(), visit(visit="V2", minutes="0"), visit(visit="V3", texture="fine")]
    by_csv = read_log(folder(visits=rows))
    frame = pd.DataFrame(rows).assign(date=pd.Timestamp("2024-03-14"))
    frame = frame.assign(**{n: frame[n].astype(float) for n in ("start_level", "goal_level", "minutes")})
    frame.to_parquet(tmp_path / "visits.parquet")
    by_parquet = read_log(tmp_path / "visits.parquet")
    pd.testing.assert_frame_equal(by_csv.visits, by_parquet.visits)
    assert list(by_parquet.faults["row"]) == list(by_csv.faults["row"]) == [3]


def test_damaged_parts_are_refused_never_a_traceback(tmp_path, visit):
    """Single bytes of a sound workbook and of a sound Parquet file are changed, seeded."""
    path = book(tmp_path, rows_of(visit))
    pd.DataFrame([visit()]).to_parquet(tmp_path / "visits.parquet")
    rng = np.random.default_rng(3)
    outcomes = set()
    for source in (path, tmp_path / "visits.parquet"):
        whole = np.frombuffer(source.read_bytes(), dtype=np.uint8)
        for _ in range(150):
            spoilt = whole.copy()
            spoilt[rng.integers(0, len(whole), 3)] = rng.integers(0, 256, 3)
            source.write_bytes(spoilt.tobytes())
            try:
                outcomes.add(read_log(source).counts["visits"]["in"] >= 1)
            except InputError as error:
                outcomes.add("one line" if "\n" not in str(error) else str(error))
    assert outcomes == {True, "one line"}


def test_not_parquet(tmp_path):
    (tmp_path / "visits.parquet").write_bytes(b"PAR1 no")
    with pytest.raises(InputError, match="not a Parquet file"):
        read_log(tmp_path)


@pytest.mark.parametrize("state", ["hidden", "veryHidden"])
def test_a_hidden_sheet_is_read_and_said_to_be_hidden(tmp_path, visit, state):
    book = openpyxl.Workbook()
    book.remove(book.active)
    for name, code in (("March", "V1"), ("old", "V2")):
        sheet = book.create_sheet(name)
        row = visit(visit=code)
        sheet.append(list(row))
        sheet.append(list(row.values()))
    book["old"].sheet_state = state
    path = tmp_path / "salon.xlsx"
    book.save(path)
    log = read_log(path)
    assert log.visits["visit"].tolist() == ["V1", "V2"]
    assert [note for note in log.notes if "hidden" in note] == [
        'salon.xlsx, sheet old: the sheet is hidden, and was read; "" in a map leaves it out'
    ]
    lines = {one.heading: one.reason for one in propose_map(path).lines if one.table == "sheets"}
    assert lines == {
        "March": "by its headings",
        "old": 'by its headings; the sheet is hidden: "" leaves it out',
    }
    told = tmp_path / "map.toml"
    told.write_text('[sheets]\nold = ""\n', encoding="utf-8")
    assert read_log(path, map_file=told).visits["visit"].tolist() == ["V1"]


def test_a_hidden_sheet_of_the_log_s_own_name_is_in_the_map(tmp_path, visit):
    book = openpyxl.Workbook()
    book.active.title = "visits"
    book.active.append(list(visit()))
    book.active.append(list(visit().values()))
    book.create_sheet("notes")
    book["visits"].sheet_state = "hidden"
    book.active = 1
    book.save(tmp_path / "salon.xlsx")
    first = propose_map(tmp_path / "salon.xlsx").lines[0]
    assert (first.table, first.heading, first.means) == ("sheets", "visits", "visits")
    assert first.reason == 'by its name; the sheet is hidden: "" leaves it out'
