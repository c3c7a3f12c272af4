"""Files of a salon: encodings, delimiters, what is refused and in which words."""

from __future__ import annotations

from pathlib import Path

import pandas as pd
import pytest

from outcomes.errors import InputError
from outcomes.log import encodings, files
from outcomes.log.encodings import text_of_lines
from outcomes.log.files import open_log
from outcomes.log.read import read_log

HEAD = "visit,minutes,level\n"


def table(tmp_path: Path, data: bytes, name: str = "visits.csv"):
    (tmp_path / name).write_bytes(data)
    return open_log(tmp_path / name)[1][0]


def column(raw, i: int) -> list[str]:
    return [str(text) for text in raw.cells[i]]


def visits_text(delimiter: str = ",", client: str = "C1") -> str:
    return delimiter.join(["visit", "client", "minutes"]) + "\n" + delimiter.join(["V1", client, "45"]) + "\n"


@pytest.mark.parametrize(
    "data",
    [
        visits_text(client="Zoë").encode(),
        b"\xef\xbb\xbf" + visits_text(client="Zoë").encode(),
        visits_text(client="Zoë").encode("cp1252"),
        visits_text(client="Zoë").encode("utf-16"),
        visits_text(client="Zoe\u0308").encode(),
    ],
    ids=["utf-8", "byte-order mark", "cp1252", "utf-16", "decomposed"],
)
def test_encodings(tmp_path, data):
    raw = table(tmp_path, data)
    assert raw.headings == ("visit", "client", "minutes")
    assert column(raw, 1) == ["Zoë"]


@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
def test_delimiters(tmp_path, delimiter):
    assert column(table(tmp_path, visits_text(delimiter).encode()), 2) == ["45"]


def test_quoted_fields_and_rows_of_several_lines_keep_the_row_number(tmp_path):
    raw = table(tmp_path, b'visit,client,minutes\r\nV1,"a, ""b""\nc",45\r\nV2,x,50\r\n')
    assert column(raw, 1) == ['a, "b"\nc', "x"]
    assert list(raw.rows) == [2, 3]


def test_both_routes_give_the_same_table(tmp_path):
    plain = "visit;client;minutes\n\nV1; C1 ;45\nV2;C2\n;;\nV3;C3;50;7"
    quick = table(tmp_path, plain.encode())
    careful = table(tmp_path, plain.replace("V1", '"V1"').encode())
    for i in range(3):
        assert column(quick, i) == column(careful, i)
    assert list(quick.rows) == list(careful.rows) == [3, 4, 6]
    assert list(quick.fields) == list(careful.fields) == [3, 2, 4]


def test_apostrophe_before_a_formula_comes_off(tmp_path):
    raw = table(tmp_path, b"visit,client,minutes\nV1,'=1+1,45\nV2,'tis,45\n")
    assert column(raw, 1) == ["=1+1", "'tis"]


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "the file is empty"),
        (b"\n \n\n", "nothing but blank lines"),
        (b"visit|client|minutes\nV1|C1|45\n", "split by comma, semicolon or tab"),
        (b"PK\x03\x04\x00\x00\x00", "not a text file"),
        (b"a,b\n1,2\n", "no row of headings"),
        (b"\xff\xfea", "damaged utf-16"),
        (b"visit,client" + b",x" * 600 + b"\n", "600"),
    ],
)
def test_refused(tmp_path, data, words):
    with pytest.raises(InputError) as caught:
        table(tmp_path, data)
    assert words in str(caught.value) or words == "600"
    assert "\n" not in str(caught.value)


def test_no_such_path(tmp_path):
    with pytest.raises(InputError, match="no such file or folder"):
        open_log(tmp_path / "nowhere")


def test_folder_without_visits_points_to_the_workbook(tmp_path):
    with pytest.raises(InputError, match="without visits"):
        open_log(tmp_path)
    (tmp_path / "book.xlsx").write_bytes(b"x")
    with pytest.raises(InputError, match=r"name it: .*book\.xlsx"):
        open_log(tmp_path)


def test_two_files_for_one_table(tmp_path):
    for name in ("visits.csv", "VISITS.tsv"):
        (tmp_path / name).write_text(visits_text())
    with pytest.raises(InputError, match="both hold visits; keep one"):
        open_log(tmp_path)


def test_foreign_ending(tmp_path):
    (tmp_path / "log.pdf").write_bytes(b"x")
    with pytest.raises(InputError, match="save it as one of these"):
        open_log(tmp_path / "log.pdf")


