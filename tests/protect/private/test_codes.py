"""Which codes a log holds, and which of them tell themselves."""

from __future__ import annotations

from datetime import date

import pytest

from outcomes.errors import InputError
from outcomes.protect.private.codes import codes_of_log, heading_of, make_code

HEAD = (
    "visit,client,stylist,salon,date,hair,start_level,goal_level,peroxide_pct,heat,minutes,"
    "achieved_level,stop"
)
ROW = "V1,C1,S1,A,2024-03-14,natural,4,8,6,low,45,7.5,time"


def written(folder, *rows, head=HEAD, **tables):
    (folder / "visits.csv").write_text("\n".join([head, *rows]) + "\n", encoding="utf-8")
    for name, text in tables.items():
        (folder / f"{name}.csv").write_text(text, encoding="utf-8")
    return codes_of_log(folder)


@pytest.mark.parametrize(
    ("text", "is_telling"),
    [("C001", True), ("S1", True), ("Mrs K 12", True), ("JS", True), ("Anna", True), ("104523", True),
     ("A-1", True),
     ("2024-07", True), ("client 12", True), ("A", False), ("7", False), ("12", False), ("10452", False),
     ("7.5", False), ("12-34", False), ("ash", False), ("none", False), ("Walk in", False), ("may", False),
     ("AM", False), ("n/a", False), ("w3", False), ("***", False)],
)  # fmt: skip
def test_which_codes_tell_themselves(text, is_telling):
    assert make_code(text, ("client",)).is_telling is is_telling


def test_codes_of_rows_that_cannot_be_used_count(tmp_path):
    """The second row lacks its stop, the third has a level off the grid, the fourth ends early."""
    rows = (ROW, "V2,C2,S1,A,2024-03-15,natural,4,8,6,low,45,7.5,", ROW.replace("V1,C1",
    "V3,C3").replace("4,8", "4.2,8"),
            "V4,C4,S9")  # fmt: skip
    log = written(
        tmp_path, *rows, checks="visit,minutes,level\nV8,20,6\n", washes="visit,washes,level\nV9,3,7\n"
    )
    texts = {
        name: {code.text for code in log.codes if name in code.columns}
        for name in ("visit", "client", "stylist")
    }
    assert texts == {
        "visit": {"V1", "V2", "V3", "V4", "V8", "V9"},
        "client": {"C1", "C2", "C3", "C4"},
        "stylist": {"S1", "S9"},
    }
    assert log.days == {date(2024, 3, 14), date(2024, 3, 15)}


def test_a_date_that_can_be_read_in_two_ways_is_both_days(tmp_path):
    log = written(tmp_path, ROW.replace("2024-03-14", "03/04/2024"))
    assert log.days == {date(2024, 3, 4), date(2024, 4, 3)}


def test_the_example_row_holds_no_code(tmp_path):
    log = written(tmp_path, ROW, ROW.replace("V1,C1,S1", "example,C77,S77"))
    assert {code.text for code in log.codes} == {"V1", "C1", "S1", "A"}


def test_columns_that_compete_are_private_too(tmp_path):
    """Nothing settles which of two columns is the lightener's: a log keeps both out; both may be codes."""
    head = HEAD + ",lightener,product code"
    log = written(tmp_path, ROW + ",P11,P22", head=head)
    assert {code.text for code in log.codes if "product" in code.columns} == {"P11", "P22"}


def test_names_of_clients_that_a_log_keeps_out_are_looked_for(tmp_path):
    log = written(tmp_path, ROW + ",Jane Example,blonde", head=HEAD + ",Client name,remark")
    assert [code.text for code in log.codes if code.columns == ("client",)] == ["C1", "Jane Example"]


def test_a_log_with_headings_of_its_own_is_read_by_its_map(tmp_path):
    head = HEAD.replace("client", "Kundin").replace("date", "Tag")
    (tmp_path / "map.toml").write_text('[visits]\nKundin = "client"\nTag = "date"\n')
    (tmp_path / "visits.csv").write_text(f"{head}\n{ROW.replace('2024-03-14', '03/04/2024')}\n")
    with pytest.raises(InputError, match="map"):
        codes_of_log(tmp_path)
    log = codes_of_log(tmp_path, map_file=tmp_path / "map.toml", dates="day-first")
    assert {code.text for code in log.codes if "client" in code.columns} == {"C1"}
    assert log.days == {date(2024, 4, 3)}


def test_codes_that_a_map_makes_or_takes_from_sheets(tmp_path):
    """Without a column of visit codes a visit is its client's day; a sheet is its stylist's."""
    openpyxl = pytest.importorskip("openpyxl")
    book = openpyxl.Workbook()
    book.active.title = "Anna"
    for row in (
        HEAD.replace("visit,", "").replace("stylist,", ""),
        ROW.replace("V1,", "").replace("S1,", ""),
    ):
        book.active.append(row.split(","))
    book.save(tmp_path / "log.xlsx")
    (tmp_path / "map.toml").write_text('visit_codes = "client and date"\nsheet_names = "stylist"\n')
    log = codes_of_log(tmp_path / "log.xlsx", map_file=tmp_path / "map.toml")
    assert {code.columns[0]: code.text for code in log.codes} == {
        "visit": "C1 2024-03-14", "client": "C1", "stylist": "Anna", "salon": "A"}  # fmt: skip


def test_one_code_of_two_columns(tmp_path):
    log = written(tmp_path, ROW.replace("C1,S1", "X9,X9"))
    assert next(code.columns for code in log.codes if code.text == "X9") == ("client", "stylist")
    assert log.counts()["client"] == {"everywhere": 1, "under_headings": 0}
    assert log.counts()["salon"] == {"everywhere": 0, "under_headings": 1}
    assert set(log.counts(without=["salon"])) == {"visit", "client", "stylist"}


def test_a_log_without_visits_has_nothing_to_look_for(tmp_path):
    with pytest.raises(InputError, match="no visits in it yet"):
        written(tmp_path)


@pytest.mark.parametrize(
    ("heading", "what"),
    [("Client ID", "client"), ("client_no", "client"), ("data-client", "client"), ("Colourist", "stylist"),
     ("visit", "visit"), ("Lightener", "product"), ("date", "date"), ("Visit date", "date"), ("Tel.",
     "phone"),
     ("Mobile number", "phone"), ("Client number", "client"), ("Code of visit", "visit"), ("Client name",
     ""), ("minutes", ""), ("visits", ""), ("", ""), ("x" * 100, "")],
)  # fmt: skip
def test_headings(heading, what):
    assert heading_of(heading) == what
