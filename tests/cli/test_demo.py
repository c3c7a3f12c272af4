"""The demo from the first row to the last figure, once; and what it must not do."""

import re
import subprocess
import sys
from pathlib import Path

import pytest

from outcomes import load_model, read_log, refresh, root_shade, sessions
from outcomes.cli.demo import CONSULTATIONS, REFRESH, ROOT_SHADE
from outcomes.cli.main import main
from outcomes.demo.write import NUMPY_VERSION

ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="module")
def demo(tmp_path_factory):
    """The demo's folder and what it printed, as the real command in a folder that holds nothing."""
    place = tmp_path_factory.mktemp("place")
    command = [sys.executable, "-m", "outcomes", "demo"]
    done = subprocess.run(command, cwd=place, capture_output=True, text=True, encoding="utf-8", check=False)
    assert done.returncode == 0, done.stderr
    assert done.stderr == ""
    assert [path.name for path in place.iterdir()] == ["outcomes_demo"]
    return place / "outcomes_demo", done.stdout


def test_it_counts_every_row(demo):
    folder, printed = demo
    log = read_log(folder / "data" / "salon_group")
    for table, count in log.counts.items():
        assert count["in"] == count["used"] + count["set_aside"]
        said = rf"{table} +{count['in']:,} rows = {count['used']:,} used \+ {count['set_aside']} set aside"
        assert re.search(said, printed)
    assert (folder / "faults.csv").read_text(encoding="utf-8-sig").count("\n") >= len(log.faults)


def test_its_answers_are_those_of_the_model_that_it_saved(demo):
    folder, printed = demo
    predictive = load_model(folder / "salon.model.json").lift
    for said, plan in CONSULTATIONS:
        answer = sessions(predictive, *plan)
        assert f" {said} {answer} " in " ".join(printed.split())
        assert answer.support == "inside"


def test_it_says_how_hair_fades(demo):
    folder, printed = demo
    model, said = load_model(folder / "salon.model.json"), " ".join(printed.split())
    shade = root_shade(model, *ROOT_SHADE[1], tone="ash")
    again = refresh(model, *REFRESH[1], root_level=6, root_tone="ash")
    assert f"{ROOT_SHADE[0]} {shade} {REFRESH[0]} {again}" in said


def test_it_says_where_everything_is_and_is_careful(demo):
    folder, printed = demo
    assert f"Everything is in {folder.absolute()}" in printed
    assert "Patch test and strand test first." in printed
    assert not [line for line in printed.splitlines() if line != line.rstrip()]
    paths = (
        "log of three salons:",
        "Everything is in",
        "why rows",
        "all effects",
        "fade differently",
        "learned",
        "Figures",
    )
    assert not [line for line in printed.splitlines() if len(line) > 80 and not any(p in line for p in paths)]


def test_figures_are_there_in_both_forms_and_in_words(demo):
    folder, printed = demo
    names = [f"{kind}_{i}" for kind in ("sessions", "lift_curve") for i in (1, 2, 3)]
    names += ["effects", "root_shade", "refresh_roots", "fade_by_root_tone"]
    expected = {f"{name}.{ending}" for name in names for ending in ("png", "svg")} | {"figures_in_words.txt"}
    assert {path.name for path in (folder / "figures").iterdir()} == expected
    words = (folder / "figures" / "figures_in_words.txt").read_text(encoding="utf-8")
    for name in names:
        assert f"{name}\n" in words
    assert f"Figures: {len(expected)} files" in printed


def test_the_data_are_those_of_the_checkout(demo):
    folder, _ = demo
    import numpy as np

    same = (folder / "data" / "README.md").read_bytes() == (ROOT / "data_demo" / "README.md").read_bytes()
    assert same or np.__version__ != NUMPY_VERSION


def test_it_replaces_nothing(tmp_path, capsys):
    (tmp_path / "mine").mkdir()
    (tmp_path / "mine" / "notes.txt").write_text("kept")
    assert main(["demo", "--to", str(tmp_path / "mine")]) == 2
    printed = capsys.readouterr()
    assert "is there already; the demo replaces nothing; name a new folder" in printed.err
    assert printed.err.count("\n") == 1
    assert [path.name for path in (tmp_path / "mine").iterdir()] == ["notes.txt"]


def test_a_place_that_is_not_there(tmp_path, capsys):
    assert main(["demo", "--to", str(tmp_path / "none" / "demo")]) == 2
    assert "name a new folder in one that exists" in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == []
