import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from outcomes.answers.wording import CAUTIONS
from outcomes.cli.main import main
from outcomes.predictive.saved import save_model

ASKED = ["--start", "3", "--goal", "9.5", "--hair", "natural", "--peroxide", "6", "--heat", "low"]
ASKED += ["--minutes", "45"]
HEAVY = ("pandas", "scipy", "statsmodels", "sklearn", "matplotlib", "seaborn", "jinja2", "rich", "pyarrow")
HEADINGS = "start,goal,hair,peroxide,heat,minutes,stylist\n"


@pytest.fixture(scope="module")
def model(predictive, tmp_path_factory) -> str:
    path = tmp_path_factory.mktemp("model") / "salon.model.json"
    save_model(predictive, path)
    return str(path)


def _refused(capsys, *arguments) -> str:
    """Run a command that must fail with one line on standard error, and return that line."""
    assert main([str(argument) for argument in arguments]) == 2
    printed = capsys.readouterr()
    assert printed.out == ""
    assert printed.err.count("\n") == 1
    return printed.err


@pytest.mark.parametrize("extra", [[], ["--json"]])
def test_answers_without_a_heavy_import(model, extra):
    code = (
        "import sys; from outcomes.cli.main import main; code = main(sys.argv[1:]); "
        "print(sorted({name.partition('.')[0] for name in sys.modules}), file=sys.stderr); sys.exit(code)"
    )
    done = subprocess.run(
        [sys.executable, "-c", code, "sessions", model, *ASKED, *extra],
        capture_output=True,
        text=True,
        check=True,
    )
    loaded = set(eval(done.stderr))
    assert "numpy" in loaded
    assert not loaded & set(HEAVY)


def test_cases_without_a_heavy_import(model, tmp_path):
    (tmp_path / "cases.csv").write_text(HEADINGS + "3,9.5,natural,6,low,45,\n")
    code = (
        "import sys; from outcomes.cli.main import main; main(sys.argv[1:]); "
        f"sys.exit(bool(set(sys.modules) & set({HEAVY!r})))"
    )
    command = [sys.executable, "-c", code, "sessions", model, "--cases", str(tmp_path / "cases.csv")]
    assert subprocess.run(command, capture_output=True, check=False).returncode == 0


def test_json_is_the_answer(model, capsys):
    assert main(["sessions", model, *ASKED, "--json", "--limit", "4", "--seed", "9"]) == 0
    printed = capsys.readouterr().out
    found = json.loads(printed)
    assert printed.count("\n") == 1
    assert list(found["sessions"]) == ["1", "2", "3", "4", "more"]
    assert found["inputs"]["seed"] == 9
    assert sum(found["sessions"].values()) == pytest.approx(1.0, abs=1e-9)


def test_text_says_it_all(model, capsys):
    assert main(["sessions", model, *ASKED]) == 0
    lines = capsys.readouterr().out.splitlines()
    text = "\n".join(lines)
    told = " ".join(text.split())  # however the lines were broken
    assert lines[0].startswith("2 sessions, most likely; ")
    for said in (
        "in 1 session ", "in 2 sessions", "band 1 to 3 sessions", "level read after each session",
        "texture: fine (20 %), medium (50 %), coarse (20 %), not given (10 %)",
        "1,600 visits, 530 clients, 3 stylists",
        "not yet checked out of sample", "inside: well within", "every 5 to 12 minutes",
        "falls by 0.4 of 5 points",
    ):  # fmt: skip
        assert said in told
    assert max(map(len, text.splitlines())) <= 80
    assert sum(line.startswith("  ! ") for line in lines) == 5


def test_text_outside_shows_no_chances(model, capsys):
    assert main(["sessions", model, *ASKED[:-1], "120"]) == 0
    text = capsys.readouterr().out
    assert "wide band     1 to" in text
    assert "(95 % band and one more)" in text
    assert "was never logged" in text
    assert "in 1 session" not in text


@pytest.mark.parametrize(
    ("option", "value", "said"),
    [
        ("--goal", "3", "at or below the start"),
        ("--start", "3.25", "half steps"),
        ("--peroxide", "13", "1223/2009"),
        ("--minutes", "0", "1 to 180"),
        ("--minutes", "soon", "expected a number"),
        ("--hair", "grey", "natural, coloured, lightened"),
        ("--stylist", "S9", "expected one of S1, S2, S3"),
        ("--limit", "40", "from 1 to 12"),
        ("--limit", "few", "whole number"),
        ("--seed", "x", "whole number"),
    ],
)
def test_a_bad_option_is_one_line(model, capsys, option, value, said):
    assert said in _refused(capsys, "sessions", model, *ASKED, option, value)


def test_options_that_are_missing_are_named(model, capsys):
    assert "--hair, --peroxide, --heat, --minutes: not given" in _refused(
        capsys, "sessions", model, *ASKED[:4]
    )


def test_a_damaged_model_is_one_line(model, capsys, tmp_path):
    damaged = tmp_path / "damaged.json"
    damaged.write_text(Path(model).read_text()[:5000])
    assert "damaged, cut short" in _refused(capsys, "sessions", damaged, *ASKED)
    assert "can't be read" in _refused(capsys, "sessions", tmp_path / "none.json", *ASKED)


