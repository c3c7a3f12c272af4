"""`outcomes team` from a log to its files: what they hold, what they never carry, and what is refused."""

from __future__ import annotations

import csv
import json
import re
from html.parser import HTMLParser

import numpy as np
import pandas as pd
import pytest

from outcomes.cli.main import main
from outcomes.demo.simulate import simulate_log
from outcomes.demo.worlds import world
from outcomes.log.read import read_log
from outcomes.models.lift import LiftModel
from outcomes.predictive.saved import SalonModel, save_model

QUARTER = "2024Q2"
STYLISTS = (
    "<script>alert(1)</script>",
    "=1+cmd|' /C calc'!A0",
    "{{7*7}}",
    "@SUM(A1:A9)",
    "<img src=x onerror=alert(2)>",
    "-2+3&amp;<b>",
)
FILES = {
    *("team_review.html", "goal.svg", "rates.svg", "chart.svg", "promises.svg", "trend.svg"),
    *("stylists.csv", "control_chart.csv", "funnel.csv", "promises.csv", "trend.csv", "habits.csv"),
    *("findings.csv", "narrowing.csv"),
}


def write_hostile_log(folder):
    """A log up to the quarter's end with markup and formulas in every column of free text."""
    tables, _ = simulate_log(world("plain", n_stylists=6), 330, 11)
    visits = tables["visits"]
    codes = {f"S{i + 1:02d}": code for i, code in enumerate(STYLISTS)}
    visits["stylist"] = visits["stylist"].map(codes)
    for name in ("client", "visit", "course", "product", "salon"):
        visits[name] = visits[name].map(lambda code: f"=<i>{code}</i>")
    visits = visits[visits["date"] < "2024-07-01"]
    visits.assign(note="<script>alert(3)</script>").to_csv(folder / "visits.csv", index=False)
    for name in ("checks", "washes"):
        readings = tables[name].assign(visit=tables[name]["visit"].map(lambda code: f"=<i>{code}</i>"))
        readings[readings["visit"].isin(visits["visit"])].to_csv(folder / f"{name}.csv", index=False)


@pytest.fixture(scope="module")
def hostile(tmp_path_factory):
    """The log, a model of it, and the folder of its review."""
    folder = tmp_path_factory.mktemp("hostile")
    (folder / "log").mkdir()
    write_hostile_log(folder / "log")
    fitted = LiftModel(shapes=("power",)).fit(read_log(folder / "log"))
    save_model(SalonModel(fitted.predictive_, {}, {}), folder / "m.json")
    words = ["team", str(folder / "log"), "--quarter", QUARTER, "--model", str(folder / "m.json")]
    assert main([*words, "--to", str(folder / "review")]) == 0
    return folder


class Elements(HTMLParser):
    """What a browser would make of a page: elements, attributes and text."""

    def __init__(self):
        super().__init__()
        self.tags, self.attributes, self.text = set(), [], []

    def handle_starttag(self, tag, attrs):
        self.tags.add(tag)
        self.attributes += [(name, value or "") for name, value in attrs]

    def handle_data(self, data):
        self.text.append(data)


def test_every_file_is_there_and_nothing_else(hostile):
    assert {path.name for path in (hostile / "review").iterdir()} == FILES


def test_no_code_of_the_log_comes_alive_in_the_page(hostile):
    page = Elements()
    page.feed((hostile / "review" / "team_review.html").read_text(encoding="utf-8"))
    text = " ".join(page.text)
    for code in STYLISTS:
        assert code in text  # shown as it stands
    assert not page.tags & {"script", "img", "i", "iframe", "object", "link", "base", "form"}
    assert not [name for name, _ in page.attributes if name.startswith("on")]
    assert not [
        value for name, value in page.attributes if name in ("src", "href") and not value.startswith("#")
    ]


def test_no_cell_of_a_table_runs(hostile):
    found = []
    for path in (hostile / "review").glob("*.csv"):
        with path.open(encoding="utf-8", newline="") as file:
            rows = list(csv.reader(file))
        assert len({len(row) for row in rows}) <= 1
        for cell in (cell for row in rows for cell in row):
            found.append(cell)
            if cell[:1] in ("=", "+", "-", "@", "\t", "\r"):
                float(cell)  # a number may begin so
    assert "'=1+cmd|' /C calc'!A0" in found


