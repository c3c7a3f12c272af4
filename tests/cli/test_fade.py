"""`outcomes fade`, `root-shade`, `refresh` and `aftercare` from a saved model."""

import json
import subprocess
import sys

import pytest

from outcomes.cli.main import main
from outcomes.predictive.saved import SalonModel, save_model
from tests.cli.test_sessions import HEAVY
from tests.predictive.fades import invented_fade

COMMANDS = {
    "fade": ["--by", "root_tone", "--washes", "12", "--pairs", "--margin", "0.2"],
    "root-shade": ["--natural", "3", "--lengths", "9.5", "--washes", "18", "--limit", "7.5", "--tone", "ash"],
    "refresh": [
        *("--zone", "roots", "--fade", "1", "--washes-per-week", "3"),
        *("--root-level", "6", "--root-tone", "ash"),
    ],
    "aftercare": [],
}


@pytest.fixture(scope="module")
def model(predictive, tmp_path_factory):
    path = tmp_path_factory.mktemp("fade") / "m.json"
    fade = {measure: invented_fade(measure) for measure in ("level", "tone_left")}
    save_model(SalonModel(predictive, fade, {"delta_e": "nobody measures colour"}), path)
    return str(path)


def said(capsys, *words):
    assert main(list(words)) == 0
    printed = capsys.readouterr()
    assert printed.err == ""
    return printed.out


def test_json_of_fade(model, capsys):
    found = json.loads(said(capsys, "fade", model, *COMMANDS["fade"], "--json"))
    assert (found["by"], found["washes"], found["reference"]) == ("root_tone", 12, "neutral")
    row = found["rows"][1]
    assert set(row) == {
        *("shade", "fade", "per_wash", "ratio", "washes_to_one_level", "clients", "visits", "support")
    }
    assert set(row["fade"]) == {"median", "low", "high"}
    assert {"value", "low", "high", "simultaneous"} <= set(row["ratio"])
    assert row["ratio"]["simultaneous"] is True
    assert set(row["washes_to_one_level"]) == {"median", "low", "high", "never"}
    assert len(found["pairs"]) == 3
    assert {one["rate"] for one in found["dropout"]} == {0.75, 1.25}


def test_json_of_root_shade(model, capsys):
    found = json.loads(said(capsys, "root-shade", model, *COMMANDS["root-shade"], "--json"))
    assert {"root_level", "root_tone", "level_then", "blends", "support"} <= set(found["candidates"][0])
    assert found["choice"] in found["candidates"]
    assert found["inputs"]["tone"] == "ash"


def test_json_of_refresh(model, capsys):
    found = json.loads(said(capsys, "refresh", model, *COMMANDS["refresh"], "--json"))
    assert {"washes", "weeks", "never", "within_log"} <= set(found)
    assert found["inputs"]["root_level"] == 6


def test_json_of_aftercare(model, capsys):
    found = json.loads(said(capsys, "aftercare", model, "--json"))
    assert [row["shade"] for row in found["roots"]["rows"]] == ["plain", "sulphate_free", "pigmented"]


@pytest.mark.parametrize("command", COMMANDS)
def test_words_for_people(model, capsys, command):
    text = said(capsys, command, model, *COMMANDS[command])
    assert all(len(line) <= 80 for line in text.splitlines())
    one_line = " ".join(text.split())
    assert "never read" in one_line  # missing clients stand with every answer
    if command != "fade":
        assert "Patch test and strand test first." in one_line
    if command == "fade":
        assert "x 1.16 " in text
        assert "copper / ash" in text
    if command == "root-shade":
        assert "<- choice" in text


@pytest.mark.parametrize("command", COMMANDS)
def test_answers_without_a_heavy_import(model, command):
    code = (
        "import sys; from outcomes.cli.main import main; "
        f"code = main({[command, model, *COMMANDS[command]]!r}); "
        "print(sorted({name.partition('.')[0] for name in sys.modules}), file=sys.stderr); sys.exit(code)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    assert not set(json.loads(done.stderr.replace("'", '"'))) & set(HEAVY)


@pytest.mark.parametrize(
    ("words", "message"),
    [
        ("fade MODEL --by moon", "expected one of root_tone"),
        ("fade MODEL --washes 0", "expected 1 to 200"),
        ("fade MODEL --measure delta_e", "nobody measures colour"),
        ("root-shade MODEL --natural 9 --lengths 3 --washes 5", "correct one of them"),
        ("root-shade MODEL --natural 3", "--lengths, --washes: not given"),
        ("root-shade MODEL --natural 3 --lengths 9 --washes 10 --tone green", "found 'green'"),
        ("refresh MODEL --zone roots", "--fade, --washes-per-week: not given"),
        ("refresh MODEL --zone roots --fade 1 --washes-per-week 3 --shampoo beer", "found 'beer'"),
    ],
)
def test_one_clear_line(model, capsys, words, message):
    assert main([model if word == "MODEL" else word for word in words.split()]) == 2
    printed = capsys.readouterr()
    assert printed.out == ""
    assert printed.err.count("\n") == 1
    assert message in printed.err


@pytest.mark.parametrize("command", COMMANDS)
def test_a_model_without_fade(predictive, tmp_path, capsys, command):
    save_model(predictive, tmp_path / "m.json")
    assert main([command, str(tmp_path / "m.json"), *COMMANDS[command]]) == 2
    assert "fit a log with readings after washes" in capsys.readouterr().err


def test_effects_and_calibration_tell_of_fade(model, capsys):
    found = json.loads(said(capsys, "effects", model, "--json"))
    assert set(found["fade"]) == {"level", "tone_left"}
    assert found["fade"]["level"]["terms"][0]["term"] == "root_tone[ash]"
    assert set(found["fade"]["level"]) >= {"shape", "terms", "sd"}
    assert found["fade_left_out"] == {"delta_e": "nobody measures colour"}
    text = said(capsys, "effects", model)
    assert "Fade by level of the root shade: ratios of fade rates" in text
    assert "Fade by colour difference is left out: nobody measures colour" in text


@pytest.mark.parametrize(
    ("command", "names"),
    [
        ("fade", {"fade_by_root_tone", "fade_ratios_by_root_tone"}),
        ("root-shade", {"root_shade"}),
        ("refresh", {"refresh_roots"}),
        ("aftercare", {"aftercare_level", "aftercare_tone_left"}),
    ],
)
def test_figures(model, capsys, tmp_path, command, names):
    folder = tmp_path / "new" / "figures"
    text = said(capsys, command, model, *COMMANDS[command], "--figures", str(folder))
    assert {path.name for path in folder.iterdir()} == {
        f"{n}.{kind}" for n in names for kind in ("png", "svg")
    }
    assert str(folder) in text
    (tmp_path / "file").write_text("")
    assert main([command, model, *COMMANDS[command], "--figures", str(tmp_path / "file")]) == 2
    assert "name a folder, new or old" in capsys.readouterr().err
