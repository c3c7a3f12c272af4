"""Formulas and links in a workbook: what the cell last showed is read, nothing is worked out or fetched."""

from __future__ import annotations

import io
import socket
import time
import zipfile

import openpyxl
import pytest
import xlsxwriter

from outcomes.errors import InputError
from outcomes.log.read import read_log
from outcomes.log.sheet_xml import formula_cells


def written(path, visit, **formulas):
    """One visit; each named cell is a formula and what it last showed."""
    row = visit()
    with xlsxwriter.Workbook(path) as book:
        sheet = book.add_worksheet("visits")
        for at, (name, value) in enumerate(row.items()):
            sheet.write_string(0, at, name)
            if name in formulas:
                formula, shown = formulas[name]
                sheet.write_formula(1, at, formula, None, shown)
            else:
                sheet.write_string(1, at, value)
    return path


def test_what_a_formula_last_showed_is_read_and_never_worked_out(tmp_path, visit):
    """20 + 20 would be 40; the cell says 45."""
    path = written(
        tmp_path / "log.xlsx",
        visit,
        minutes=("=20+20", 45),
        client=('=HYPERLINK("http://example.org/","C7")', "C7"),
        stylist=("=[other.xlsx]Sheet1!A1", "S9"),
    )
    first = read_log(path).visits.iloc[0]
    assert (first["minutes"], first["client"], first["stylist"]) == (45, "C7", "S9")


def test_a_formula_that_never_showed_anything_is_an_empty_cell(tmp_path, visit):
    """As a library writes one that no spreadsheet program has opened yet."""
    row = visit()
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.title = "visits"
    sheet.append(list(row))
    sheet.append([*list(row.values())[:-3], "=40+5", *list(row.values())[-2:]])
    assert list(row)[-3] == "minutes"
    book.save(tmp_path / "log.xlsx")
    log = read_log(tmp_path / "log.xlsx")
    assert log.counts["visits"] == {"in": 1, "used": 0, "set_aside": 1}
    assert log.faults[["column", "code"]].to_numpy().tolist() == [["minutes", "missing"]]


def unopened(path, rows, **cells):
    """As a library writes a workbook that no spreadsheet program has opened yet."""
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.title = "visits"
    sheet.append(list(rows[0]))
    for row in rows:
        sheet.append(list(row.values()))
    for place, formula in cells.items():
        sheet[place] = formula
    book.save(path)
    return path


def test_a_formula_without_a_value_says_so(tmp_path, visit):
    """J is minutes, B the client; in the last row nothing else stands."""
    rows = [visit(), visit(visit="V2"), dict.fromkeys(visit())]
    path = unopened(tmp_path / "log.xlsx", rows, J3="=40+5", J4="=J3", B2='=HYPERLINK("x","C1")')
    assert list(rows[0])[9] == "minutes"
    log = read_log(path)
    assert log.counts["visits"] == {"in": 3, "used": 0, "set_aside": 3}
    assert log.notes[0] == (
        "log.xlsx, sheet visits: 3 cells hold formulas without a value, as before a spreadsheet program has "
        "opened the file; open and save the workbook in the spreadsheet program, or write the values "
        "themselves"
    )
    first = log.faults.iloc[0]
    assert (first["row"], first["column"], first["code"]) == (2, "client", "missing")
    assert log.faults["message"][1] == (
        "log.xlsx, sheet visits row 3: minutes (formula without a value); expected 1 to 180 minutes; open "
        "and save the workbook in the spreadsheet program, or write the values themselves"
    )
    assert "fill it in" not in first["message"]


def test_one_that_a_row_can_do_without_is_a_warning(tmp_path, visit):
    row = visit(product="P1", toner_minutes="5", zone="roots")
    path = unopened(tmp_path / "log.xlsx", [row, row | {"visit": "V2"}], M2="=A1", N2="=1", O3="=1")
    log = read_log(path)
    told = log.warnings[log.warnings["code"] == "unreadable_optional"]
    assert told[["row", "column"]].to_numpy().tolist() == [[2, "product"], [2, "toner_minutes"]]
    assert told["message"].str.contains("open and save the workbook").all()
    # which zone it is would be a guess
    assert log.faults[["row", "column", "code"]].to_numpy().tolist() == [[3, "zone", "unreadable"]]


