"""An executed notebook as two files: the notebook, and one page that needs nothing besides itself."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING

from outcomes import __version__
from outcomes.errors import InputError
from outcomes.log.atomic import replacing
from outcomes.show.notebook_run import quiet
from outcomes.show.notebooks import GIVEN, notebooks_folder

if TYPE_CHECKING:
    from nbformat import NotebookNode

__all__ = ["MARKS", "notebook_page", "write_executed"]

MARKS = {".ipynb": f'"{GIVEN}"', ".html": "<!-- outcomes notebook -->"}
"""By ending, what every file that `write_executed` writes has in it."""
_TEMPLATES = Path(__file__).parent / "templates"


def notebook_page(name: str, notebook: NotebookNode) -> str:
    """HTML of an executed notebook: code and outputs, pictures within it, no script, nothing from elsewhere.

    Parameters
    ----------
    name : str
        Of the notebook.
    notebook : NotebookNode

    Returns
    -------
    str
    """
    from nbconvert.exporters import HTMLExporter

    exporter = HTMLExporter(
        template_name="outcomes_notebook",
        # the template alone: by default the current folder is searched too
        extra_template_basedirs=[str(_TEMPLATES)],
        embed_images=True,
        exclude_anchor_links=True,
        log=quiet(),
    )
    about = {
        "name": _title(name, notebook),
        "path": str(notebooks_folder()),
        "made_by": f"Made by: outcomes notebook {name} (outcomes {__version__}). Every cell was run, from "
        "top to bottom.",
    }
    page, _ = exporter.from_notebook_node(notebook, resources={"metadata": about})
    return str(page)


def write_executed(name: str, notebook: NotebookNode, folder: Path) -> list[Path]:
    """Write FOLDER/NAME.ipynb and FOLDER/NAME.html, each whole or not at all.

    Parameters
    ----------
    name : str
    notebook : NotebookNode
        Executed.
    folder : Path
        Made where it's absent.

    Returns
    -------
    list of Path
        Of the two files.

    Raises
    ------
    InputError
        Nothing can be written there.
    """
    import nbformat

    texts = {".ipynb": nbformat.writes(notebook) + "\n", ".html": notebook_page(name, notebook)}
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as cause:
        raise InputError(f"--to {folder}: can't be made ({cause.strerror}); name another folder") from cause
    targets = [folder / f"{name}{ending}" for ending in texts]
    with replacing(targets[0]) as first, replacing(targets[1]) as second:
        for path, text in zip((first, second), texts.values(), strict=True):
            path.write_bytes(text.encode("utf-8", "replace"))
    return targets


def _title(name: str, notebook: NotebookNode) -> str:
    text = "\n".join(cell.source for cell in notebook.cells if cell.cell_type == "markdown")
    heading = re.search(r"^# +(.+?) *$", text, re.MULTILINE)
    return heading[1] if heading else name
