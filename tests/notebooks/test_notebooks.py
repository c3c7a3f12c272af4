"""Notebooks run from top to bottom, and lie in version control without their outputs."""

from pathlib import Path

import nbformat
import pytest
from nbclient import NotebookClient

FOLDER = Path(__file__).parents[2] / "notebooks"
NOTEBOOKS = sorted(FOLDER.glob("*.ipynb"))


def test_there_is_a_notebook():
    assert [path.stem for path in NOTEBOOKS] == ["how_many_sessions"]


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)
def test_outputs_are_stripped_and_parameters_come_first(path):
    code = [cell for cell in nbformat.read(path, as_version=4).cells if cell.cell_type == "code"]
    assert all(cell.outputs == [] and cell.execution_count is None for cell in code)
    assert code[0].metadata["tags"] == ["parameters"]


@pytest.mark.slow
@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)
def test_it_runs(path):
    notebook = nbformat.read(path, as_version=4)
    NotebookClient(notebook, timeout=300, resources={"metadata": {"path": str(FOLDER)}}).execute()
    said = "".join(o.get("text", "") for c in notebook.cells if c.cell_type == "code" for o in c.outputs)
    assert "truth 0.62" in said
    assert "most likely" in said
