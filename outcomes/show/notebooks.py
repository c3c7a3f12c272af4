"""The project's notebooks: which there are, and each with parameters of the user's own."""

from __future__ import annotations

import ast
from collections.abc import Mapping, Sequence
from html import escape
from pathlib import Path
from typing import TYPE_CHECKING

from outcomes.errors import InputError

if TYPE_CHECKING:
    from nbformat import NotebookNode

__all__ = [
    "GIVEN",
    "PARAMETERS",
    "notebook_names",
    "notebooks_folder",
    "read_notebook",
    "show_as",
    "stated_values",
    "with_parameters",
]

PARAMETERS = "parameters"
"""Tag of the cell whose assignments may be given other values."""
GIVEN = "injected-parameters"
"""Tag of the cell below it that gives them, as other programs that run notebooks call it."""
_PACKAGE = Path(__file__).parents[1]


def notebooks_folder() -> Path:
    """Where the notebooks lie: within an installed package, beside the package in a checkout.

    Returns
    -------
    Path
    """
    installed = _PACKAGE / "_notebooks"  # where the wheel puts them (pyproject.toml)
    return installed if installed.is_dir() else _PACKAGE.parent / "notebooks"


def notebook_names(folder: Path | None = None) -> list[str]:
    """Names of the notebooks, in alphabetical order.

    Parameters
    ----------
    folder : Path, optional
        By default that of `notebooks_folder`.

    Returns
    -------
    list of str
        Without `.ipynb`.
    """
    return sorted(path.stem for path in (folder or notebooks_folder()).glob("*.ipynb"))


def read_notebook(name: str, folder: Path | None = None) -> NotebookNode:
    """Read a notebook.

    Parameters
    ----------
    name : str
        As `notebook_names` has it.
    folder : Path, optional
        By default that of `notebooks_folder`.

    Returns
    -------
    NotebookNode

    Raises
    ------
    InputError
        There is no such notebook.
    """
    known = notebook_names(folder)
    if name not in known:
        raise InputError(f"notebook: found {name!r}; expected one of {', '.join(known) or '(none is there)'}")
    import nbformat

    read: NotebookNode = nbformat.read((folder or notebooks_folder()) / f"{name}.ipynb", as_version=4)
    return read


def stated_values(stated: Sequence[str]) -> dict[str, object]:
    """Values of parameters as a command line states them.

    Parameters
    ----------
    stated : sequence of str
        NAME=VALUE each, VALUE as Python writes a number, a text in quotes, a list and the like.

    Returns
    -------
    dict of str to object

    Raises
    ------
    InputError
        One that isn't NAME=VALUE, has a VALUE that would have to be worked out, or a NAME named before.
    """
    values: dict[str, object] = {}
    for one in stated:
        name, equals, text = (part.strip() for part in one.partition("="))
        if not equals or not name.isidentifier():
            raise InputError(f"--set: found {one!r}; expected NAME=VALUE, such as --set SEED=2")
        if name in values:
            raise InputError(f"--set {name}: given twice; keep one")
        try:
            values[name] = ast.literal_eval(text)
            ast.literal_eval(repr(values[name]))  # 1e999 is read, and can't be written again
        except (ValueError, TypeError, SyntaxError, MemoryError, RecursionError):
            raise InputError(
                f"--set {name}: found {text!r}; expected a number, a list or a text in quotes, such as "
                f"--set \"{name}='some words'\""
            ) from None
    return values


def with_parameters(name: str, notebook: NotebookNode, values: Mapping[str, object]) -> NotebookNode:
    """A copy of a notebook with a cell below its parameters that gives them other values.

    Parameters
    ----------
    name : str
        Of the notebook, for what is said to people.
    notebook : NotebookNode
    values : mapping of str to object
        Each of a kind whose `repr` is Python's way to write it.

    Returns
    -------
    NotebookNode

    Raises
    ------
    InputError
        The notebook has no cell of parameters, or none of such a name.
    """
    from copy import deepcopy

    from nbformat.v4 import new_code_cell

    copied = deepcopy(notebook)
    place = next(
        (i for i, cell in enumerate(copied.cells) if PARAMETERS in cell.metadata.get("tags", [])), None
    )
    if place is None:
        raise InputError(f"{name}: found no cell tagged {PARAMETERS!r}; tag the one that assigns LOG")
    known = _assigned(copied.cells[place].source)
    for one in values:
        if one not in known:
            raise InputError(f"{name}: it has no parameter {one}; expected one of {', '.join(known)}")
    source = "\n".join(f"{one} = {value!r}" for one, value in values.items())
    copied.cells.insert(place + 1, new_code_cell(source, id=GIVEN, metadata={"tags": [GIVEN]}))
    return copied


def show_as(notebook: NotebookNode, path: str, shown: str, note: Sequence[str]) -> None:
    """Put another path for the one that an executed notebook was given, in its cell and in all outputs.

    Parameters
    ----------
    notebook : NotebookNode
        From `with_parameters`; changed in place.
    path, shown : str
    note : sequence of str
        Lines of a comment above the parameters.
    """
    for cell in notebook.cells:
        if GIVEN in cell.metadata.get("tags", []):
            cell.source = "\n".join([*(f"# {line}" for line in note), cell.source]).replace(
                repr(path), repr(shown)
            )
        for output in cell.get("outputs", []):
            if "text" in output:
                output.text = output.text.replace(path, shown)
            for kind, held in output.get("data", {}).items():
                if isinstance(held, str):
                    output.data[kind] = held.replace(path, escape(shown) if kind == "text/html" else shown)


def _assigned(source: str) -> list[str]:
    """Names that a cell assigns, in their order."""
    names: list[str] = []
    for node in ast.parse(source).body:
        targets = (
            node.targets if isinstance(node, ast.Assign) else [getattr(node, "target", ast.Constant(None))]
        )
        names += [one.id for target in targets for one in ast.walk(target) if isinstance(one, ast.Name)]
    return names
