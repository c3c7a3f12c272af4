"""Several sheets of one kind, codes that are made, and the order of day and month."""

from __future__ import annotations

import openpyxl
import pandas as pd
import pytest

from outcomes.errors import InputError
from outcomes.log.mapfile import LogMap
from outcomes.log.read import read_log


@pytest.fixture
def book(tmp_path):
    def write(**sheets):
        made = openpyxl.Workbook()
        made.remove(made.active)
        for title, rows in sheets.items():
            sheet = made.create_sheet(title.replace("_", " "))
            for row in rows:
                sheet.append(row)
        made.save(tmp_path / "salon.xlsx")
        return tmp_path / "salon.xlsx"

    return write


def sheet(visit, *cells, leave_out=()):
    rows = [{k: v for k, v in visit(**one).items() if k not in leave_out} for one in cells]
    return [list(rows[0]), *(list(row.values()) for row in rows)]


def test_one_sheet_a_month_is_one_log(book, visit):
    path = book(
        March=sheet(visit, {"visit": "V1"}, {"visit": "V2", "start_level": "x"}),
        April_2024=sheet(visit, {"visit": "V3"}),
        Prices=[["cut", "colour"], [30, 90]],
    )
    log = read_log(path)
    assert log.visits["visit"].tolist() == ["V1", "V3"]
    assert log.counts["visits"] == {"in": 3, "used": 2, "set_aside": 1}
    assert log.faults[["file", "row"]].to_numpy().tolist() == [["salon.xlsx, sheet March", 3]]


def test_a_visit_that_stands_on_two_sheets_is_repeated(book, visit):
    log = read_log(book(March=sheet(visit, {}), April=sheet(visit, {})))
    assert log.faults[["file", "code"]].to_numpy().tolist() == [["salon.xlsx, sheet April", "repeated"]]


def test_a_sheet_each_stylist_is_read_where_the_map_says_so(book, visit):
    path = book(
        Mo=sheet(visit, {"visit": "V1"}, leave_out=["stylist"]),
        Ra=sheet(visit, {"visit": "V2"}, leave_out=["stylist"]),
    )
    with pytest.raises(InputError, match="no column for stylist"):
        read_log(path)
    log = read_log(path, map_file=LogMap(sheet_names="stylist"))
    assert log.visits["stylist"].tolist() == ["Mo", "Ra"]
    assert log.repairs[["file", "row", "column", "from", "to", "rule"]].to_numpy().tolist() == [
        ["salon.xlsx, sheet Mo", 2, "stylist", "", "Mo", "sheet_name"],
        ["salon.xlsx, sheet Ra", 2, "stylist", "", "Ra", "sheet_name"],
    ]


def test_a_column_goes_before_the_name_of_its_sheet(book, visit):
    path = book(Mo=sheet(visit, {}), Ra=sheet(visit, {"visit": "V2"}, leave_out=["stylist"]))
    log = read_log(path, map_file=LogMap(sheet_names="stylist"))
    assert log.visits["stylist"].tolist() == ["S1", "Ra"]


def test_the_map_says_which_sheets_are_read(book, visit):
    path = book(March=sheet(visit, {"visit": "V1"}), Old=sheet(visit, {"visit": "V2"}))
    assert read_log(path, map_file=LogMap(sheets={"old": ""})).visits["visit"].tolist() == ["V1"]
    with pytest.raises(InputError, match="no sheet of visits; sheets found: March, Old"):
        read_log(path, map_file=LogMap(sheets={"old": "", "march": ""}))


def test_made_codes_are_one_for_a_client_s_day(folder, visit):
    rows = [visit(zone="roots"), visit(zone="lengths"), visit(date="2024-04-01"), visit(client="C2"),
            visit(client="")]  # fmt: skip
    rows = [{k: v for k, v in row.items() if k != "visit"} for row in rows]
    path = folder(visits=rows)
    with pytest.raises(InputError, match="no column for visit"):
        read_log(path)
    log = read_log(path, map_file=LogMap(visit_codes="client and date"))
    assert log.visits["visit"].tolist() == [
        "C1 2024-03-14",
        "C1 2024-03-14",
        "C1 2024-04-01",
        "C2 2024-03-14",
    ]
    assert set(log.faults["column"]) == {"visit", "client"}
    assert log.counts["visits"] == {"in": 5, "used": 4, "set_aside": 1}
    assert set(log.repairs["rule"]) == {"made_code"}


def test_a_column_of_codes_goes_before_made_ones(folder, visit):
    log = read_log(folder(visits=[visit()]), map_file=LogMap(visit_codes="client and date"))
    assert log.visits["visit"].tolist() == ["V1"]


def test_made_codes_are_the_same_however_the_day_is_written(folder, visit):
    rows = [visit(date="13.4.2024"), visit(client="C2", date="2024-04-13")]
    rows = [{k: v for k, v in row.items() if k != "visit"} for row in rows]
    log = read_log(folder(visits=rows), map_file=LogMap(visit_codes="client and date"))
    assert log.visits["visit"].tolist() == ["C1 2024-04-13", "C2 2024-04-13"]


def test_one_sheet_settles_the_order_of_days_of_all(book, visit):
    path = book(
        March=sheet(visit, {"visit": "V1", "date": "03/04/2024"}),
        April=sheet(visit, {"visit": "V2", "date": "25/04/2024"}),
    )
    assert read_log(path).visits["date"].tolist() == [pd.Timestamp("2024-04-03"), pd.Timestamp("2024-04-25")]


