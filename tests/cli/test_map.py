"""`outcomes map`, and the options of every command that reads a log."""

from __future__ import annotations

import json

import pytest

from outcomes.cli.main import main

OWN = """Guest;Colourist;Day;Hair;Start lvl;Goal;Dev vol;Heat;Proc. time;20 min;Lvl after;Why rinsed
17;Mo;03.04.2026;natural;3;9;20v;low;45 min;5;7/8;time
18;Mo;05.04.2026;natural;L4;8;20;none;0:50;6;8;target
"""


@pytest.fixture
def own(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "book.csv").write_text(OWN, encoding="utf-8")
    return tmp_path


def test_a_map_is_proposed_written_answered_and_used(own, capsys):
    assert main(["map", "book.csv", "--to", "map.toml"]) == 1
    told = capsys.readouterr().out
    assert "1 question to answer" in told
    assert "outcomes check book.csv --map map.toml" in told
    assert max(len(line) for line in told.splitlines()) <= 80
    assert main(["check", "book.csv", "--map", "map.toml"]) == 2
    assert 'dates: found "?"; expected' in capsys.readouterr().err
    text = (own / "map.toml").read_text(encoding="utf-8")
    (own / "map.toml").write_text(text.replace('dates = "?"', 'dates = "day-first"'), encoding="utf-8")
    assert main(["check", "book.csv", "--map", "map.toml", "--repairs", "r.csv", "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert found["counts"]["visits"] == {"in": 2, "used": 2, "set_aside": 0}
    assert found["counts"]["checks"]["used"] == 2
    assert {
        "row": 2,
        "column": "minutes",
        "from": "45 min",
        "to": "45",
        "rule": "unit",
        "file": "book.csv",
    } in (found["repairs"])
    assert len((own / "r.csv").read_text().splitlines()) == len(found["repairs"]) + 1


def test_a_map_is_never_written_over(own, capsys):
    (own / "map.toml").write_text("mine", encoding="utf-8")
    assert main(["map", "book.csv", "--to", "map.toml"]) == 2
    assert "there is such a file already" in capsys.readouterr().err
    assert (own / "map.toml").read_text() == "mine"


def test_json_has_each_line_with_its_reason(own, capsys):
    assert main(["map", "book.csv", "--json"]) == 1
    found = json.loads(capsys.readouterr().out)
    assert found["asked"] == 1
    assert {"section": "visits", "heading": "Guest", "means": "client", "reason": "another name of it"} in (
        found["lines"]
    )
    assert found["lacking"] == []


def test_a_canonical_log_needs_no_map(capsys):
    assert main(["map", "data_demo/salon_group"]) == 0
    assert "to answer" not in capsys.readouterr().out


@pytest.mark.parametrize(
    "command",
    [
        ["check", "book.csv"],
        ["fit", "book.csv", "--to", "m.json"],
        ["calibration", "book.csv"],
    ],
)
def test_every_command_that_reads_a_log_takes_a_map_and_an_order(own, capsys, command):
    assert main([*command, "--map", "nowhere.toml"]) == 2
    assert "nowhere.toml: can't be read" in capsys.readouterr().err
    assert main([*command, "--dates", "dmy"]) == 2
    assert "day-first" in capsys.readouterr().err
    assert main(command) == 2
    assert "no column for visit" in capsys.readouterr().err


def test_an_order_of_days_without_a_log_is_refused(own, capsys):
    assert main(["fit", "--starter", "--dates", "day-first", "--to", "m.json"]) == 2
    assert "found no log that it could be about" in capsys.readouterr().err