def test_a_formula_that_gave_empty_text_is_an_empty_cell(tmp_path, visit):
    path = written(tmp_path / "log.xlsx", lambda: visit(product="P1"), product=('=""', "GONE"))
    part = "xl/worksheets/sheet1.xml"
    with zipfile.ZipFile(path) as old:
        parts = {name: old.read(name) for name in old.namelist()}
    assert b't="str"' in parts[part]
    parts[part] = parts[part].replace(b"<v>GONE</v>", b"<v></v>")
    with zipfile.ZipFile(path, "w") as new:
        for name, data in parts.items():
            new.writestr(name, data)
    log = read_log(path)
    assert log.counts["visits"]["used"] == 1
    assert not any("formula" in note for note in log.notes)


def test_looking_for_formulas_takes_no_time_where_tags_never_close(tmp_path):
    """Begun again at each of them, a search to the end would take hours."""
    path = tmp_path / "log.xlsx"
    written(path, dict)
    with zipfile.ZipFile(path) as old:
        parts = {name: old.read(name) for name in old.namelist()}
    for junk in (b"<c " * 500_000 + b">", b"<c r='A1'><f>" * 200_000, b"<c r='A1'><f " * 200_000):
        with zipfile.ZipFile(path, "w") as new:
            for name, data in parts.items():
                new.writestr(name, junk if name == "xl/worksheets/sheet1.xml" else data)
        started = time.perf_counter()
        assert formula_cells(path, "visits") == []
        assert time.perf_counter() - started < 5


def test_text_that_looks_like_a_formula_stays_text(tmp_path, visit):
    path = written(tmp_path / "log.xlsx", lambda: visit(client="=1+1", salon="+cmd|' /C calc'!A0"))
    log = read_log(path)
    assert log.visits[["client", "salon"]].to_numpy().tolist() == [["=1+1", "+cmd|' /C calc'!A0"]]


def test_links_to_other_files_and_places_are_never_followed(tmp_path, visit, monkeypatch):
    """A link to another workbook, to a web page, and a connection: a name looked up would end the test."""
    path = written(tmp_path / "log.xlsx", visit, minutes=("=[1]Sheet1!A1", 45))
    with zipfile.ZipFile(path) as old:
        parts = {name: old.read(name) for name in old.namelist()}
    main = "http://schemas.openxmlformats.org"
    parts["xl/externalLinks/externalLink1.xml"] = (
        f'<externalLink xmlns="{main}/spreadsheetml/2006/main"><externalBook '
        f'xmlns:r="{main}/officeDocument/2006/relationships" r:id="rId1"/></externalLink>'
    ).encode()
    parts["xl/externalLinks/_rels/externalLink1.xml.rels"] = (
        f'<Relationships xmlns="{main}/package/2006/relationships"><Relationship Id="rId1" '
        f'Type="{main}/officeDocument/2006/relationships/externalLinkPath" '
        'Target="http://example.org/other.xlsx" TargetMode="External"/></Relationships>'
    ).encode()
    rels = "xl/_rels/workbook.xml.rels"
    parts[rels] = parts[rels].replace(
        b"</Relationships>",
        (
            f'<Relationship Id="rId99" Type="{main}/officeDocument/2006/relationships/externalLink" '
            'Target="externalLinks/externalLink1.xml"/></Relationships>'
        ).encode(),
    )
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w") as new:
        for name, data in parts.items():
            new.writestr(name, data)
    path.write_bytes(made.getvalue())

    def nobody(*_args, **_rest):
        pytest.fail("something outside was asked for")

    for name in ("socket", "create_connection", "getaddrinfo"):
        monkeypatch.setattr(socket, name, nobody)
    log = read_log(path)
    assert log.visits["minutes"].tolist() == [45]
    assert log.faults.empty


def test_a_part_that_names_an_outside_entity_reads_nothing_of_it(tmp_path, visit):
    """An XML entity that stands for a file of this machine is not put in its place."""
    secret = tmp_path / "secret.txt"
    secret.write_text("C-secret")
    path = written(tmp_path / "log.xlsx", lambda: visit(client="SWAP"))
    with zipfile.ZipFile(path) as old:
        parts = {name: old.read(name) for name in old.namelist()}
    text = parts["xl/sharedStrings.xml"].decode()
    head, rest = text.split("?>", 1)
    entity = f'?><!DOCTYPE sst [<!ENTITY x SYSTEM "{secret.as_uri()}">]>'
    parts["xl/sharedStrings.xml"] = (head + entity + rest.replace("SWAP", "&x;")).encode()
    with zipfile.ZipFile(path, "w") as new:
        for name, data in parts.items():
            new.writestr(name, data)
    try:
        log = read_log(path)
    except InputError as refused:
        told = str(refused)
    else:
        told = log.visits.to_csv() + log.faults.to_csv()
    assert "C-secret" not in told
