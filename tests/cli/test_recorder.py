"""`outcomes recorder`: one page, and no other file lost."""

from __future__ import annotations

from outcomes.cli.main import main


def test_a_page_and_what_to_do_with_it(tmp_path, capsys):
    page = tmp_path / "recorder.html"
    assert main(["recorder", "--to", str(page)]) == 0
    assert page.read_text(encoding="utf-8").startswith("<!doctype html>\n<!-- visit recorder -->\n")
    out = capsys.readouterr().out
    assert f"{page}: copy it to the tablet" in out
    assert "outcomes check FOLDER" in out


def test_an_older_recorder_is_replaced_and_nothing_else_is(tmp_path, capsys):
    page = tmp_path / "recorder.html"
    page.write_text("<!doctype html>\n<!-- visit recorder -->\nof last year", encoding="utf-8")
    assert main(["recorder", "--to", str(page)]) == 0
    assert "last year" not in page.read_text(encoding="utf-8")
    other = tmp_path / "book.html"
    other.write_text("<!doctype html>a year of visits", encoding="utf-8")
    assert main(["recorder", "--to", str(other)]) == 2
    assert other.read_text(encoding="utf-8") == "<!doctype html>a year of visits"
    assert "not a recorder" in capsys.readouterr().err


def test_nowhere_to_write(tmp_path, capsys):
    for place in (tmp_path / "no" / "recorder.html", tmp_path):
        assert main(["recorder", "--to", str(place)]) == 2
        assert capsys.readouterr().err.count("\n") == 1
