"""The notebook of the quarterly review says what the public review says, on the demo log and on another."""

import json
from pathlib import Path

import nbformat
import pandas as pd
import pytest
from nbclient import NotebookClient

from outcomes.demo.simulate import simulate_log
from outcomes.demo.worlds import world
from tests.models.logs import as_log

FOLDER = Path(__file__).parents[2] / "notebooks"

ASKED = """
import json
print(json.dumps({
    "quarter": review.quarter, "rates": stylists["rate"].to_dict(), "findings": len(review.findings),
    "visits": stylists["visits"].to_dict(), "holds": review.calibration["holds"],
    "reached": list(map(float, by_chance["reached"])), "expected": list(map(float, by_chance["expected"])),
    "counts": [int(n) for n in by_chance["visits"]],
}))
"""


def _executed(log=None, **parameters):
    notebook = nbformat.read(FOLDER / "quarterly_team_review.ipynb", as_version=4)
    stated = {} if log is None else {"LOG": str(log)}
    lines = [f"{name} = {value!r}" for name, value in {**stated, **parameters}.items()]
    notebook.cells.insert(2, nbformat.v4.new_code_cell("\n".join(lines)))
    notebook.cells.append(nbformat.v4.new_code_cell(ASKED))
    NotebookClient(notebook, timeout=300, resources={"metadata": {"path": str(FOLDER)}}).execute()
    said = "".join(output.get("text", "") for output in notebook.cells.pop().outputs)
    return notebook, json.loads(said)


@pytest.mark.slow
def test_it_runs_on_the_demo_log():
    notebook, found = _executed()
    assert found["quarter"] == "2024Q2"  # of the last two the fuller one
    log = pd.read_csv(FOLDER.parent / "data_demo" / "salon_group" / "visits.csv", dtype=str)
    day = pd.to_datetime(log["date"], format="%Y-%m-%d", errors="coerce")
    written = log[(day >= "2024-04-01") & (day < "2024-07-01")].groupby("stylist").size()
    for code, visits in found["visits"].items():
        assert visits <= written[code]  # rows with faults are set aside
        assert visits >= written[code] - 3
    for expected, reached, n in zip(found["expected"], found["reached"], found["counts"], strict=True):
        assert abs(expected - reached) < 3.5 * (expected * (1 - expected) / n) ** 0.5 + 0.02
    assert 0.75 < found["holds"] < 0.87
    outputs = [output for cell in notebook.cells if cell.cell_type == "code" for output in cell.outputs]
    assert sum("image/png" in output.get("data", {}) for output in outputs) == 5
    assert "..." not in " ".join(output.get("data", {}).get("text/html", "") for output in outputs)


@pytest.mark.slow
def test_it_runs_on_another_log_and_says_what_the_review_says(tmp_path):
    from outcomes.review.team import team_review

    tables, _ = simulate_log(world("plain", n_stylists=4), 300, 12)
    for name, frame in tables.items():
        frame.to_csv(tmp_path / f"{name}.csv", index=False)
    _, found = _executed(tmp_path, QUARTER="2024Q1", MIN_CLIENTS=6)
    review = team_review(as_log(tables), "2024Q1", min_clients=6)
    assert found["quarter"] == "2024Q1"
    for row in review.stylists.to_dict("records"):
        if not row["suppressed"]:
            assert found["rates"][row["stylist"]] == pytest.approx(row["rate"])
    assert found["findings"] == len(review.findings)
