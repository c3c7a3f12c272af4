"""Notebooks: sources, outputs in every form, attachments, metadata."""

from __future__ import annotations

import json

import pytest

PNG = "iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAYAAAAfFcSJAAAADUlEQVR42mNk"


def notebook(*cells, **metadata):
    return json.dumps({"cells": list(cells), "metadata": metadata, "nbformat": 4, "nbformat_minor": 5})


def code(source="1", *outputs, **metadata):
    return {"cell_type": "code", "source": source, "outputs": list(outputs), "metadata": metadata,
            "execution_count": 7}  # fmt: skip


def text(source, **rest):
    return {"cell_type": "markdown", "source": source, "metadata": {}} | rest


def shown(**data):
    return {"output_type": "display_data", "data": data, "metadata": {}}


@pytest.mark.parametrize(
    ("cell", "place", "found"),
    [(text(["# x\n", "by C001"]), "cell 2, line 2, character 4", "C001"),
     (text("| stylist | n |\n| --- | --- |\n| A | 5 |"), "cell 2, line 3, character 3", "A"),
     (code(["x = 1\n", "y = 'C001'"]), "cell 2, line 2, character 6", "C001"),
     (code("# by S1"), "cell 2, line 1, character 6", "S1"),
     (code("1", {"output_type": "stream", "name": "stdout", "text": ["a\n", "\x1b[31mC001\x1b[0m"]}),
      "cell 2, output 1, line 2, character 2", "C001"),
     (code("1", shown(**{"text/plain": ["'a\\nC001'"]})), "cell 2, output 1, line 1, character 5", "C001"),
     (code("1", {}, shown(**{"text/html": "<table><tr><th>client</th></tr><tr><td>12</td></tr></table>"})),
      "cell 2, output 2, line 1, character 40", "12"),
     (code("1", shown(**{"image/svg+xml": "<svg><text>C001</text></svg>"})),
      "cell 2, output 1, line 1, character 12", "C001"),
     (code("1", shown(**{"application/json": {"rows": [{"client": 12}]}})),
     "cell 2, output 1 rows[0].client", "12"),
     (code("1", {"output_type": "error", "ename": "E", "evalue": "C001", "traceback": []}),
      "cell 2, output 1, line 1, character 1", "C001"),
     (code("1", {"output_type": "error", "ename": "E", "evalue": "", "traceback": ["a", "b 'C001'"]}),
      "cell 2, output 1, line 2, character 4", "C001"),
     (text("x", attachments={"C001.png": {"image/png": PNG}}), "cell 2, attachment", "C001"),
     (code("1", tags=["C001"]), "cell 2, metadata tags[0]", "C001"),
     (code("1", execution={"iopub.status.busy": "2026-11-26T13:12:39.8Z", "x": "C001"}),
      "cell 2, metadata execution.x", "C001"),
     (text("x", id="C001"), "cell 2, id", "C001")],
)  # fmt: skip
def test_every_part_of_a_cell(finds, cell, place, found):
    assert [(one, what) for one, _, what in finds(notebook(text("x"), cell), "x.ipynb")] == [(place, found)]


def test_the_notebook_s_own_metadata(finds):
    told = finds(notebook(authors=[{"name": "jane@salon.de"}]), "x.ipynb")
    assert told == [("metadata authors[0].name", "e-mail", "jane@salon.de")]


def test_pictures_are_counted_and_clean_cells_are_clean(look):
    cells = [
        text("On 2024-03-01, 12 clients", attachments={"a.png": {"image/png": PNG}}),
        code("s1 = 7", shown(**{"image/png": PNG, "text/plain": "<Figure size 640x480>"})),
        code("1", execution={"iopub.status.busy": "2024-03-14T13:12:39.857039Z"}),
    ]
    told = look(notebook(*cells), "x.ipynb")
    assert told.is_clean
    assert told.unseen["x.ipynb"]["pictures"] == 2


def test_a_notebook_by_another_name_and_one_cut_short(finds):
    whole = notebook(text("C001"))
    assert finds(whole, "x.json") == [("cell 1, line 1, character 1", "client code", "C001")]
    assert [what for _, what, _ in finds(whole[:-9], "x.ipynb")] == ["client code"]
