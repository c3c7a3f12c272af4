"""Formulas and links in a workbook: what the cell last showed is read, nothing is worked out or fetched."""

from __future__ import annotations

import io
import socket
import zipfile

import openpyxl
import pytest
import xlsxwriter

from outcomes.errors import InputError
from outcomes.log.read import read_log


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
