"""Workbooks: cells with their place, and every other part in which something may stand."""

from __future__ import annotations

import zipfile
from datetime import date, datetime

import openpyxl
import pytest
import xlsxwriter
from openpyxl.comments import Comment
from openpyxl.workbook.defined_name import DefinedName

from outcomes.log import unpacked
from outcomes.log.blank import write_blank_workbook
from outcomes.protect.contents.readable import Leaving
from outcomes.protect.disclosure import look_through
from outcomes.protect.private.codes import LogCodes, make_code


@pytest.fixture
def told(tmp_path, finds):
    """Finds in a workbook that a test fills."""

    def through(fill, name="team.xlsx"):
        book = openpyxl.Workbook()
        book.active.title = "visits"
        book.properties.creator = ""
        fill(book, book.active)
        book.save(tmp_path / "made.xlsx")
        return finds((tmp_path / "made.xlsx").read_bytes(), name)

    return through


def test_cells_with_their_sheet_and_letters(told):
    def fill(book, sheet):
        sheet["B3"] = "by C001, jane@salon.de"
        sheet["AA7"] = "0151 234 5678"
        book.create_sheet("old notes").sheet_state = "veryHidden"
        book["old notes"]["A1"] = "Mrs K 12"

    assert told(fill) == [
        ("visits!B3", "client code", "C001"),
        ("visits!B3", "e-mail", "jane@salon.de"),
        ("visits!AA7", "phone", "0151 234 5678"),
        ("old notes!A1", "client code", "Mrs K 12"),
    ]


def test_dates_of_cells(told):
    def fill(_, sheet):
        for row, cell in enumerate(
            [date(2024, 3, 14), datetime(2024, 3, 14, 9, 30), date(2024, 3, 1), "14.03.2024"], 1
        ):
            sheet.cell(row, 2, cell)

    assert [(place, text) for place, _, text in told(fill)] == [
        ("visits!B1", "2024-03-14"), ("visits!B2", "2024-03-14 09:30:00"), ("visits!B4",
        "14.03.2024")]  # fmt: skip


def test_what_headings_tell_of_their_cells(told):
    def fill(_, sheet):
        for row in (
            ["Team"],
            ["Client", "n", "Date", "tel"],
            [12, 12, 45365, 5551234],
            ["C001", 7, 45352, 7],
        ):
            sheet.append(row)

    assert told(fill) == [
        ("visits!A3", "client code", "12"), ("visits!C3", "date", "45365"), ("visits!D3", "phone", "5551234"),
        ("visits!A4", "client code", "C001")]  # fmt: skip


def test_a_number_shown_with_zeros_before_it(tmp_path):
    """A code 0815 in a column of numbers is 815, which its format shows as 0815."""
    book = openpyxl.Workbook()
    book.active.append(["client", "n"])
    book.active.append([815, 815])
    book.active["A2"].number_format = "0000"
    book.save(tmp_path / "x.xlsx")
    log = LogCodes("salon", (make_code("0815", ("client",)),), frozenset())
    told = look_through([Leaving(tmp_path / "x.xlsx", "x.xlsx", "x.xlsx")], log)
    assert [(find.place, find.text) for find in told.finds] == [("Sheet!A2", "815")]


def test_numbers_that_are_codes_by_themselves(told):
    def fill(_, sheet):
        sheet["A1"], sheet["A2"] = 104523, 0.104523

    assert told(fill) == [("visits!A1", "client code", "104523")]


def test_comments_names_rules_links_headers_and_formulas(told):
    def fill(book, sheet):
        sheet["A1"].comment = Comment("ask C001", "jane@salon.de")
        book.defined_names["K"] = DefinedName("K", attr_text='"Mrs K 12"')
        rule = openpyxl.worksheet.datavalidation.DataValidation(
            type="list", formula1='"C0012,x"', prompt="V00002"
        )
        sheet.add_data_validation(rule)
        rule.add("B2:B9")
        sheet["A2"].hyperlink = "mailto:anna@salon.de"
        sheet.oddHeader.center.text = "of 14 March 2024"
        sheet["A3"] = '=IF(S1="P1",C1001,L7)'
        book.properties.keywords = "K-9"
        sheet["A4"] = 1
        sheet["A4"].number_format = '0" for S1"'

    found = told(fill)
    assert {(what, text) for _, what, text in found} == {
        ("client code", "C001"), ("e-mail", "jane@salon.de"), ("client code", "Mrs K 12"), ("client code",
        "C0012"),
        ("visit code", "V00002"), ("e-mail", "anna@salon.de"), ("date", "14 March 2024"), ("product code",
        "P1"),
        ("course code", "K-9")}  # fmt: skip
    places = {text: place for place, _, text in found}
    assert places["C001"] == "visits!A1, comment"
    assert places["P1"] == "visits!A3, formula"
    assert places["K-9"] == "document properties"
    assert places["14 March 2024"].startswith("visits, ")


