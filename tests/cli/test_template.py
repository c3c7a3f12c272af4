"""`outcomes template`: a workbook, and nothing lost."""

from __future__ import annotations

import json
import zipfile

from outcomes.cli.main import main


def test_workbook_and_schema(tmp_path, capsys):
    book, schema = tmp_path / "salon.xlsx", tmp_path / "schema.json"
    assert main(["template", "--to", str(book), "--schema", str(schema)]) == 0
    assert zipfile.is_zipfile(book)
    assert json.loads(schema.read_text(encoding="utf-8"))["name"] == "visit-log"
    out = capsys.readouterr().out
    assert f"outcomes check {book}" in out
    assert str(schema) in out


def test_a_workbook_that_is_there_stays_as_it_is(tmp_path, capsys):
    book = tmp_path / "salon.xlsx"
    book.write_text("a year of visits")
    assert main(["template", "--to", str(book)]) == 2
    assert book.read_text() == "a year of visits"
    assert "choose another name" in capsys.readouterr().err


def test_nowhere_to_write(tmp_path, capsys):
    assert main(["template", "--to", str(tmp_path / "no" / "salon.xlsx")]) == 2
    assert capsys.readouterr().err.count("\n") == 1


def test_a_schema_never_replaces_a_file(tmp_path, capsys):
    log = tmp_path / "log.xlsx"
    log.write_text("a year of visits")
    for schema in (log, tmp_path / "new.xlsx", tmp_path / "no" / "schema.json"):
        assert main(["template", "--to", str(tmp_path / "new.xlsx"), "--schema", str(schema)]) == 2
        printed = capsys.readouterr()
        assert printed.out == ""
        assert printed.err.count("\n") == 1
        assert not (tmp_path / "new.xlsx").exists()
    assert log.read_text() == "a year of visits"
