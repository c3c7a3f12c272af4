"""`outcomes check`: exit codes, what is printed, what is written."""

from __future__ import annotations

import csv
import json
import subprocess
import sys
from contextlib import contextmanager

import pytest

from outcomes.cli.main import main

HEAD = "visit,client,stylist,date,hair,start_level,goal_level,peroxide_pct,heat,minutes,achieved_level,stop\n"
GOOD = "V1,C1,S1,2024-03-14,natural,4,8,20 vol,low,45,7.5,time\n"
BAD = "V2,C1,S1,2024-03-14,natural,4.2,8,6,low,45,7.5,\n"


@pytest.fixture
def log(tmp_path):
    def write(text):
        (tmp_path / "salon").mkdir()
        (tmp_path / "salon" / "visits.csv").write_text(text)
        return str(tmp_path / "salon")

    return write


def unwrapped(text):
    """The text as it was before its lines were broken."""
    return " ".join(text.split())


def test_all_used(log, capsys):
    assert main(["check", log(HEAD + GOOD)]) == 0
    out = capsys.readouterr().out
    assert "visits       1 in = 1 used + 0 set aside" in out
    assert "checks    none" in out
    assert "Faults" not in out
    assert "20 vol as 6" in unwrapped(out)


def test_some_set_aside_with_each_fault_in_full(log, capsys):
    assert main(["check", log(HEAD + GOOD + BAD)]) == 1
    out = capsys.readouterr().out
    assert "visits       2 in = 1 used + 1 set aside" in out
    assert "Faults: 2 in 1 row set aside" in out
    out = unwrapped(out)
    assert "visits.csv row 3: start_level 4.2; expected 1 to 10 in steps of 0.5; write 4 or 4.5" in out
    assert (
        "visits.csv row 3: stop is empty; expected one of target, time, condition, other; fill it in" in out
    )


def test_no_more_than_three_examples_of_a_reason(log, capsys):
    bad = "".join(BAD.replace("V2", f"V{i}").replace("4.2", "4") for i in range(2, 9))
    assert main(["check", log(HEAD + GOOD + bad)]) == 1
    out = capsys.readouterr().out
    assert out.count("stop is empty") == 3
    assert "and 4 more" in out


def test_no_row_left_is_unusable_but_still_told(log, capsys):
    place = log(HEAD + BAD)
    told = f"outcomes: {place}: no visit can be used; mend the faults listed and check again\n"
    assert main(["check", place]) == 2
    printed = capsys.readouterr()
    assert "No visit can be used" in printed.out
    assert "start_level 4.2" in printed.out
    assert printed.err == told
    assert main(["check", place, "--json"]) == 2
    printed = capsys.readouterr()
    assert json.loads(printed.out)["counts"]["visits"]["used"] == 0
    assert printed.err == told


def test_lines_have_80_columns_and_whole_words(log, tmp_path, capsys):
    head = HEAD.replace(
        "\n", ",warmth,a remark that has a long heading and belongs to nothing in particular\n"
    )
    rows = [GOOD.replace("7.5,time\n", "7.5,target,green,x\n"), BAD.replace("\n", ",red,\n")]
    assert main(["check", log(head + "".join(rows))]) == 1
    out = capsys.readouterr().out
    lines = out.splitlines()
    assert max(len(line) for line in lines if "outcomes check" not in line) <= 80
    assert f"  outcomes check {tmp_path / 'salon'} --faults faults.csv" in lines
    for words in (
        "visits.csv row 2: achieved_level 7.5; expected 8 (goal_level) or more, because stop is target;",
        "expected one of none, pale_yellow, yellow, orange, red; it counts as not given;",
        '"a remark that has a long heading and belongs to nothing in particular" isn\'t part of a visit log',
    ):
        assert words in unwrapped(out)
    later = [line for line in lines if line.startswith(" " * 6)]
    assert len(later) >= 5


