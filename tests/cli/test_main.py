"""What isn't understood, or can't be used, is one line on standard error, exit 2, and leaves no file."""

import subprocess
import sys
from pathlib import Path

import pytest

from outcomes import __version__
from outcomes.cli.main import COMMANDS, main
from outcomes.demo.write import faulty_log
from outcomes.predictive.saved import save_model

ASKED = {"start": "3", "goal": "9.5", "hair": "natural", "peroxide": "6", "heat": "low", "minutes": "45"}


def _options(**changes: str) -> list[str]:
    return [word for name, value in (ASKED | changes).items() for word in (f"--{name}", value)]


@pytest.fixture
def at(tmp_path, monkeypatch, predictive):
    """A folder with a model, a damaged one, and odd logs; the commands are run in it."""
    monkeypatch.chdir(tmp_path)
    save_model(predictive, "salon.model.json")
    whole = Path("salon.model.json").read_text(encoding="utf-8")
    Path("damaged.model.json").write_text(whole[: len(whole) // 2], encoding="utf-8")
    Path("changed.model.json").write_text(whole.replace("power", "tower"), encoding="utf-8")
    Path("empty.csv").write_bytes(b"")
    Path("nothing_in_it").mkdir()
    visits = faulty_log()[0]["visits"]
    Path("spaces.csv").write_text(visits.to_csv(index=False, sep=" "), encoding="utf-8")
    visits.head(0).to_csv("headings.csv", index=False)
    visits.drop(columns="minutes").to_csv("no_minutes.csv", index=False)
    return tmp_path


@pytest.fixture
def workbook_without_visits(at):
    from openpyxl import Workbook

    book = Workbook()
    book.active.title = "holidays"
    book.active.append(["who", "when"])
    book.save("holidays.xlsx")
    return at


def _refused(capsys, *arguments: str) -> str:
    before = sorted(Path.cwd().iterdir())
    assert main(list(arguments)) == 2
    printed = capsys.readouterr()
    assert printed.out == ""
    assert printed.err.startswith("outcomes: ")
    assert printed.err.count("\n") == 1
    assert sorted(Path.cwd().iterdir()) == before
    return printed.err


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        ([], "required: COMMAND; see `outcomes --help`"),
        (["forecast"], "invalid choice: 'forecast'"),
        (
            ["sessions"],
            "sessions: the following arguments are required: MODEL; see `outcomes sessions --help`",
        ),
        (["sessions", "m", "--strength", "6"], "sessions: found --strength 6, which it doesn't know"),
        (["sessions", "m", "--st", "6"], "sessions: found --st 6"),
        (["sessions", "m", "--start"], "sessions: argument --start: expected one argument"),
        (["fit", "log"], "fit: the following arguments are required: --to"),
        (["check"], "check: the following arguments are required: LOG"),
        (["template"], "template: the following arguments are required: --to"),
    ],
)
def test_a_command_that_is_not_understood(at, capsys, arguments, said):
    assert said in _refused(capsys, *arguments)


@pytest.mark.parametrize("command", [["check"], ["fit", "--to", "new.model.json"]])
@pytest.mark.parametrize(
    ("log", "said"),
    [
        ("empty.csv", "empty"),
        ("nothing_in_it", "visits"),
        ("spaces.csv", "spaces.csv"),
        ("headings.csv", "headings.csv"),
        ("no_minutes.csv", "minutes"),
        ("not_there", "not_there"),
        ("salon.model.json", "salon.model.json"),
    ],
)
def test_a_log_that_cannot_be_used(at, capsys, command, log, said):
    assert said in _refused(capsys, command[0], log, *command[1:])


@pytest.mark.parametrize("command", [["check"], ["fit", "--to", "new.model.json"]])
def test_a_workbook_without_the_sheet(workbook_without_visits, capsys, command):
    assert "visits" in _refused(capsys, command[0], "holidays.xlsx", *command[1:])


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"goal": "3"}, "goal: found level 3 at or below the start, level 3"),
        ({"goal": "2.5"}, "at or below the start"),
        ({"peroxide": "12.5"}, "at most 12 % (40 volume)"),
        ({"minutes": "0"}, "minutes: found 0; expected 1 to 180"),
        ({"stylist": "S99"}, "stylist: found 'S99'; expected one of S1, S2, S3, or new"),
        ({"start": "3.2"}, "levels go in half steps; write 3 or 3.5"),
        ({"start": "-3"}, "found level -3; expected 1 (black)"),
        ({"minutes": "a while"}, "expected a number"),
    ],
)
def test_a_question_that_cannot_be_answered(at, capsys, changes, said):
    assert said in _refused(capsys, "sessions", "salon.model.json", *_options(**changes))


@pytest.mark.parametrize("command", ["sessions", "effects"])
@pytest.mark.parametrize("model", ["damaged.model.json", "changed.model.json", "empty.csv", "nothing_in_it"])
def test_a_model_that_cannot_be_read(at, capsys, command, model):
    options = _options() if command == "sessions" else []
    assert model in _refused(capsys, command, model, *options)


def test_the_real_command_says_it_in_one_line_too(at):
    command = [sys.executable, "-m", "outcomes", "sessions", "damaged.model.json", *_options()]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert (done.returncode, done.stdout, done.stderr.count("\n")) == (2, "", 1)
    assert "Traceback" not in done.stderr


def test_version(capsys):
    with pytest.raises(SystemExit) as left:
        main(["--version"])
    assert left.value.code == 0
    assert capsys.readouterr().out == f"outcomes {__version__}\n"


@pytest.mark.parametrize("command", COMMANDS)
def test_every_help_has_an_example_that_begins_with_the_command(capsys, command):
    with pytest.raises(SystemExit) as left:
        main([command, "--help"])
    assert left.value.code == 0
    assert f"outcomes {command}" in capsys.readouterr().out.partition("example:")[2]