def test_cases_put_an_error_in_the_place_of_a_bad_line(model, capsys, tmp_path):
    cases = tmp_path / "cases.csv"
    cases.write_text(
        HEADINGS + "3,9.5,natural,6,low,45,\n3,9.5,natural,13,low,45,S1\n\n4,8,coloured,6,none\n"
        "4,8,coloured,6,none,40,new\n4,8,coloured,,none,40,new\n"
    )
    assert main(["sessions", model, "--cases", str(cases), "--json"]) == 1
    found = [json.loads(line) for line in capsys.readouterr().out.splitlines()]
    assert [line.get("line") for line in found] == [None, 3, 5, None, 7]
    assert set(found[1]) == {"line", "error"}
    assert "1223/2009" in found[1]["error"]
    assert "found 5 cells; expected 7" in found[2]["error"]
    assert "peroxide: found nothing" in found[4]["error"]
    assert found[3]["inputs"]["stylist"] == "new"


def test_cases_without_faults_exit_0_and_agree_with_one_question(model, capsys, tmp_path):
    cases = tmp_path / "cases.csv"
    cases.write_text(
        "\ufeffStart;Goal;Hair;Peroxide;Heat;Minutes;note\n3;9,5;natural;6;low;45;first\n", encoding="utf-8"
    )
    assert main(["sessions", model, "--cases", str(cases), "--json"]) == 0
    many = json.loads(capsys.readouterr().out)
    main(["sessions", model, *ASKED, "--json"])
    one = json.loads(capsys.readouterr().out)
    assert many["inputs"] == one["inputs"]
    assert list(many["sessions"].values()) == pytest.approx(list(one["sessions"].values()), abs=0.04)


def test_cases_as_text(model, capsys, tmp_path):
    cases = tmp_path / "cases.csv"
    cases.write_text(HEADINGS + "3,9.5,natural,6,low,45,\n9,8,natural,6,low,45,\n")
    assert main(["sessions", model, "--cases", str(cases)]) == 1
    lines = capsys.readouterr().out.splitlines()
    assert max(map(len, lines)) <= 80
    told, closing = "\n".join(lines).split("\n\n")
    first, second = " ".join(told.split()).split(" line 3: ")
    assert first.startswith(
        "line 2: level 3 to 9.5, natural hair, 6 % developer, low heat, at most 45 minutes"
    )
    assert "stylists: 2 sessions, most likely; " in first
    assert second.startswith("no answer: goal: found level 8")
    rests = "every answer rests on 1,600 visits, 530 clients, 3 stylists; not yet checked out of sample"
    assert " ".join(closing.split()) == " ".join((rests, *(f"! {caution}" for caution in CAUTIONS)))


def test_a_row_is_named_by_the_line_it_starts_on(model, capsys, tmp_path):
    cases = tmp_path / "cases.csv"
    cases.write_text(
        'start,goal,hair,peroxide,heat,minutes,note\n3,8,natural,6,low,45,"two\nlines"\n3,2,natural,6,low,45,\n'
    )
    assert main(["sessions", model, "--cases", str(cases)]) == 1
    assert "\nline 4: no answer" in capsys.readouterr().out


def test_cases_below_blank_lines_with_a_logs_headings(model, capsys, tmp_path):
    cases = tmp_path / "cases.csv"
    cases.write_text(
        "\n,,\n\nstart_level,goal_level,hair,peroxide_pct,heat,minutes\n3,9.5,natural,20 vol,low,45\n"
    )
    assert main(["sessions", model, "--cases", str(cases), "--json"]) == 0
    inputs = json.loads(capsys.readouterr().out)["inputs"]
    assert (inputs["start"], inputs["peroxide"]) == (3.0, 6.0)


@pytest.mark.parametrize(
    ("raw", "said"),
    [
        (b"", "is empty"),
        (b"\n\n", "is empty"),
        (b"start,goal,hair\n3,9,natural\n", "found no column peroxide, heat, minutes"),
        (b"start,goal,hair,peroxide,heat,minutes\n", "holds headings and no plan"),
        (b"PK\x03\x04\x00\x00", "isn't a text file"),
    ],
)
def test_a_file_of_cases_that_cannot_be_used(model, capsys, tmp_path, raw, said):
    (tmp_path / "cases.csv").write_bytes(raw)
    assert said in _refused(capsys, "sessions", model, "--cases", tmp_path / "cases.csv")


def test_no_file_of_cases(model, capsys, tmp_path):
    assert "can't be read" in _refused(capsys, "sessions", model, "--cases", tmp_path / "none.csv")


def test_cases_and_a_question_are_too_much(model, capsys, tmp_path):
    assert "leave out one" in _refused(
        capsys, "sessions", model, "--cases", tmp_path / "c.csv", "--start", "3"
    )


def test_a_file_of_few_plans_answers_as_each_would_alone(model, capsys, tmp_path):
    cases = tmp_path / "cases.csv"
    cases.write_text(HEADINGS + "3,9.5,natural,6,low,45,\n5,9,coloured,6,none,40,new\n")
    assert main(["sessions", model, "--cases", str(cases), "--json"]) == 0
    together = [json.loads(line) for line in capsys.readouterr().out.splitlines()]
    assert main(["sessions", model, *ASKED, "--json"]) == 0
    assert json.loads(capsys.readouterr().out) == together[0]


def test_cases_with_a_heading_twice(model, capsys, tmp_path):
    cases = tmp_path / "cases.csv"
    cases.write_text("start," + HEADINGS + "2,3,9.5,natural,6,low,45,\n")
    assert "start as the heading of two columns" in _refused(capsys, "sessions", model, "--cases", cases)


def test_json_for_an_output_that_shows_ascii_alone(model):
    run = subprocess.run(
        [sys.executable, "-m", "outcomes", "sessions", model, *ASKED, "--stylist", "Zoë", "--json"],
        capture_output=True,
        env={**os.environ, "PYTHONIOENCODING": "ascii"},
    )
    assert run.returncode == 2
    assert b"Zo?" in run.stderr
    assert b"Traceback" not in run.stderr
