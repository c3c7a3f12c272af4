"""`outcomes notebook`: two files or none, by the user's log and parameters."""

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import nbformat
import pytest

from outcomes.cli.main import main
from outcomes.demo.simulate import simulate_log
from outcomes.demo.worlds import world
from outcomes.log.read import read_log
from outcomes.show import notebooks
from outcomes.show.notebooks import GIVEN
from tests.show.test_notebook_page import external
from tests.show.test_notebooks import tiny

DEMO = Path(__file__).parents[2] / "data_demo"
READS = """import outcomes
log = outcomes.read_log(LOG)
print(LOG, log.source, SEED, len(log.visits), log.visits["minutes"].sum())"""


@pytest.fixture
def at(tmp_path, monkeypatch):
    """A folder in which the command is run; the project's notebooks are tiny ones of the test."""
    folder = tmp_path / "notebooks"
    folder.mkdir()
    for name, source in (("reads", READS), ("fails", "1 / 0")):
        nbformat.write(tiny(source), folder / f"{name}.ipynb")
    monkeypatch.setattr(notebooks, "notebooks_folder", lambda: folder)
    here = tmp_path / "here"
    here.mkdir()
    monkeypatch.chdir(here)
    simulate_log(world("plain"), 30, 3)[0]["visits"].to_csv("visits.csv", index=False)
    return here


def _printed(notebook):
    return notebook.cells[-1].outputs[0].text.split("\n")[0]


def _given(notebook):
    return next(cell.source for cell in notebook.cells if GIVEN in cell.metadata.get("tags", []))


def _refused(capsys, *arguments):
    before = sorted(Path.cwd().rglob("*"))
    assert main(["notebook", *arguments]) == 2
    out, said = capsys.readouterr()
    assert out == ""
    assert said.startswith("outcomes: ")
    assert said.count("\n") == 1
    assert sorted(Path.cwd().rglob("*")) == before
    return said


@pytest.mark.parametrize("name", ["reads", "reads.ipynb"])
def test_two_files_and_their_names(at, capsys, name):
    assert main(["notebook", name, "--log", "visits.csv", "--to", "seen/new", "--set", "SEED=5"]) == 0
    assert capsys.readouterr() == ("seen/new/reads.ipynb\nseen/new/reads.html\n", "")
    assert sorted(path.name for path in Path("seen/new").iterdir()) == ["reads.html", "reads.ipynb"]
    notebook, page = nbformat.read("seen/new/reads.ipynb", 4), Path("seen/new/reads.html").read_text("utf-8")
    log = read_log("visits.csv")
    printed = f"visits.csv visits.csv 5 {len(log.visits)} {log.visits['minutes'].sum()}"
    assert _printed(notebook) == printed
    assert _given(notebook) == "LOG = 'visits.csv'\nSEED = 5"
    assert printed in page
    assert external(page) == []
    for text in (page, Path("seen/new/reads.ipynb").read_text("utf-8")):
        assert str(at.parent) not in text  # no path of the user's machine


def test_an_older_run_is_replaced_and_nothing_else(at, capsys):
    run = ["reads", "--log", "visits.csv", "--to", "."]
    assert main(["notebook", *run]) == 0
    assert main(["notebook", *run, "--set", "SEED=6"]) == 0
    assert "SEED = 6" in _given(nbformat.read("reads.ipynb", 4))
    capsys.readouterr()
    Path("reads.html").write_text("<p>my own notes</p>", encoding="utf-8")
    assert "reads.html: found another file there" in _refused(capsys, *run)
    # the notebook itself, or a copy that somebody works on
    assert "reads.ipynb: found another file there" in _refused(capsys, *run[:-1], "../notebooks")


def test_names_that_would_break_a_text(at, capsys):
    log = 'it\'s "a"\nlog, Köln.csv'
    Path("visits.csv").rename(log)
    assert main(["notebook", "reads", "--log", log, "--to", "seen"]) == 0
    notebook = nbformat.read("seen/reads.ipynb", 4)
    assert _given(notebook) == f"LOG = {log!r}"
    assert notebook.cells[-1].outputs[0].text.startswith(f"{log} {log} 1 ")


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["unknown", "--log", "visits.csv", "--to", "seen"], "found 'unknown'; expected one of fails, reads"),
        (["reads", "--log", "nowhere", "--to", "seen"], "nowhere: there is no such file or folder"),
        (["reads", "--log", "visits.csv", "--to", "visits.csv"], "found a file at"),
        (["reads", "--log", "visits.csv", "--to", "visits.csv/in/it"], "found a file at"),
        (["reads", "--log", "visits.csv", "--to", "seen", "--set", "VISITS=3"], "no parameter VISITS"),
        (["reads", "--log", "visits.csv", "--to", "seen", "--set", "LOG='x'"], "the log is what --log names"),
        (["reads", "--log", "visits.csv", "--to", "seen", "--set", "SEED=x"], "found 'x'; expected a number"),
        (["reads", "--log", "visits.csv", "--to", "seen", "--map", "no.toml"], "no.toml: can't be read"),
        (["reads", "--to", "seen"], "required: --log"),
        (["fails", "--log", "visits.csv", "--to", "seen"], "fails, code cell 2: ZeroDivisionError: division"),
    ],
)
def test_what_cannot_be_run_leaves_nothing(at, capsys, arguments, said):
    assert said in _refused(capsys, *arguments)


