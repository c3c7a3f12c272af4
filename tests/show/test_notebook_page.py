"""The page of a notebook holds all of it and asks nobody else for anything."""

import base64

import nbformat
import pytest
from bs4 import BeautifulSoup

from outcomes.errors import InputError
from outcomes.show import notebook_page as module
from outcomes.show.notebook_page import MARKS, notebook_page, write_executed
from outcomes.show.notebooks import with_parameters
from tests.show.test_notebooks import tiny

PIXEL = base64.b64encode(b"\x89PNG not looked at").decode()
ELSEWHERE = ("src", "href", "srcset", "poster", "data", "action", "background", "xlink:href")


@pytest.fixture
def executed():
    """As a run leaves it: printed text, tables, pictures with words and without."""
    notebook = with_parameters("tiny", tiny("a < b", "picture"), {"LOG": "<script>alert(1)</script>.csv"})
    new = nbformat.v4.new_output
    notebook.cells[-2].execution_count = 3
    notebook.cells[-2].outputs = [
        new("stream", name="stdout", text="1 < 2 & \x1b[1mbold\x1b[0m\n"),
        new("stream", name="stderr", text="own.py:3: UserWarning: odd\n"),
        new("execute_result", {"text/plain": "<frame>"}, execution_count=3),
        new("display_data", {"text/html": "<table><tr><td>in a table</td></tr></table>", "text/plain": "x"}),
    ]
    words = {"image/png": {"alt": 'two "bars" & a line'}}
    notebook.cells[-1].outputs = [
        new("display_data", {"image/png": PIXEL + "\n", "text/plain": "<Picture>"}, metadata=words),
        new("display_data", {"image/png": PIXEL, "text/plain": "<Axes: >"}),
        new("display_data", {"image/svg+xml": "<svg/>"}),
    ]
    return notebook


def external(page):
    """Whatever a page would fetch, or run: attributes and styles that lead elsewhere, and scripts."""
    soup = BeautifulSoup(page, "html.parser")
    found = [str(element) for element in soup.find_all(["script", "link", "iframe", "object", "base"])]
    for element in soup.find_all(True):
        for name, value in element.attrs.items():
            if name.startswith("on") or (name in ELSEWHERE and not value.startswith(("data:image/", "#"))):
                found.append(f"{element.name} {name}={value}")
    styles = " ".join(style.get_text() for style in soup.find_all("style"))
    return found + [word for word in ("url(", "@import", "http") if word in styles]


def test_the_page_needs_nothing_else(executed):
    page = notebook_page("tiny", executed)
    assert external(page) == []
    policy = BeautifulSoup(page, "html.parser").find("meta", {"http-equiv": "Content-Security-Policy"})
    # no script is run, not even one that a cell of the log smuggles into a table
    assert policy["content"].startswith("default-src 'none'; img-src data:; style-src 'unsafe-inline'")


def test_code_words_and_results_are_there(executed):
    soup = BeautifulSoup(notebook_page("tiny", executed), "html.parser")
    assert soup.title.text == soup.h1.text == "A tiny notebook"
    code = [cell.text.strip() for cell in soup.select(".source")]
    assert code == [cell.source for cell in executed.cells if cell.cell_type == "code"]
    printed = [one.text.strip() for one in soup.select(".output pre")]
    assert printed == ["1 < 2 & bold", "own.py:3: UserWarning: odd", "<frame>"]
    assert [one.text for one in soup.select(".output td")] == ["in a table"]
    assert [one.text for one in soup.select(".number")] == ["", "", "3", ""]
    assert "outcomes notebook tiny" in soup.footer.text


def test_pictures_are_in_it_with_their_words(executed):
    first, second, drawing = BeautifulSoup(notebook_page("tiny", executed), "html.parser").select(
        ".output img"
    )
    assert first["src"] == second["src"] == f"data:image/png;base64,{PIXEL}"
    assert first["alt"] == 'two "bars" & a line'
    assert second["alt"] == "Drawn by the code above; there are no words for it."
    assert base64.b64decode(drawing["src"].removeprefix("data:image/svg+xml;base64,")) == b"<svg/>"


def test_templates_that_lie_about_have_no_say(executed, tmp_path, monkeypatch):
    own = tmp_path / "outcomes_notebook"
    own.mkdir()
    (own / "index.html.j2").write_text("of the user", encoding="utf-8")
    (tmp_path / "index.html.j2").write_text("of the user", encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    assert "A tiny notebook" in notebook_page("tiny", executed)


def test_both_files_are_written(executed, tmp_path):
    folder = tmp_path / "new" / "one"
    written = write_executed("tiny", executed, folder)
    assert written == [folder / "tiny.ipynb", folder / "tiny.html"]
    assert sorted(folder.iterdir()) == sorted(written)
    assert nbformat.read(written[0], as_version=4) == executed
    for path in written:
        assert MARKS[path.suffix] in path.read_text(encoding="utf-8")


def test_text_that_no_file_can_hold(executed, tmp_path):
    executed.cells[-2].outputs[0].text = "odd \udcff"
    _, page = write_executed("tiny", executed, tmp_path)
    assert "odd ?" in page.read_text(encoding="utf-8")


def test_neither_file_is_written_where_one_fails(executed, tmp_path, monkeypatch):
    def fails(path):
        if path.suffix == ".html":
            raise InputError("no")
        return replacing(path)

    replacing = module.replacing
    monkeypatch.setattr(module, "replacing", fails)
    with pytest.raises(InputError):
        write_executed("tiny", executed, tmp_path)
    assert list(tmp_path.iterdir()) == []