def test_a_code_with_hyphens_is_not_broken(log, capsys):
    code = "-".join(["salon"] * 12)
    assert main(["check", log(HEAD + GOOD + BAD.replace("4.2", code))]) == 1
    assert code in capsys.readouterr().out


def test_reading_shows_progress(log, capsys, monkeypatch):
    shown = []

    @contextmanager
    def working(what):
        shown.append(what)
        yield

    monkeypatch.setattr("outcomes.cli.progress.working", working)
    assert main(["check", log(HEAD + GOOD)]) == 0
    assert shown == ["reading the log"]


def test_json_is_one_object(log, capsys):
    assert main(["check", log(HEAD + GOOD + BAD), "--json"]) == 1
    told = json.loads(capsys.readouterr().out)
    assert told["counts"]["visits"] == {"in": 2, "used": 1, "set_aside": 1}
    assert [fault["row"] for fault in told["faults"]] == [3, 3]
    assert set(told["faults"][0]) == {"file", "row", "column", "found", "expected", "code", "message"}
    assert told["warnings"] == [
        {"file": "salon", "row": None, "column": "", "found": "no checks",
         "expected": "checks.csv or a sheet checks, with a row for each look during processing",
         "code": "no_checks",
         "message": told["warnings"][0]["message"]}
    ]  # fmt: skip
    assert "peroxide_pct" in told["given"]["visits"]
    assert told["given"]["washes"] == []


def test_faults_file(log, tmp_path, capsys):
    target = tmp_path / "faults.csv"
    assert main(["check", log(HEAD + GOOD + BAD), "--faults", str(target)]) == 1
    rows = list(csv.DictReader(target.read_text(encoding="utf-8").splitlines()))
    assert [row["kind"] for row in rows] == ["fault", "fault", "warning"]
    assert [row["found"] for row in rows] == ["4.2", "", "no checks"]
    assert str(target) in capsys.readouterr().out


@pytest.mark.parametrize("name", ["visits.csv", "checks.csv"])
def test_the_faults_never_replace_the_log(log, tmp_path, capsys, name):
    place = log(HEAD + GOOD)
    assert main(["check", place, "--faults", f"{place}/{name}"]) == 2
    assert "would replace the log itself" in capsys.readouterr().err
    assert (tmp_path / "salon" / "visits.csv").read_text() == HEAD + GOOD


def test_faults_replace_older_faults_and_nothing_else(log, tmp_path, capsys):
    place, target = log(HEAD + GOOD + BAD), tmp_path / "mine.csv"
    target.write_text("somebody's work")
    assert main(["check", place, "--faults", str(target)]) == 2
    assert "name a new file" in capsys.readouterr().err
    assert target.read_text() == "somebody's work"
    target.unlink()
    for _ in range(2):
        assert main(["check", place, "--faults", str(target)]) == 1
    assert target.read_text().startswith("kind,file,row,")


@pytest.mark.parametrize("text", ["", HEAD, "visit|client\nV1|C1\n", "visit,client\nV1,C1\n"])
def test_unusable_is_one_line_and_leaves_no_file(log, tmp_path, capsys, text):
    target = tmp_path / "faults.csv"
    assert main(["check", log(text), "--faults", str(target), "--json"]) == 2
    told = capsys.readouterr()
    assert told.out == ""
    assert told.err.startswith("outcomes: ")
    assert told.err.count("\n") == 1
    assert not target.exists()


def test_faults_in_a_folder_that_is_not_there(log, tmp_path, capsys):
    assert main(["check", log(HEAD + BAD + GOOD), "--faults", str(tmp_path / "no" / "f.csv")]) == 2
    told = capsys.readouterr()
    assert told.out == ""
    assert "can't be written" in told.err


def test_nothing_but_the_answer_is_printed(log):
    """Dates once went through a conversion of gaps to time spans that now and then warned on the terminal."""
    command = [sys.executable, "-m", "outcomes", "check", log(HEAD + GOOD)]
    assert [subprocess.run(command, capture_output=True, check=True).stderr for _ in range(3)] == [b""] * 3