@pytest.mark.parametrize(
    ("band", "codes"),
    [("&CK-9", ["K-9"]), ("&LC001&RV00002", ["C001", "V00002"]), ('&C&"Arial,Bold"&12C001', ["C001"]),
     ("&C&KFF0000C001", ["C001"]), ("&CC0&B01", ["C001"]), ("&Cclient &I12", ["12"]),
     ("&C&14 Rose", ["Rose"]), ("&CPage &P of &N, &D", []), ("&L&B&C001", []), ("&CA && B", [])],
)  # fmt: skip
def test_headers_and_footers_without_their_marks(tmp_path, finds, band, codes):
    with xlsxwriter.Workbook(tmp_path / "made.xlsx") as book:
        book.add_worksheet("visits").set_footer(band)
    found = finds((tmp_path / "made.xlsx").read_bytes(), "x.xlsx")
    assert [code for _, _, code in found] == codes


def test_names_of_sheets_and_files(told):
    def fill(book, _):
        book.create_sheet("C001 2024-03-14")

    assert ("name of a sheet", "client code", "C001") in told(fill)
    assert told(lambda book, sheet: None, "C001.xlsx") == [("its name", "client code", "C001")]


def test_an_author_is_pointed_out(tmp_path, look):
    book = openpyxl.Workbook()
    book.properties.creator = "Anna Example"
    book.save(tmp_path / "made.xlsx")
    told = look((tmp_path / "made.xlsx").read_bytes(), "x.xlsx")
    assert told.is_clean
    assert told.notes == ('x.xlsx: names "Anna Example" as its author',)


def test_texts_that_no_cell_shows_any_more(tmp_path, finds):
    with xlsxwriter.Workbook(tmp_path / "made.xlsx") as book:
        book.add_worksheet("visits").write("A1", "words")
    with zipfile.ZipFile(tmp_path / "made.xlsx") as old, zipfile.ZipFile(tmp_path / "left.xlsx", "w") as new:
        for name in old.namelist():
            data = old.read(name)
            if name == "xl/sharedStrings.xml":
                data = data.replace(
                    b"</si></sst>", b"</si><si><r><t>by </t></r><r><t>C001</t></r></si></sst>"
                )
            new.writestr(name, data)
    assert finds((tmp_path / "left.xlsx").read_bytes(), "x.xlsx") == [
        ("texts that no cell shows", "client code", "C001")]  # fmt: skip


def test_the_blank_workbook_is_clean(tmp_path, look):
    """Its example row has codes of its own, which are none of the log's but S1; its date is an example's."""
    write_blank_workbook(tmp_path / "log.xlsx")
    told = look((tmp_path / "log.xlsx").read_bytes(), "log.xlsx", may_show=("client", "stylist", "product"))
    assert {(find.place, find.text) for find in told.finds} == {("visits!E2", "2024-03-14")}


def test_pictures_are_counted(tmp_path, look):
    with xlsxwriter.Workbook(tmp_path / "made.xlsx") as book:
        sheet = book.add_worksheet("visits")
        sheet.write_row("A1", [1, 2, 3])
        chart = book.add_chart({"type": "line"})
        chart.add_series({"values": "=visits!$A$1:$C$1"})
        sheet.insert_chart("C3", chart)
    with zipfile.ZipFile(tmp_path / "made.xlsx", "a") as parts:
        parts.writestr("xl/media/image1.png", b"\x89PNG")
    told = look((tmp_path / "made.xlsx").read_bytes(), "x.xlsx")
    assert told.is_clean
    assert told.unseen["x.xlsx"]["pictures"] == 1


def refused(tmp_path, look, name="x.xlsx"):
    told = look((tmp_path / "made.xlsx").read_bytes(), name)
    assert not told.is_clean
    assert told.files == ()
    return told.refused[name]


def test_a_document_within_is_refused(tmp_path, look):
    openpyxl.Workbook().save(tmp_path / "made.xlsx")
    with zipfile.ZipFile(tmp_path / "made.xlsx", "a") as parts:
        parts.writestr("xl/embeddings/letter.docx", b"PK")
    assert "holds letter.docx, which can't be looked into" in refused(tmp_path, look)


def test_what_unpacks_to_too_much_is_refused(tmp_path, look, monkeypatch):
    monkeypatch.setattr(unpacked, "MAX_UNPACKED", 2**20)
    with xlsxwriter.Workbook(tmp_path / "made.xlsx") as book:
        book.add_worksheet("visits").write("A1", "x")
    with zipfile.ZipFile(tmp_path / "made.xlsx", "a", zipfile.ZIP_DEFLATED) as parts:
        parts.writestr("xl/big.xml", b" " * 2**21)
    assert "unpacks to more than 1 MB" in refused(tmp_path, look)


@pytest.mark.parametrize("cut", [0.3, 0.6, 0.9])
def test_a_workbook_cut_short_is_refused(tmp_path, look, cut):
    with xlsxwriter.Workbook(tmp_path / "made.xlsx") as book:
        book.add_worksheet("visits").write("A1", "C001")
    data = (tmp_path / "made.xlsx").read_bytes()
    (tmp_path / "made.xlsx").write_bytes(data[: int(len(data) * cut)])
    assert "can't be looked into" in refused(tmp_path, look)


def test_a_damaged_part_is_refused(tmp_path, look):
    with xlsxwriter.Workbook(tmp_path / "made.xlsx") as book:
        book.add_worksheet("visits").write("A1", "C001 " * 1000)
    data = bytearray((tmp_path / "made.xlsx").read_bytes())
    at = data.index(b"xl/sharedStrings.xml") + 30
    data[at : at + 8] = b"\xff" * 8
    (tmp_path / "made.xlsx").write_bytes(data)
    assert "or a damaged one" in refused(tmp_path, look)
