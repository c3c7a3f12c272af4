"""`outcomes merge`: what it prints, its exit codes, and what it refuses."""

from __future__ import annotations

import json

import pytest

from outcomes.cli.main import main

HEAD = (
    "visit,client,stylist,salon,date,hair,start_level,goal_level,peroxide_pct,heat,minutes,"
    "achieved_level,stop\n"
)
ROW = "V1,C1,S1,{salon},2024-03-14,natural,4,8,6,low,{minutes},7.5,time\n"


@pytest.fixture
def write(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)

    def file(name, *rows):
        (tmp_path / name).write_text(HEAD + "".join(rows), encoding="utf-8")
        return name

    return file


def test_what_became_of_each_row_is_told(write, capsys):
    write("june.csv", ROW.format(salon="", minutes=45), ROW.replace("V1", "V2").format(salon="", minutes="x"))
    assert main(["merge", "june.csv", "--to", "group"]) == 1
    told = capsys.readouterr().out
    assert "visits        2 in = 1 added, 1 set aside" in told
    assert "june.csv row 3: minutes x; expected 1 to 180 minutes" in " ".join(told.split())
    assert "Merged: 1 visit in group" in told
    assert max(len(line) for line in told.splitlines()) <= 80
    write("mended.csv", ROW.format(salon="", minutes=50))
    assert main(["merge", "mended.csv", "--to", "group", "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert found["logs"]["mended.csv"]["visits"] == {
        "in": 1, "added": 0, "corrected": 1, "unchanged": 0, "set_aside": 0,
    }  # fmt: skip
    assert (found["rows"]["visits"], found["changed"], found["set_aside"]) == (1, True, [])
    assert main(["merge", "mended.csv", "--to", "group"]) == 0
    assert "Nothing new: 1 visit in group" in capsys.readouterr().out
    assert main(["check", "group"]) == 0


def test_each_log_may_have_its_own_map_and_order_of_dates(write, tmp_path, capsys):
    write("plain.csv", ROW.format(salon="", minutes=45).replace("2024-03-14", "03/04/2024"))
    own = HEAD.replace("client,", "who was here,") + ROW.format(salon="", minutes=50)
    (tmp_path / "own.csv").write_text(own.replace("V1", "V2").replace("2024-03-14", "03/04/2024"))
    (tmp_path / "own.toml").write_text('[visits]\n"who was here" = "client"\n')
    logs = ["merge", "plain.csv", "own.csv", "--to", "group"]
    orders = ["--dates", "day-first", "--dates", "month-first"]
    assert main([*logs, *orders]) == 2  # nobody says who was here
    capsys.readouterr()
    assert main([*logs, *orders, "--map", "-", "--map", "own.toml"]) == 0
    assert "Merged: 2 visits in group" in capsys.readouterr().out
    rows = (tmp_path / "group" / "visits.csv").read_text().splitlines()
    assert ["V1,C1" in rows[1], "2024-04-03" in rows[1], "2024-03-04" in rows[2]] == [True] * 3
    for option in (["--map", "own.toml"], ["--dates", "day-first"]):
        assert main(["merge", "plain.csv", "own.csv", "own.csv", *option * 2, "--to", "group"]) == 2
        told = capsys.readouterr().err
        assert told == f"outcomes: {option[0]}: found 2 for 3 logs; name one for all, or one for each\n"


def test_salons_that_share_codes(write, capsys):
    for name in ("n", "s"):
        write(f"{name}.csv", ROW.format(salon="", minutes=45))
    command = ["merge", "n.csv", "s.csv", "--salon", "N", "--salon", "S", "--to", "group"]
    assert main(command) == 2
    told = capsys.readouterr().err
    assert "1 client code (C1 in N and in S)" in told
    assert told.count("\n") == 1
    assert main([*command, "--codes", "apart"]) == 0
    assert "Merged: 2 visits in group" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("options", "told"),
    [
        (["a.csv", "--to", "a.csv"], "is the merged log itself"),
        (["a.csv", "nowhere.csv", "--to", "group"], "there is no such file"),
        (["a.csv", "a.csv", "a.csv", "--salon", "N", "--salon", "S", "--to", "group"], "found 2 for 3 logs"),
        (["a.csv", "--codes", "mine", "--to", "group"], "apart"),
        (["a.csv", "--map", "nowhere.toml", "--to", "group"], "nowhere.toml: can't be read"),
        (["a.csv", "--to", "file"], "can't be written"),
        (["a.csv"], "--to"),
    ],
)
def test_what_is_refused_changes_nothing(write, tmp_path, capsys, options, told):
    write("a.csv", ROW.format(salon="", minutes=45))
    (tmp_path / "file").write_text("x")
    assert main(["merge", *options]) == 2
    error = capsys.readouterr().err
    assert told in error
    assert error.count("\n") == 1
    assert not (tmp_path / "group" / "visits.csv").exists()