def test_figures_carry_no_code_alive(hostile):
    for path in (hostile / "review").glob("*.svg"):
        text = path.read_text(encoding="utf-8")
        assert "<script" not in text
        assert "<img" not in text
        assert "onerror=alert" not in re.sub(r"&lt;.*?&gt;", "", text)


def test_free_text_of_the_log_is_in_no_file(hostile):
    log = pd.read_csv(hostile / "log" / "visits.csv", dtype=str)
    secrets = [*log["client"].unique()[:40], *log["visit"].unique()[:40], "alert(3)"]
    for path in (hostile / "review").iterdir():
        text = path.read_text(encoding="utf-8")
        escaped = text.replace("&lt;", "<").replace("&gt;", ">")
        assert not [code for code in secrets if code in escaped]


def test_json_is_the_same_again_and_disclose_finds_no_client(hostile, capsys):
    words = ["team", str(hostile / "log"), "--quarter", "2024q2", "--model", str(hostile / "m.json")]
    assert main([*words, "--to", str(hostile / "again"), "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["quarter"] == QUARTER
    assert [row["stylist"] for row in told["stylists"]] == sorted(STYLISTS)
    stylists = pd.read_csv(hostile / "again" / "stylists.csv")
    for row, written in zip(told["stylists"], stylists.to_dict("records"), strict=True):
        assert row["visits"] == written["visits"]
        assert row["rate_ratio"]["value"] == pytest.approx(written["rate"], abs=1e-6)
        assert row["goal"]["expected"] == pytest.approx(written["goal_expected"], abs=1e-6)
    for path in (hostile / "again").iterdir():
        assert path.read_bytes() == (hostile / "review" / path.name).read_bytes()
    pages = [str(path) for path in sorted((hostile / "review").iterdir())]
    assert main(["disclose", *pages, "--log", str(hostile / "log"), "--may-show", "stylist"]) == 0


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--quarter", "2024Q9"], 'found "2024Q9"; expected a year and a quarter, as 2026Q3'),
        (["--quarter", "2030Q1"], "has no visit in it; its visits are of 2023Q1 to 2024Q2"),
        (["--quarter", QUARTER, "--min-clients", "3"], "5 or more are expected"),
        (["--quarter", QUARTER, "--min-clients", "few"], "expected a whole number"),
        (["--quarter", QUARTER, "--salon", "X9"], "no such salon"),
        (["--quarter", "2023Q4", "--model"], "visits up to 2024-06 in it"),
    ],
)
def test_what_cannot_be_reviewed_is_one_line_and_leaves_nothing(hostile, tmp_path, capsys, words, said):
    words = [*words, str(hostile / "m.json")] if words[-1] == "--model" else words
    folder = tmp_path / "out"
    assert main(["team", str(hostile / "log"), *words, "--to", str(folder)]) == 2
    error = capsys.readouterr().err.strip().splitlines()[-1]
    assert error.startswith("outcomes: ")
    assert said in error
    assert not folder.exists()


def test_a_file_is_no_folder(hostile, capsys):
    words = ["team", str(hostile / "log"), "--quarter", QUARTER, "--to", str(hostile / "m.json")]
    assert main(words) == 2
    assert "found a file; name a folder" in capsys.readouterr().err


def test_help_and_start_load_nothing_heavy():
    import subprocess
    import sys

    code = (
        "import sys; from outcomes.cli.main import command_parser; command_parser('team').format_help(); "
        "print(sorted({'pandas', 'matplotlib', 'jinja2', 'scipy'} & set(sys.modules)))"
    )
    said = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout
    assert said.strip() == "[]"


def test_numbers_in_the_tables_are_those_of_the_log(hostile):
    log = pd.read_csv(hostile / "log" / "visits.csv", parse_dates=["date"])
    here = log[log["date"].dt.to_period("Q") == pd.Period(QUARTER)]
    stylists = pd.read_csv(hostile / "review" / "stylists.csv", dtype={"stylist": str})
    codes = stylists["stylist"].str.removeprefix("'")
    shown = ~stylists["suppressed"].to_numpy(dtype=bool)
    counts = here.groupby("stylist")["visit"].size().reindex(codes).to_numpy()
    assert (stylists["visits"].to_numpy()[shown] == counts[shown]).all()
    assert np.isnan(stylists["visits"].to_numpy()[~shown].astype(float)).all()