def test_size_limit(tmp_path, monkeypatch):
    monkeypatch.setattr(files, "MAX_BYTES", 10)
    with pytest.raises(InputError, match="split it by year"):
        table(tmp_path, visits_text().encode())


def test_no_permission(tmp_path, monkeypatch):
    def refuse(self):
        raise PermissionError(13, "Permission denied")

    (tmp_path / "visits.csv").write_text(visits_text())
    monkeypatch.setattr(Path, "read_bytes", refuse)
    with pytest.raises(InputError, match="no permission"):
        open_log(tmp_path)


def test_rows_over_which_the_quick_parser_stumbles_are_read_with_care(tmp_path, monkeypatch):
    """pandas 2.3 says "Buffer overflow caught" of a short row before a very long one at the end."""
    (tmp_path / "log.csv").write_text("visit;client\nx\n" + ";" * 36)
    (raw,) = open_log(tmp_path / "log.csv")[1]
    assert (raw.rows.tolist(), raw.fields.tolist()) == ([2], [1])

    def stumble(*_, **__):
        raise pd.errors.ParserError("Buffer overflow caught")

    plain = b"visit;client;minutes\nV1;C1;45\nV2;C2\n"
    quick = table(tmp_path, plain)
    monkeypatch.setattr(pd, "read_csv", stumble)
    careful = table(tmp_path, plain)
    assert [column(careful, i) for i in range(3)] == [column(quick, i) for i in range(3)]
    assert careful.fields.tolist() == quick.fields.tolist() == [3, 2]


def test_a_large_file_of_lines_that_are_no_rows_is_refused(tmp_path, visit):
    """A quote that doesn't close, and behind it a hundred thousand lines of one word."""
    row = visit()
    text = ",".join(row) + "\n" + ",".join(row.values()) + '\nV2,"open\n' + "x\n" * 100_001
    (tmp_path / "visits.csv").write_text(text, encoding="utf-8")
    with pytest.raises(InputError, match=r"100,002 of 100,004 lines hold fewer than 6 fields, .* are 12;"):
        read_log(tmp_path / "visits.csv")
    # fewer are set aside one by one
    (tmp_path / "visits.csv").write_text(text.replace("x\n" * 99_990, ""), encoding="utf-8")
    assert read_log(tmp_path / "visits.csv").counts["visits"] == {"in": 13, "used": 1, "set_aside": 12}


def test_lines_of_two_encodings_are_one_client(folder, visit):
    """As where rows of a newer program were put below those of an older one."""
    rows = [
        visit(client="M\u00fcller"),
        visit(visit="V2", client="M\u00fcller"),
        visit(visit="V3", client="C3"),
    ]
    place = folder(visits=rows) / "visits.csv"
    first, *lines = place.read_bytes().splitlines(keepends=True)
    lines[1] = lines[1].decode().encode("cp1252")
    for end in (b"\n", b"\r\n"):
        place.write_bytes(b"".join([first, *lines]).replace(b"\n", end))
        log = read_log(place)
        assert log.visits["client"].tolist() == ["M\u00fcller", "M\u00fcller", "C3"]
        assert log.notes[0] == (
            "visits.csv isn't UTF-8 throughout; read 1 line as utf-8 and 1 line as cp1252, by what each "
            "line's letters are valid in"
        )


def test_a_file_of_one_older_encoding_says_so(folder, visit):
    place = folder(visits=[visit(client="Zo\u00eb")]) / "visits.csv"
    place.write_bytes(place.read_bytes().decode().encode("cp1252"))
    log = read_log(place)
    assert log.visits["client"].tolist() == ["Zo\u00eb"]
    assert log.notes[0] == "visits.csv isn't UTF-8; read as cp1252, as older spreadsheets write"


def test_a_long_line_of_two_encodings_takes_no_time():
    data = "\u00fc".encode() + b"x" * 5_000_000 + "\u00fc".encode("cp1252") + b"\n" + "\u00e4".encode()
    text, note = text_of_lines(data)
    assert (text[-1], text[-3]) == ("\u00e4", "\u00fc")
    assert "1 line as utf-8 and 1 line as cp1252" in note


@pytest.mark.parametrize("at", range(6))
def test_a_letter_of_utf8_is_seen_wherever_it_lies(monkeypatch, at):
    monkeypatch.setattr(encodings, "_PIECE", 3)
    data = b"x" * at + "é".encode() + b"xxx\n" + "é".encode("cp1252") + b"\n"
    assert text_of_lines(data)[0] == "x" * at + "éxxx\né\n"
