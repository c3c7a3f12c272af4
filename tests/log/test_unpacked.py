"""Small files that stand for a great deal are refused before anything is laid out."""

from __future__ import annotations

import re
import zipfile

import openpyxl
import pytest
import xlsxwriter

from outcomes.errors import InputError
from outcomes.log.read import read_log
from outcomes.log.unpacked import look_through


@pytest.fixture
def book(tmp_path, visit):
    """A sound workbook of one visit, with the XML of its sheet changed."""

    def write(change=lambda xml: xml):
        made = openpyxl.Workbook()
        row = visit()
        made.active.append(list(row))
        made.active.append(list(row.values()))
        made.active.title = "visits"
        made.save(tmp_path / "sound.xlsx")
        path = tmp_path / "log.xlsx"
        with zipfile.ZipFile(tmp_path / "sound.xlsx") as old, zipfile.ZipFile(path, "w") as new:
            for name in old.namelist():
                text = old.read(name)
                if name == "xl/worksheets/sheet1.xml":
                    text = change(text.decode()).encode()
                new.writestr(name, text, zipfile.ZIP_DEFLATED)
        return path

    return write


def test_a_sound_workbook_passes(book):
    path = book()
    assert "<workbook" in look_through(path)
    assert read_log(path).counts["visits"]["used"] == 1


FAR = '<row r="1048576"><c r="XFD1048576" t="inlineStr"><is><t>x</t></is></c></row></sheetData>'


@pytest.mark.parametrize(
    "far",
    [
        FAR,
        FAR.replace('r="XFD1048576" t="inlineStr"', "t='inlineStr' r='XFD1048576'"),
        '<row><c r="ALL900000"><v>1</v></c></row></sheetData>',
    ],
)
def test_one_cell_far_out_is_refused(book, far):
    path = book(lambda xml: xml.replace("</sheetData>", far))
    with pytest.raises(InputError, match=r"reaches to row [\d,]+ and column [\d,]+; at most 8,000,000 cells"):
        read_log(path)


@pytest.mark.parametrize("far", ['<row r="1048576"><c r="XFD1048576" s="0"/></row></sheetData>'])
def test_a_cell_far_out_that_says_nothing_is_no_matter(book, far):
    path = book(lambda xml: xml.replace("</sheetData>", far))
    assert read_log(path).counts["visits"]["used"] == 1


def test_the_dimension_that_a_sheet_claims_is_no_matter(book):
    path = book(lambda xml: re.sub('<dimension ref="[^"]*"', '<dimension ref="A1:XFD1048576"', xml))
    assert read_log(path).counts["visits"]["used"] == 1


def _blanks(path, megabytes):
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as parts:
        parts.writestr("xl/workbook.xml", "<workbook/>")
        with parts.open("xl/worksheets/sheet1.xml", "w", force_zip64=True) as stream:
            for _ in range(megabytes):
                stream.write(b" " * 2**20)
    assert path.stat().st_size < 2000 * megabytes


@pytest.mark.parametrize(
    ("megabytes", "said"),
    [
        (600, "unpacks to more than 512 MB"),
        (20, r"sheet1\.xml unpacks to 20 MB, more than 100 times its size"),
    ],
)
def test_a_part_that_unpacks_to_much_is_refused_before_a_byte_of_it_is(
    tmp_path, monkeypatch, megabytes, said
):
    _blanks(tmp_path / "bomb.xlsx", megabytes)

    def unpacked(*_args, **_rest):
        pytest.fail("a part was unpacked")

    monkeypatch.setattr(zipfile.ZipFile, "open", unpacked)
    with pytest.raises(InputError, match=said):
        look_through(tmp_path / "bomb.xlsx")


def test_a_sheet_of_rows_all_alike_is_no_bomb(tmp_path, visit):
    """The tamest sheet that people make: 20,000 copies of one row."""
    row = visit()
    with xlsxwriter.Workbook(tmp_path / "log.xlsx", {"constant_memory": True}) as made:
        sheet = made.add_worksheet("visits")
        sheet.write_row(0, 0, list(row))
        for i in range(20_000):
            sheet.write_row(i + 1, 0, list(row.values()))
    with zipfile.ZipFile(tmp_path / "log.xlsx") as parts:
        info = parts.getinfo("xl/worksheets/sheet1.xml")
    assert info.file_size > 2**23
    assert info.file_size / info.compress_size < 50
    assert "<workbook" in look_through(tmp_path / "log.xlsx")


def test_names_of_parts_in_no_encoding_are_damage(tmp_path):
    with zipfile.ZipFile(tmp_path / "log.xlsx", "w") as parts:
        parts.writestr("xl/workbook.xml", "<workbook/>")
        parts.writestr("xl/\u00e9\u00e9.xml", "")
    data = (tmp_path / "log.xlsx").read_bytes().replace("\u00e9\u00e9".encode(), b"\x94\x94\x94\x94")
    (tmp_path / "log.xlsx").write_bytes(data)
    with pytest.raises(InputError, match="damaged"):
        look_through(tmp_path / "log.xlsx")


def test_a_part_that_says_it_is_small_fails_its_checksum(book):
    path = book(lambda xml: xml + " " * 3_000_000)
    data = bytearray(path.read_bytes())
    with zipfile.ZipFile(path) as parts:
        info = parts.getinfo("xl/worksheets/sheet1.xml")
    true = info.file_size.to_bytes(4, "little")
    for at in (m.start() for m in re.finditer(re.escape(true), bytes(data))):
        data[at : at + 4] = (1000).to_bytes(4, "little")
    path.write_bytes(data)
    with pytest.raises(InputError, match="damaged"):
        look_through(path)


def test_many_parts_are_refused(tmp_path):
    with zipfile.ZipFile(tmp_path / "many.xlsx", "w") as parts:
        parts.writestr("xl/workbook.xml", "<workbook/>")
        for i in range(10_001):
            parts.writestr(f"p{i}", "")
    with pytest.raises(InputError, match="unpacks to more"):
        look_through(tmp_path / "many.xlsx")
