"""The whole answer: what was found in some files, and what was looked for."""

from __future__ import annotations

import csv
import hashlib
import json

import pandas as pd
import pytest

from outcomes.demo.write import faulty_log
from outcomes.errors import InputError
from outcomes.log.read import read_log
from outcomes.log.write import write_log
from outcomes.protect.contents.readable import Leaving
from outcomes.protect.disclosure import disclosure, look_through
from outcomes.protect.looking import LISTED

CODED = ("visit", "client", "stylist", "salon", "product", "course")


@pytest.fixture(scope="module")
def salon(tmp_path_factory):
    """The demo's small faulty log, as a folder."""
    place = tmp_path_factory.mktemp("salon")
    for table, frame in faulty_log()[0].items():
        frame.to_csv(place / f"{table}.csv", index=False)
    return place


def anonymised(salon, target):
    """The log's used rows with other codes for its codes, and the first of the month for every day."""
    write_log(read_log(salon), target)
    for path in target.iterdir():
        frame = pd.read_csv(path, dtype=object)
        for name in set(CODED) & set(frame):
            frame[name] = [
                code if pd.isna(code) else f"{name[0]}-{hashlib.sha256(code.encode()).hexdigest()[:12]}"
                for code in frame[name]
            ]
        if "date" in frame:
            frame["date"] = frame["date"].str[:8] + "01"
        frame.to_csv(path, index=False)
    return target


def test_an_anonymised_log_is_clean_against_its_source(salon, tmp_path):
    told = disclosure([anonymised(salon, tmp_path / "out")], salon)
    assert told.finds == ()
    assert told.is_clean
    assert len(told.files) == 3
    assert str(told) == "nothing found"


def test_every_code_and_day_of_the_log_itself_is_found(salon):
    """Counted by the csv module: every cell of a code column, every day that isn't the first of a month."""
    told = disclosure([salon / "visits.csv"], salon)
    rows = list(csv.DictReader((salon / "visits.csv").read_text().splitlines()))
    counts = told.counts[str(salon / "visits.csv")]
    for name in CODED:
        assert counts[f"{name} code"] == sum(row[name] != "" for row in rows)
    # one row of the demo has a day that no calendar has
    days = [row["date"] for row in rows if row["date"] != "2023-11-31"]
    assert counts["date"] == sum(day[8:] != "01" for day in days)
    assert [find.note for find in told.finds if find.kind == "date"] == ["a visit day of the log"] * counts[
        "date"
    ]
    second = {(find.of or find.kind): find.character for find in told.finds if find.line == 2}
    heads, cells = (salon / "visits.csv").read_text().splitlines()[0].split(","), rows[0]
    at = {
        name: 1 + sum(len(cells[head]) + 1 for head in heads[: heads.index(name)])
        for name in (*CODED, "date")
    }
    assert second == at


def test_codes_of_rows_set_aside_are_found(salon, tmp_path):
    """C9999 stands only in a row that no fit uses."""
    assert "C9999" not in set(read_log(salon).visits["client"])
    (tmp_path / "note.txt").write_text("ask C9999")
    told = disclosure([tmp_path / "note.txt"], salon)
    assert [(find.what, find.text) for find in told.finds] == [("client code", "C9999")]


def test_what_was_looked_for_is_told_without_telling_it(salon, tmp_path):
    (tmp_path / "note.txt").write_text("nothing")
    told = disclosure([tmp_path / "note.txt"], salon, may_show=["stylist"])
    assert set(told.looked_for) == {"visit", "client", "salon", "product", "course"}
    visits = pd.read_csv(salon / "visits.csv", dtype=object)
    assert told.looked_for["client"] == {"everywhere": visits["client"].nunique(), "under_headings": 0}
    shown = json.dumps(told.to_dict())
    assert not any(code in shown for code in visits["client"])


def test_tidy_rows_and_json(look):
    told = look("C001 on 2024-03-14\n", "x.md")
    assert told.frame().to_dict("records") == [
        {"file": "x.md", "place": "line 1, character 1", "line": 1, "character": 1, "kind": "code",
        "of": "client",
         "text": "C001", "note": ""},
        {"file": "x.md", "place": "line 1, character 9", "line": 1, "character": 9, "kind": "date", "of": "",
         "text": "2024-03-14", "note": "a visit day of the log"}]  # fmt: skip
    assert told.to_dict()["counts"] == {"x.md": {"client code": 1, "date": 1}}
    assert json.loads(json.dumps(told.to_dict()))["found"] == 2
    assert str(told) == "2 found, in x.md"
    assert look("").frame().columns.tolist() == told.frame().columns.tolist()


def test_all_are_counted_where_not_all_are_listed(look):
    told = look("jane@salon.de\n" * 3 + "C001 x\n" * (LISTED + 7))
    assert dict(told.counts["report.txt"]) == {"client code": LISTED + 7, "e-mail": 3}
    assert len(told.finds) == LISTED + 3
    assert told.finds[-1].line == LISTED + 3


def test_nothing_is_counted_twice_where_not_all_is_listed(look):
    """Text and heading tell a visit day without marks; the heading alone a serial number or a plain code."""
    n = LISTED + 5
    assert dict(look("date,x\n" + "20240314,1\n" * n, "x.csv").counts["x.csv"]) == {"date": n}
    assert dict(look("date,x\n" + "45365,1\n" * n, "x.csv").counts["x.csv"]) == {"date": n}
    assert dict(look("client,x\n" + "12,1\n" * n, "x.csv").counts["x.csv"]) == {"client code": n}


def test_what_cannot_be_looked_into_leaves_the_rest_looked_at(tmp_path, log):
    for name, content in (("a.png", b"\x89PNG"), ("b.txt", b"words"), ("c.txt", b"C001")):
        (tmp_path / name).write_bytes(content)
    told = look_through([Leaving(tmp_path / name, name, name) for name in ("a.png", "b.txt", "c.txt")], log)
    assert told.files == ("b.txt", "c.txt")
    assert dict(told.refused) == {"a.png": "a picture can't be looked into; look at it yourself"}
    assert told.found == 1
    nothing = look_through([Leaving(tmp_path / name, name, name) for name in ("a.png", "b.txt")], log)
    assert not nothing.is_clean
    assert str(nothing) == "nothing found, but 1 of the files couldn't be looked into"


def test_what_was_found_before_a_file_broke_off_stays_found(tmp_path, look):
    import zipfile

    import openpyxl

    book = openpyxl.Workbook()
    book.active["A1"] = "C001"
    book.save(tmp_path / "made.xlsx")
    with zipfile.ZipFile(tmp_path / "made.xlsx", "a") as parts:
        parts.writestr("xl/vbaProject.bin", b"\x00")
    told = look((tmp_path / "made.xlsx").read_bytes(), "x.xlsm")
    assert list(told.refused) == ["x.xlsm"]
    assert [find.text for find in told.finds] == ["C001"]


@pytest.mark.parametrize("name", ["price", "date", "Client", "report.html"])
def test_a_column_without_codes(salon, name):
    with pytest.raises(InputError, match=r"expected some of visit, client, stylist, salon, product, course"):
        disclosure([salon], salon, may_show=[name])


def test_nothing_to_look_at(salon, tmp_path):
    with pytest.raises(InputError, match="no file in it"):
        disclosure([tmp_path], salon)
    with pytest.raises(InputError, match="found no file or folder"):
        disclosure([tmp_path / "x"], salon)
    with pytest.raises(InputError, match="no such file or folder"):
        disclosure([salon], tmp_path / "x")
