"""`outcomes disclose`: exit codes, what is printed, and the package's own outputs."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from outcomes.cli.main import main
from outcomes.demo.write import faulty_log

ROOT = Path(__file__).parents[2]
HEAD = (
    "visit,client,stylist,salon,date,hair,start_level,goal_level,peroxide_pct,heat,minutes,"
    "achieved_level,stop\n"
)
ROWS = (
    "V01,C001,S1,1,2024-03-14,natural,4,8,6,low,45,7.5,time\n"
    "V02,C002,A,1,2024-03-15,natural,4,8,6,low,45,7.5,\n"
)
CLEAN = "On 2024-03-01 the team had 12 clients.\n"
PLANTED = "<p>On 14 March 2024\nC001 came to S1, C002 to stylist A; ask jane@salon.de or 0151 234 5678</p>\n"


@pytest.fixture
def at(tmp_path, monkeypatch):
    """A folder with a log and files to look through; the command is run in it."""
    monkeypatch.chdir(tmp_path)
    Path("salon.csv").write_text(HEAD + ROWS)
    Path("clean.md").write_text(CLEAN)
    Path("planted.html").write_text(PLANTED)
    Path("picture.png").write_bytes(b"\x89PNG\r\n\x1a\n\x00")
    return tmp_path


def told(capsys, *arguments):
    code = main(["disclose", *arguments, "--log", "salon.csv"])
    printed = capsys.readouterr()
    return code, printed.out, printed.err


def test_nothing_found(at, capsys):
    code, out, err = told(capsys, "clean.md")
    assert code == 0
    assert err == ""
    assert out == (
        "clean.md: nothing found\n"
        "\n"
        "Looked for\n"
        "  2 visit codes, 2 client codes, 1 stylist code, e-mail addresses, phone\n"
        "    numbers, exact dates\n"
        "  only under a heading that names them, or behind a word such as client, because\n"
        "    they read like ordinary words or numbers: 1 stylist code, 1 salon code\n"
        "\n"
        "Not looked for\n"
        "  first days of months, such as 2024-03-01: they are what anonymising leaves\n"
        "  names of people, and when a workbook was saved or a notebook run\n"
        "  codes glued to other letters, or split over paragraphs or cells; plain numbers\n"
        "    in a printed table turned on its side\n"
    )


def test_everything_found_with_its_place(at, capsys):
    code, out, _ = told(capsys, "planted.html")
    assert code == 1
    assert out.startswith(
        "planted.html: 7 found\n"
        "  2 client codes\n"
        "    line 2, character 1: C001\n"
        "    line 2, character 18: C002\n"
        "  2 stylist codes\n"
        "    line 2, character 14: S1\n"
        "    line 2, character 34: A\n"
        "  1 exact date\n"
        "    line 1, character 7: 14 March 2024 (a visit day of the log)\n"
        "  1 e-mail address\n"
        "    line 2, character 41: jane@salon.de\n"
        "  1 phone number\n"
        "    line 2, character 58: 0151 234 5678\n"
        "\nLooked for\n"
    )


def test_five_places_of_each_kind(at, capsys):
    Path("many.txt").write_text("C001 and C002\n" * 4 + "S1\n" * 2)
    code, out, _ = told(capsys, "many.txt")
    assert code == 1
    assert "many.txt: 10 found\n  8 client codes\n" in out
    assert out.count("line ") == 7
    assert "    and 3 more\n  2 stylist codes\n" in out


def test_codes_that_may_stay(at, capsys):
    Path("team.md").write_text("S1 and stylist A: 12 visits\n")
    assert told(capsys, "team.md")[0] == 1
    code, out, _ = told(capsys, "team.md", "--may-show", "stylist", "salon")
    assert code == 0
    assert "  codes that may stay: stylist, salon\n" in out
    assert "stylist code" not in out
    assert told(capsys, "team.md", "--may-show", "stylist", "--may-show", "salon")[0] == 0


def test_what_cannot_be_looked_into_is_never_clean(at, capsys):
    code, out, err = told(capsys, "picture.png", "clean.md")
    assert code == 2
    assert "Not looked into\n  picture.png: a picture can't be looked into; look at it yourself\n" in out
    assert "clean.md: nothing found" in out
    assert err == "outcomes: not looked into: picture.png; look at what it holds yourself\n"
    Path("b.bin").write_bytes(b"\x00")
    assert told(capsys, "picture.png", "b.bin")[2] == (
        "outcomes: not looked into: picture.png and 1 more; look at what it holds yourself\n"
    )


def test_what_is_found_counts_before_what_cannot_be_looked_into(at, capsys):
    code, out, err = told(capsys, "picture.png", "planted.html")
    assert code == 1
    assert "7 found" in out
    assert err.startswith("outcomes: not looked into: picture.png")


def test_a_folder(at, capsys):
    Path("out").mkdir()
    for i in range(3):
        Path(f"out/{i}.txt").write_text(CLEAN)
    assert told(capsys, "out")[:2] == (0, told(capsys, "out")[1])
    assert told(capsys, "out")[1].startswith("3 files: nothing found\n")
    Path("out/.kept").write_text("C001")
    code, out, _ = told(capsys, "out")
    assert code == 1
    assert "out/.kept: 1 found\n" in out
    assert "3 other files: nothing found\n" in out


def test_json_lists_every_place(at, capsys):
    Path("many.csv").write_text("note\n" + "C001\n" * 9)
    code, out, _ = told(capsys, "many.csv", "picture.png", "--json")
    answer = json.loads(out)
    assert code == 1
    assert out.count("\n") == 1
    assert [find["line"] for find in answer["finds"]] == list(range(2, 11))
    assert answer["finds"][0] == {
        "file": "many.csv", "place": "line 2, character 1", "line": 2, "character": 1, "kind": "code",
        "of": "client", "text": "C001", "note": ""}  # fmt: skip
    assert answer["counts"] == {"many.csv": {"client code": 9}}
    assert [one["file"] for one in answer["not_looked_into"]] == ["picture.png"]
    assert not answer["is_clean"]


def test_lines_have_80_columns_and_no_control_characters(at, capsys):
    Path("long.json").write_text(json.dumps({"a word": {"and " * 12: ["C001", "Mrs\x1b[2J C002"]}}))
    _, out, _ = told(capsys, "long.json", "picture.png", "planted.html")
    assert max(map(len, out.splitlines())) <= 80
    assert all(character.isprintable() or character == "\n" for character in out)


@pytest.mark.parametrize(
    ("arguments", "said"),
    [(["nowhere.txt", "--log", "salon.csv"], "nowhere.txt: found no file or folder; look at the path"),
     (["clean.md", "--log", "nowhere"], "nowhere: there is no such file or folder"),
     (["clean.md", "--log", "clean.md"], "clean.md"),
     (["clean.md"], "required: --log"),
     (["clean.md", "--log", "salon.csv", "--may-show", "price"], "price: found among the columns")],
)  # fmt: skip
def test_what_cannot_be_used_is_one_line(at, capsys, arguments, said):
    assert main(["disclose", *arguments]) == 2
    printed = capsys.readouterr()
    assert printed.out == ""
    assert printed.err.count("\n") == 1
    assert said in printed.err


@pytest.fixture(scope="module")
def demo_log(tmp_path_factory):
    place = tmp_path_factory.mktemp("salon")
    for table, frame in faulty_log()[0].items():
        frame.to_csv(place / f"{table}.csv", index=False)
    return place


@pytest.fixture(scope="module")
def plain_log(demo_log, tmp_path_factory):
    """The same with plain numbers and letters for all codes, which stand in every output."""
    import pandas as pd

    place = tmp_path_factory.mktemp("plain")
    visits = pd.read_csv(demo_log / "visits.csv", dtype=object)
    for name in ("visit", "client", "salon", "product", "course"):
        numbers = pd.factorize(visits[name])[0] + 1
        visits[name] = pd.Series(numbers, index=visits.index).where(visits[name].notna())
    visits["stylist"] = visits["stylist"].map({"S01": "A", "S02": "B", "S03": "C"})
    visits.to_csv(place / "visits.csv", index=False)
    return place


@pytest.fixture
def own_outputs(at, predictive, capsys):
    """A model, answers as text and JSON, a figure, and the notebooks."""
    from outcomes.answers.sessions import sessions
    from outcomes.predictive.saved import save_model
    from outcomes.show.figures import sessions_picture

    folder = at / "own"
    folder.mkdir()
    model = folder / "salon.model.json"
    save_model(predictive, model)
    asked = {"start": 3, "goal": 9.5, "hair": "natural", "peroxide": 6, "heat": "low", "minutes": 45}
    plan = [word for name, value in asked.items() for word in (f"--{name}", str(value))]
    for name, arguments in {
        "sessions.json": ["sessions", str(model), *plan, "--json"],
        "sessions.txt": ["sessions", str(model), *plan],
        "effects.json": ["effects", str(model), "--json"],
    }.items():
        assert main(arguments) == 0
        (folder / name).write_text(capsys.readouterr().out, encoding="utf-8")
    png, _ = sessions_picture(sessions(predictive, *asked.values())).save(folder, "sessions")
    png.unlink()
    for page in (ROOT / "notebooks").glob("*.ipynb"):
        (folder / page.name).write_bytes(page.read_bytes())
    return folder


@pytest.mark.parametrize("which", ["demo_log", "plain_log"])
def test_the_package_s_own_outputs_raise_no_alarm(own_outputs, which, request, capsys):
    """The invented model's lighteners are named as the demo's are."""
    log = request.getfixturevalue(which)
    code = main(["disclose", str(own_outputs), "--log", str(log), "--may-show", "product", "--json"])
    answer = json.loads(capsys.readouterr().out)
    assert answer["finds"] == []
    assert code == 0
    assert {Path(file).suffix for file in answer["files"]} == {".json", ".txt", ".svg", ".ipynb"}


def test_a_model_with_a_code_and_a_day_put_in_is_found(own_outputs, demo_log, capsys):
    model = own_outputs / "salon.model.json"
    stored = json.loads(model.read_text(encoding="utf-8"))
    stored["lift"]["notes"] = ["words", "C0034 on 2023-01-04"]
    model.write_text(json.dumps(stored), encoding="utf-8")
    assert main(["disclose", str(model), "--log", str(demo_log), "--may-show", "product", "--json"]) == 1
    answer = json.loads(capsys.readouterr().out)
    assert [(find["of"] or find["kind"], find["text"]) for find in answer["finds"]] == [
        ("client", "C0034"), ("date", "2023-01-04")]  # fmt: skip
    assert {find["place"] for find in answer["finds"]} == {"lift.notes[1]"}