def test_sheets_that_contradict_each_other_settle_nothing_for_a_third(book, visit):
    path = book(
        A=sheet(visit, {"visit": "V1", "date": "25/04/2024"}),
        B=sheet(visit, {"visit": "V2", "date": "04/25/2024"}),
        C=sheet(visit, {"visit": "V3", "date": "03/04/2024"}),
    )
    with pytest.raises(InputError, match=r"sheet C: column date: 03/04/2024 \(row 2\) may be 2024-04-03"):
        read_log(path)


def test_dates_that_nothing_settles_are_refused_with_both_readings_and_the_option(folder, visit):
    path = folder(visits=[visit(date="03/04/2026"), visit(visit="V2", date="05/04/2026")])
    with pytest.raises(InputError) as refused:
        read_log(path)
    told = str(refused.value)
    assert "03/04/2026 (row 2) may be 2026-04-03 (day first) or 2026-03-04 (month first)" in told
    assert "--dates day-first or --dates month-first" in told
    for order, days in (
        ("day-first", ["2026-04-03", "2026-04-05"]),
        ("month-first", ["2026-03-04", "2026-05-04"]),
    ):
        found = read_log(path, dates=order)
        assert found.visits["date"].dt.strftime("%Y-%m-%d").tolist() == days
        assert set(found.repairs["rule"]) == {"slashed_date"}
        said = read_log(path, map_file=LogMap(dates=order))
        assert said.visits["date"].tolist() == found.visits["date"].tolist()


def test_a_date_against_the_declared_order_is_a_fault(folder, visit):
    path = folder(visits=[visit(date="03/04/2026"), visit(visit="V2", date="25/04/2026")])
    log = read_log(path, dates="month-first")
    assert log.faults[["row", "found", "code"]].to_numpy().tolist() == [[3, "25/04/2026", "date_order"]]
    assert "in the declared order, month first" in log.faults["message"][0]
    with pytest.raises(InputError, match='dates: found "dmy"; expected day-first or month-first'):
        read_log(path, dates="dmy")


def test_cells_merged_over_rows_are_listed_as_repairs(tmp_path, visit):
    made = openpyxl.Workbook()
    rows = sheet(visit, {"visit": "V1"}, {"visit": "V2"})
    for row in rows:
        made.active.append(row)
    made.active.title = "visits"
    client = rows[0].index("client") + 1
    made.active.merge_cells(start_row=2, end_row=3, start_column=client, end_column=client)
    made.save(tmp_path / "merged.xlsx")
    log = read_log(tmp_path / "merged.xlsx")
    assert log.visits["client"].tolist() == ["C1", "C1"]
    assert log.repairs[["row", "column", "from", "to", "rule"]].to_numpy().tolist() == [
        [3, "client", "", "C1", "merged_cell"]
    ]


def test_a_date_that_leaves_no_code_to_be_made_is_one_fault(folder, visit):
    """The visit's column isn't there: nobody could fill it in."""
    rows = [{k: v for k, v in visit(date=date, **{"20 min": "5"}).items() if k != "visit"}
            for date in ("2024-03-14", "soon", "", "2024-02-30")]  # fmt: skip
    rows.append(rows[0] | {"client": ""})
    log = read_log(folder(visits=rows), map_file=LogMap(visit_codes="client and date"))
    of_visits = log.faults[log.faults["code"] != "visit_set_aside"]
    assert of_visits[["row", "column", "code"]].to_numpy().tolist() == [
        [3, "date", "unreadable"], [4, "date", "missing"], [5, "date", "no_such_date"],
        [6, "visit", "missing"], [6, "client", "missing"],
    ]  # fmt: skip
    assert "visit has no code; expected a client and a date" in of_visits["message"].iloc[3]
    # looks in the same row say why they go with it
    others = log.faults[log.faults["code"] == "visit_set_aside"]
    assert others["code"].tolist() == ["visit_set_aside"] * 4
    assert others["message"].iloc[0] == (
        "visits.csv row 3: visit has no code; expected a client and a date to make one from; mend the "
        "visit's own row"
    )
    assert log.counts["visits"] == {"in": 5, "used": 1, "set_aside": 4}
    assert log.counts["checks"] == {"in": 5, "used": 1, "set_aside": 4}


def test_dates_above_the_headings_make_no_codes(folder, visit):
    """A title is no row: its date doesn't say how those of the rows are written."""
    text = "Our visits,,from 13/04/2024\n13/04/2024,,\n"
    rows = [visit(date=date) for date in ("2024-03-14", "05/06/2024")]
    heads = [name for name in rows[0] if name != "visit"]
    heads.insert(0, heads.pop(heads.index("date")))
    text += "\n".join(",".join(line) for line in [heads, *([row[name] for name in heads] for row in rows)])
    log = read_log(folder(visits=text), map_file=LogMap(visit_codes="client and date"))
    assert log.faults[["row", "column", "code"]].to_numpy().tolist() == [[5, "date", "date_unsettled"]]


def test_totals_below_two_months_are_no_visit_that_comes_again(book, visit):
    total = dict.fromkeys(visit(), "") | {"visit": "Total", "minutes": "90"}
    later = {"visit": "V2", "date": "2024-04-14"}
    log = read_log(book(June=sheet(visit, {}, total), July=sheet(visit, later, total)))
    assert log.faults[["found", "code"]].to_numpy().tolist() == [["Total", "summary"]] * 2
    assert log.counts["visits"] == {"in": 4, "used": 2, "set_aside": 2}
