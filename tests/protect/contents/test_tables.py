"""Delimited text, Markdown tables and Parquet: what headings tell of the cells below them."""

from __future__ import annotations

from datetime import date

import pandas as pd
import pytest

from outcomes.protect.contents import tables
from outcomes.protect.contents.readable import Leaving
from outcomes.protect.disclosure import look_through
from outcomes.protect.private.codes import LogCodes, make_code


@pytest.mark.parametrize("mark", [",", ";", "\t", "|"])
def test_cells_under_their_headings(finds, mark):
    text = (
        "Team of 2024\n"
        + "Client ID,n,Date,Tel\n12,12,45365,5551234\n7,7,45352,5\nC001,x,2024-03-01,x\n".replace(",", mark)
    )
    assert finds(text, "x.csv") == [
        ("line 5, character 1", "client code", "C001"),
        ("line 3, column Client ID", "client code", "12"),
        ("line 3, column Date", "date", "45365"),
        ("line 3, column Tel", "phone", "5551234"),
    ]


def test_one_word_on_a_line_is_a_heading_in_a_table_alone(finds):
    assert finds("Client\n12\n", "x.txt") == []
    assert finds("Client\n12\n", "x.csv") == [("line 2, column Client", "client code", "12")]
    assert finds("Client;n\n12;1\n", "x.txt") == [("line 2, column Client", "client code", "12")]


def test_columns_of_what_stands_anywhere(finds):
    text = 'who,when,what\nx,2024-03-14,y\n"a,b",2024-03-01,C001\n'
    assert finds(text, "x.csv") == [
        ("line 2, character 3, column when", "date", "2024-03-14"),
        ("line 3, character 18, column what", "client code", "C001"),
    ]


def test_a_find_is_told_once_though_its_heading_tells_it_too(finds):
    assert finds("date,tel,client\n20240314,0151 234 5678,C001\n", "x.csv") == [
        ("line 2, character 1, column date", "date", "20240314"),
        ("line 2, character 10, column tel", "phone", "0151 234 5678"),
        ("line 2, character 24, column client", "client code", "C001"),
    ]  # fmt: skip


def test_rows_over_several_lines_keep_their_line(finds):
    text = 'client,remark\n12,"one\ntwo"\n12,x\n'
    assert [place for place, _, _ in finds(text, "x.csv")] == [
        "line 2, column client",
        "line 4, column client",
    ]


def test_a_byte_order_mark_and_windows_text(finds):
    for encoding in ("utf-8-sig", "utf-16"):
        assert [text for _, _, text in finds("client,x\n12,ü\n".encode(encoding), "x.csv")] == ["12"]
    assert [text for _, _, text in finds("x,C001,Größe\r\n".encode("cp1252"), "x.csv")] == ["C001"]


def test_dates_as_seconds_since_1970(finds):
    """As to_csv and to_json of a program write them; elsewhere a number is a number."""
    text = "date,n\n1710374400,1710374400\n1709251200000,1\n1699142400000,2\n"
    assert finds(text, "x.csv") == [
        ("line 2, column date", "date", "1710374400"),
        ("line 4, column date", "date", "1699142400000"),
    ]


def test_a_markdown_table(finds):
    text = "| Stylist | n |\n|:---|---:|\n| **A** | 12 |\n| B | A |\n\n| A | x |\n"
    assert finds(text, "x.md") == [("line 3, character 5", "stylist code", "A")]


def test_parquet_rows_count_as_a_spreadsheet_s(tmp_path, finds):
    frame = pd.DataFrame(
        {"client": [12, 7, 8], "when": [pd.Timestamp("2024-03-01"), pd.Timestamp("2024-03-14"), pd.NaT],
         "note": ["x", None, "C001"], "level": [0.104523, 12, 7]}
    )  # fmt: skip
    frame.to_parquet(tmp_path / "made.parquet", index=False)
    assert finds((tmp_path / "made.parquet").read_bytes(), "x.parquet") == [
        ("row 2, column client", "client code", "12"),
        ("row 3, column when", "date", "2024-03-14"),
        ("row 4, column note", "client code", "C001"),
    ]


def test_parquet_of_days_lists_and_names(tmp_path, finds):
    frame = pd.DataFrame({"C001": [date(2024, 3, 14)], "all": [["V00001", "x"]]})
    frame.to_parquet(tmp_path / "made.parquet", index=False)
    # by its content, whatever its name; what pandas notes about its columns is looked at too
    told = finds((tmp_path / "made.parquet").read_bytes(), "x.csv")
    assert ("headings", "client code", "C001") in told
    assert ("row 2, column C001", "date", "2024-03-14") in told
    assert ("row 2, column all", "visit code", "V00001") in told


def test_damaged_or_oversized_parquet_is_refused(tmp_path, look, monkeypatch):
    pd.DataFrame({"a": ["x"] * 1000}).to_parquet(tmp_path / "made.parquet")
    data = (tmp_path / "made.parquet").read_bytes()
    assert "damaged" in look(data[:-200], "x.parquet").refused["x.parquet"]
    monkeypatch.setattr(tables, "MAX_UNPACKED", 10)
    assert "unpacks to more than" in look(data, "x.parquet").refused["x.parquet"]


def test_a_code_written_without_its_zeros(tmp_path):
    """A program that reads 0815 as a number writes 815."""
    (tmp_path / "x.csv").write_text("client,n\n815,0815\n", encoding="utf-8")
    log = LogCodes("salon", (make_code("000815", ("client",)),), frozenset())
    told = look_through([Leaving(tmp_path / "x.csv", "x.csv", "x.csv")], log)
    assert [(find.place, find.text) for find in told.finds] == [("line 2, column client", "815")]


def test_a_line_too_long_for_a_cell_is_looked_at_as_text(finds):
    text = "x" * 150_000 + " C001\n"
    assert [code for _, _, code in finds(text, "x.txt")] == ["C001"]
    assert [code for _, _, code in finds("client,n\n12,7\n" + text, "x.csv")] == ["C001", "12"]
