"""The files of a team's quarter: whole, the same again, and harmless whatever stands in the log."""

from __future__ import annotations

import csv
import re
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from outcomes.errors import InputError
from outcomes.log.harmless import as_meant
from outcomes.log.numbers import NUMBER
from outcomes.review.team_review import Finding
from outcomes.show.report import team_page, write_team
from tests.show.made_reviews import COLUMNS, PARTS, empty_review, made_review, stand_ins
from tests.show.read_page import Page

CODES = [f"S{i}" for i in range(1, 9)]
HIDDEN = ("S2", "S7")
HOSTILE = (
    "<script>alert(1)</script>",
    '"><img src=x onerror=alert(1)>',
    "'><svg/onload=alert(1)>",
    '=HYPERLINK("http://x")',
    "{{7*7}}",
    "{% raw %}",
    "@SUM(A1)",
    "+1+cmd|' /C calc'!A0",
    "-2+3; =1+1",
    "</title></style></table><b>&amp;-->",
)


@pytest.fixture(scope="module")
def pictures():
    return stand_ins()


def hostile_review(texts):
    """Every text of a review is one of these, in turn."""
    review = made_review(list(texts), texts[:2], 3)
    n = len(texts)
    habits = review.habits.assign(words=texts[:4], step_words=texts[4:8], habit=texts[2:6])
    findings = (Finding("rate", texts[3], texts[0], 1.2, 1.1, 1.3, 40, 0.01),
                Finding("habit", "", texts[1], 1.2, 1.1, 1.3, 40, 0.01))  # fmt: skip
    return replace(
        review,
        quarter=texts[0],
        salon=texts[1],
        team={**review.team, "fade_measure": texts[2]},
        trend=review.trend.assign(quarter=[texts[i % n] for i in range(len(review.trend))]),
        habits=habits,
        findings=findings,
        adjusted=tuple(texts),
        not_recorded=tuple(texts),
        notes=tuple(texts),
        calibration={**review.calibration, "holds": None, "note": texts[0]},
    )


def outside_figures(read):
    """Elements and names of their attributes, without what stands inside a figure."""
    return [
        (one.tag, tuple(one.attrs))
        for one in read.elements
        if not any(parent.tag == "svg" for parent in one.parents)
    ]


def test_texts_of_a_log_become_no_markup():
    plain = [f"plain {i}" for i in range(len(HOSTILE))]
    hostile = Page(team_page(hostile_review(HOSTILE), stand_ins(HOSTILE[0])))
    quiet = Page(team_page(hostile_review(plain), stand_ins(plain[0])))
    assert outside_figures(hostile) == outside_figures(quiet)
    drawn = {one.tag for one in hostile.elements if any(parent.tag == "svg" for parent in one.parents)}
    assert drawn <= {"title", "desc", "g", "path", "use", "defs", "clippath", "rect"}
    assert not any(key.startswith("on") for one in hostile.elements for key in one.attrs)
    listed = [one.text for one in hostile.all("li")]
    assert all(listed.count(text) == 3 for text in HOSTILE)
    assert set(HOSTILE[2:]) <= set(hostile.table("Lift rate"))
    assert hostile.comments == []


def live(cell):
    """Whether a spreadsheet would run it, here or where a line is parted by something else than commas."""
    first = re.match(r"[ \xa0]*[=+\-@]|[\t\r]", cell) and not re.fullmatch(NUMBER, cell)
    return bool(first) or bool(re.search(r"[;\t\r\n][ \xa0]*[=+\-@]", cell))


def test_texts_of_a_log_run_in_no_spreadsheet(tmp_path):
    assert any(map(live, HOSTILE))
    review = hostile_review(HOSTILE)
    written = [path for path in write_team(review, {}, tmp_path) if path.suffix == ".csv"]
    cells = [
        cell
        for path in written
        for row in csv.reader(path.read_text(encoding="utf-8").splitlines())
        for cell in row
    ]
    assert not [cell for cell in cells if live(cell)]
    again = pd.read_csv(tmp_path / "stylists.csv", dtype=str, keep_default_na=False)
    assert list(as_meant(again["stylist"])) == list(HOSTILE)


def test_every_table_is_written_as_it_stands(tmp_path):
    review = made_review(CODES, HIDDEN, 3)
    write_team(review, {}, tmp_path)
    again = pd.read_csv(tmp_path / "stylists.csv")
    assert list(again.columns) == list(COLUMNS)
    np.testing.assert_allclose(again[list(COLUMNS[2:])], review.stylists[list(COLUMNS[2:])], rtol=1e-8)
    assert again.loc[again["suppressed"], list(COLUMNS[2:])].isna().all(axis=None)
    frames = {
        "control_chart": review.chart, "funnel": review.funnel, "promises": review.promises,
        "trend": review.trend, "habits": review.habits, "narrowing": review.narrowing,
    }  # fmt: skip
    for name, frame in frames.items():
        read = pd.read_csv(tmp_path / f"{name}.csv")
        assert list(read.columns) == list(frame.columns)
        assert len(read) == len(frame)
    findings = pd.read_csv(tmp_path / "findings.csv")
    assert list(findings.columns) == ["kind", "who", "sentence", "value", "low", "high", "n", "p"]
    assert list(findings["value"]) == [0.6, 1.12]
    assert "visits,clients" in (tmp_path / "stylists.csv").read_text(encoding="utf-8")


def test_the_page_its_figures_and_tables_are_written(tmp_path, pictures):
    folder = tmp_path / "new" / "quarter"
    written = write_team(made_review(CODES, HIDDEN, 3), pictures, folder)
    names = [path.name for path in written]
    assert names[0] == "team_review.html"
    assert {f"{part}.svg" for part in PARTS} <= set(names)
    assert sorted(names) == sorted(path.name for path in folder.iterdir())
    assert (folder / "goal.svg").read_text(encoding="utf-8").startswith("<?xml")
    first = written[0].read_bytes()
    write_team(made_review(CODES, HIDDEN, 3), pictures, folder)
    assert written[0].read_bytes() == first


def test_tables_of_nothing_have_their_headings(tmp_path):
    write_team(empty_review([]), {}, tmp_path)
    assert (tmp_path / "findings.csv").read_text(encoding="utf-8").startswith("kind,who,sentence,value")
    assert (tmp_path / "trend.csv").read_text(encoding="utf-8") == "quarter,median,low,high,expected,visits\n"


def test_a_place_that_is_no_folder_is_refused(tmp_path):
    (tmp_path / "file").write_text("", encoding="utf-8")
    with pytest.raises(InputError, match="name another folder"):
        write_team(made_review(CODES), {}, tmp_path / "file")


def test_a_figure_of_an_earlier_quarter_does_not_stay(tmp_path):
    write_team(made_review(["S1", "S2"]), stand_ins(), tmp_path)
    assert (tmp_path / "chart.svg").exists()
    left = {name: picture for name, picture in stand_ins().items() if name != "chart"}
    write_team(made_review(["S1", "S2"]), left, tmp_path)
    assert not (tmp_path / "chart.svg").exists()
    assert (tmp_path / "goal.svg").exists()