def test_nothing_is_started_for_a_log_that_cannot_be_read(at, capsys, monkeypatch):
    monkeypatch.setattr(sys, "executable", "/nowhere/python")
    Path("bad.csv").write_text("who,when\nme,today\n", encoding="utf-8")
    assert "bad.csv" in _refused(capsys, "reads", "--log", "bad.csv", "--to", "seen")


def test_a_log_of_other_headings_is_put_into_canonical_form(at, capsys):
    """The same rows as `--map` reads, shown under the name that the user gave."""
    log, map_file = DEMO / "untidy" / "own_headings.tsv", DEMO / "untidy" / "own_headings.toml"
    Path("own.tsv").write_bytes(log.read_bytes())
    Path("own.toml").write_bytes(map_file.read_bytes())
    options = ["--map", "own.toml", "--dates", "day-first"]
    assert main(["notebook", "reads", "--log", "own.tsv", "--to", "seen", *options]) == 0
    notebook, read = nbformat.read("seen/reads.ipynb", 4), read_log(log, map_file=map_file, dates="day-first")
    assert _printed(notebook) == f"own.tsv own.tsv 1 {len(read.visits)} {read.visits['minutes'].sum()}"
    aside = read.counts["visits"]["set_aside"]
    assert _given(notebook).split("\n") == [
        "# 'own.tsv', read with --map own.toml --dates day-first: LOG had the rows that could be used",
        f"# set aside: {f'{aside} of visits' if aside else 'none'}",
        "LOG = 'own.tsv'",
    ]


def test_rows_set_aside_are_told_whether_the_log_is_put_into_canonical_form_or_not(at, capsys):
    counts = read_log(DEMO / "faulty").counts
    told = ", ".join(f"{n['set_aside']:,} of {table}" for table, n in counts.items() if n["set_aside"])
    assert "of visits" in told
    for options in ([], ["--dates", "day-first"]):
        assert main(["notebook", "reads", "--log", str(DEMO / "faulty"), "--to", "seen", *options]) == 0
        said = capsys.readouterr().out
        assert f"rows set aside: {told}; to see why:\n" in said
        assert said.endswith(f"outcomes check {' '.join([str(DEMO / 'faulty'), *options])}\n")
        notebook = nbformat.read("seen/reads.ipynb", 4)
        assert (f"# set aside: {told}" in _given(notebook)) == bool(options)
        assert f" {counts['visits']['used']} " in _printed(notebook)


# the signal goes to a group of processes, which Windows lacks; that nothing is written where a cell fails is
# tested everywhere
@pytest.mark.skipif(os.name != "posix", reason="elsewhere a program can't be interrupted from outside alone")
def test_stopped_by_the_user(at):
    """Nothing is left behind, neither files nor the process that ran the cells."""
    waits = "import os, time\nopen('started.tmp', 'w').write(str(os.getpid()))\n"
    waits += "os.rename('started.tmp', 'started')\ntime.sleep(600)"
    nbformat.write(tiny(waits), notebooks.notebooks_folder() / "waits.ipynb")
    code = (
        "import sys, pathlib\nfrom outcomes.cli.main import main\nfrom outcomes.show import notebooks\n"
        f"notebooks.notebooks_folder = lambda: pathlib.Path({str(notebooks.notebooks_folder())!r})\n"
        "sys.exit(main(['notebook', 'waits', '--log', 'visits.csv', '--to', 'seen']))"
    )
    running = subprocess.Popen([sys.executable, "-c", code], stdout=subprocess.PIPE, stderr=subprocess.PIPE)
    while not Path("started").exists():
        assert running.poll() is None, running.stderr.read()
        time.sleep(0.1)
    running.send_signal(signal.SIGINT)
    out, said = running.communicate(timeout=60)
    assert (running.returncode, out) == (130, b"")
    assert said == b"outcomes: stopped; no file was left half written\n"
    assert not Path("seen").exists()
    with pytest.raises(ProcessLookupError):
        os.kill(int(Path("started").read_text(encoding="utf-8")), 0)


@pytest.mark.slow
def test_a_notebook_of_the_project_on_a_log_elsewhere(tmp_path, monkeypatch, capsys):
    for name, rows in simulate_log(world("plain"), 400, 5)[0].items():
        rows.to_csv(tmp_path / f"{name}.csv", index=False)
    monkeypatch.chdir(tmp_path)
    asked = ["how_many_sessions", "--log", ".", "--to", "seen", "--set", "VISITS=300"]
    assert main(["notebook", *asked]) == 0
    assert capsys.readouterr().err == ""
    notebook, page = nbformat.read("seen/how_many_sessions.ipynb", 4), Path("seen/how_many_sessions.html")
    assert _given(notebook) == "LOG = '.'\nVISITS = 300"
    outputs = [output for cell in notebook.cells for output in cell.get("outputs", [])]
    pictures = sum("image/png" in output.get("data", {}) for output in outputs)
    text = page.read_text("utf-8")
    assert pictures > 2
    assert text.count('src="data:image/png;base64,') == pictures
    assert "Of 10 clients like this" in text  # the picture's own words
    assert external(text) == []
    assert str(tmp_path) not in text


@pytest.mark.slow
def test_a_log_without_what_a_notebook_needs(tmp_path, monkeypatch, capsys):
    simulate_log(world("plain"), 60, 5)[0]["visits"].to_csv(tmp_path / "visits.csv", index=False)
    monkeypatch.chdir(tmp_path)
    said = _refused(capsys, "root_shades_over_washes", "--log", "visits.csv", "--to", "seen")
    assert (
        "root_shades_over_washes, code cell 2: the level of a root shade after washes was read for 0" in said
    )
