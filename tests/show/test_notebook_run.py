"""A notebook is run by this Python, in the current folder, by nothing else that lies about."""

import json
import os
import sys
from pathlib import Path

import pytest

import outcomes
from outcomes.errors import InputError
from outcomes.show.notebook_run import run_notebook
from outcomes.show.notebooks import with_parameters
from tests.show.test_notebooks import tiny


def _run(*sources):
    notebook = with_parameters("tiny", tiny(*sources), {"LOG": "here.csv", "SEED": 7})
    run_notebook("tiny", notebook)
    return notebook


def test_it_runs_here_by_this_python_with_these_values(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    # files of the current folder, and settings of the user, that must have no say
    for name in ("json", "ipykernel_launcher", "pandas", "outcomes"):
        Path(f"{name}.py").write_text("raise RuntimeError('a file of the user was run')", encoding="utf-8")
    startup = tmp_path / "home" / "profile_default" / "startup"
    startup.mkdir(parents=True)
    (startup / "first.py").write_text("SEED_OF_MINE = 1", encoding="utf-8")
    monkeypatch.setenv("IPYTHONDIR", str(tmp_path / "home"))
    monkeypatch.setenv("MPLBACKEND", "agg")
    notebook = _run(
        "import json, os, sys\nimport pandas, outcomes\n"
        "print(json.dumps([LOG, SEED, MANY, os.getcwd(), sys.executable, outcomes.__file__]))\n"
        "'SEED_OF_MINE' in globals()",
        "import matplotlib.pyplot as plt\nplt.plot([1, 2]);",
    )
    printed, value = notebook.cells[-2].outputs
    assert json.loads(printed.text) == [*("here.csv", 7, 3, os.getcwd(), sys.executable, outcomes.__file__)]
    assert value.data["text/plain"] == "False"
    assert "image/png" in notebook.cells[-1].outputs[0].data
    assert [cell.execution_count for cell in notebook.cells[1:]] == [1, 2, 3, 4]
    assert all("execution" not in cell.metadata for cell in notebook.cells)  # no times of day


def test_the_package_is_found_from_its_own_checkout(monkeypatch):
    monkeypatch.chdir(Path(outcomes.__file__).parents[1])
    monkeypatch.delenv("PYTHONPATH", raising=False)
    notebook = _run("import outcomes\nprint(outcomes.__file__)")
    assert notebook.cells[-1].outputs[0].text.strip() == outcomes.__file__


@pytest.mark.parametrize(
    ("source", "said"),
    [
        ("1 / 0", "tiny, code cell 3: ZeroDivisionError: division by zero"),
        ("raise KeyError", "tiny, code cell 3: KeyError"),
        ("raise ValueError('first\\n  second')", "tiny, code cell 3: ValueError: first second"),
        (
            "from outcomes.errors import InputError\nraise InputError('washes: none; log some')",
            "tiny, code cell 3: washes: none; log some",
        ),
        ("def", "tiny, code cell 3: SyntaxError: "),
    ],
)
def test_a_cell_that_fails(source, said, capfd):
    with pytest.raises(InputError) as failed:
        _run("one = 1", source, "two = 2")
    assert str(failed.value).startswith(said)
    assert "\n" not in str(failed.value)
    assert capfd.readouterr() == ("", "")


def test_a_process_that_ends_by_itself(capfd):
    with pytest.raises(InputError, match="tiny, code cell 2: the process that ran it ended"):
        _run("import os\nos._exit(3)")
    assert capfd.readouterr() == ("", "")


def test_a_process_that_does_not_start(monkeypatch):
    monkeypatch.setattr(sys, "executable", "/nowhere/python")
    with pytest.raises(InputError, match="tiny: no process could be started to run it"):
        _run("1")


def test_a_warning_tells_no_folder():
    notebook = _run("import warnings\nwarnings.warn_explicit('odd', UserWarning, '/home/me/own.py', 3)")
    (warned,) = notebook.cells[-1].outputs
    assert warned.text.startswith("own.py:3: UserWarning: odd")
