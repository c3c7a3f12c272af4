"""Which notebooks there are, and their parameters as a user gives them."""

import ast

import nbformat
import pytest

from outcomes.errors import InputError
from outcomes.show import notebooks
from outcomes.show.notebooks import (
    GIVEN,
    notebook_names,
    notebooks_folder,
    read_notebook,
    show_as,
    stated_values,
    with_parameters,
)

ASSIGNED = 'LOG = "somewhere"  # a log\nSEED = 1\nFEW, MANY = 2, 3\nQUARTER: str = "2026-Q1"'


def tiny(*sources, parameters=ASSIGNED):
    """A notebook: words, a cell of parameters, and code."""
    v4 = nbformat.v4
    cells = [
        v4.new_markdown_cell("# A tiny notebook\n\nWith `few` words."),
        v4.new_code_cell(parameters, metadata={"tags": ["parameters"]}),
        *map(v4.new_code_cell, sources),
    ]
    return v4.new_notebook(cells=cells)


def _given(notebook):
    return next(cell for cell in notebook.cells if GIVEN in cell.metadata.get("tags", []))


def test_names_are_those_of_the_folder(tmp_path):
    for name in ("b.ipynb", "a.ipynb", "c.txt"):
        (tmp_path / name).write_text("{}", encoding="utf-8")
    assert notebook_names(tmp_path) == ["a", "b"]


def test_a_checkout_has_the_notebooks_beside_the_package():
    folder = notebooks_folder()
    assert (folder.name, folder.parent / "outcomes") == ("notebooks", notebooks._PACKAGE)
    assert "how_many_sessions" in notebook_names()


def test_an_installed_package_has_them_within(tmp_path, monkeypatch):
    (tmp_path / "outcomes" / "_notebooks").mkdir(parents=True)
    (tmp_path / "notebooks").mkdir()  # of somebody else
    monkeypatch.setattr(notebooks, "_PACKAGE", tmp_path / "outcomes")
    assert notebooks_folder() == tmp_path / "outcomes" / "_notebooks"


def test_an_unknown_notebook_says_which_there_are(tmp_path):
    (tmp_path / "known.ipynb").write_text("{}", encoding="utf-8")
    with pytest.raises(InputError, match=r"found '\.\./secret'; expected one of known"):
        read_notebook("../secret", tmp_path)
    with pytest.raises(InputError, match="none is there"):
        read_notebook("known", tmp_path / "empty")


@pytest.mark.parametrize("name", notebook_names())
def test_every_notebook_of_the_project_takes_a_log(name):
    notebook = with_parameters(name, read_notebook(name), {"LOG": "salon.xlsx"})
    assert _given(notebook).source == "LOG = 'salon.xlsx'"


@pytest.mark.parametrize(
    "value", ['it\'s "here"\nand there', "Köln/日本", "back\\slash", "odd\udcff", "#", "'''", "a\r\n${HOME}"]
)
def test_a_path_is_never_more_than_a_text(value):
    source = _given(with_parameters("tiny", tiny(), {"LOG": value})).source
    (only,) = ast.parse(source).body
    assert ast.literal_eval(only.value) == value


def test_the_new_values_stand_right_below_the_old_ones():
    before = tiny("print(LOG)")
    after = with_parameters("tiny", before, {"LOG": "x", "MANY": [1, 2.5], "QUARTER": "2026-Q3"})
    assert [cell.source for cell in after.cells[1:]] == [
        ASSIGNED,
        "LOG = 'x'\nMANY = [1, 2.5]\nQUARTER = '2026-Q3'",
        "print(LOG)",
    ]
    assert len(before.cells) == 3
    nbformat.validate(after)


def test_a_parameter_that_it_has_not():
    with pytest.raises(
        InputError, match="no parameter VISITS; expected one of LOG, SEED, FEW, MANY, QUARTER"
    ):
        with_parameters("tiny", tiny(), {"VISITS": 3})
    with pytest.raises(InputError, match="no parameter LOG"):
        with_parameters("tiny", tiny(parameters="SEED = 1"), {"LOG": "x"})


def test_a_notebook_without_parameters():
    notebook = tiny()
    notebook.cells[1].metadata.clear()
    with pytest.raises(InputError, match="tiny: found no cell tagged 'parameters'"):
        with_parameters("tiny", notebook, {"LOG": "x"})


def test_values_are_what_python_writes():
    stated = ["SEED=2", "A = 0.5", "B='a=b'", "C=[(3, 9.5), None]", "D=-1", "E={'x': True}"]
    assert stated_values(stated) == {
        "SEED": 2, "A": 0.5, "B": "a=b", "C": [(3, 9.5), None], "D": -1, "E": {"x": True}
    }  # fmt: skip


@pytest.mark.parametrize(
    ("stated", "said"),
    [
        (["SEED"], "expected NAME=VALUE"),
        (["2=3\n"], "found '2=3\\n'; expected NAME=VALUE"),
        (["A.b=3"], "expected NAME=VALUE"),
        (["SEED=1", "SEED=2"], "--set SEED: given twice"),
        (["QUARTER=2026-Q1"], "found '2026-Q1'; expected a number, a list or a text in quotes"),
        (["SEED="], "found ''"),
        (["SEED=print(1)"], "found 'print"),
        (["SEED=__import__('os').getcwd()"], 'found "__import__'),
        (["SEED=1\nprint(2)"], "found '1"),
        (["SEED=1e999"], "found '1e999'"),
        (["SEED=" + "(" * 500], "expected a number"),
    ],
)
def test_values_that_would_have_to_be_worked_out(stated, said):
    with pytest.raises(InputError) as refused:
        stated_values(stated)
    assert said in str(refused.value)


def test_another_path_is_shown_everywhere():
    notebook = with_parameters("tiny", tiny("1"), {"LOG": "/place/of/x", "SEED": 3})
    v4 = nbformat.v4
    notebook.cells[-1].outputs = [
        v4.new_output("stream", name="stdout", text="read /place/of/x"),
        v4.new_output("display_data", {"text/html": "<b>/place/of/x</b>", "text/plain": "/place/of/x"}),
    ]
    show_as(notebook, "/place/of/x", "<it's>.xlsx", ["one", "two"])
    assert _given(notebook).source == '# one\n# two\nLOG = "<it\'s>.xlsx"\nSEED = 3'
    text, shown = notebook.cells[-1].outputs
    assert text.text == "read <it's>.xlsx"
    assert shown.data == {"text/html": "<b>&lt;it&#x27;s&gt;.xlsx</b>", "text/plain": "<it's>.xlsx"}
