"""A notebook run from top to bottom in a process of its own, by the Python that runs this package."""

from __future__ import annotations

import logging
import os
import re
import sys
import tempfile
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

from outcomes import errors
from outcomes.errors import InputError
from outcomes.show.notebooks import GIVEN

if TYPE_CHECKING:
    from jupyter_client.manager import AsyncKernelManager
    from nbclient import NotebookClient
    from nbformat import NotebookNode

__all__ = ["quiet", "run_notebook"]

_START, _REST = 180, 60  # seconds for the process to start, and for a cell's last output to arrive
_ROOT = Path(__file__).parents[2]
_BEFORE_FILE = re.compile(r"^.*[/\\](?=[^/\\\n]+\.py:\d+: )", re.MULTILINE)


def run_notebook(name: str, notebook: NotebookNode) -> None:
    """Run all cells in their order, in the current folder; their outputs are put into the notebook.

    Nothing that the current folder holds is run or imported, and no settings of the user's own are.

    Parameters
    ----------
    name : str
        Of the notebook, for what is said to people.
    notebook : NotebookNode

    Raises
    ------
    InputError
        A cell fails, or the process can't be started or ends by itself.
    """
    from nbclient.exceptions import CellExecutionError, CellTimeoutError, DeadKernelError

    with _started(name, notebook) as client:
        for i, cell in enumerate(notebook.cells):
            try:
                client.execute_cell(cell, i)
            except CellExecutionError as error:
                raise InputError(f"{_place(name, notebook, i)}: {_said(error.ename, error.evalue)}") from None
            except (CellTimeoutError, DeadKernelError):
                raise InputError(
                    f"{_place(name, notebook, i)}: the process that ran it ended, or no longer answers; it "
                    "may have run out of memory"
                ) from None
    _without_folders(notebook)


def _without_folders(notebook: NotebookNode) -> None:
    """A warning names the file of the program that gave it: the folders before it are the user's own."""
    for cell in notebook.cells:
        for output in cell.get("outputs", []):
            if output.get("name") == "stderr":
                output.text = _BEFORE_FILE.sub("", output.text)


def quiet() -> logging.Logger:
    """A logger that says nothing: what people have to know is said by errors.

    Returns
    -------
    Logger
    """
    logger = logging.getLogger("outcomes.quiet")
    logger.propagate = False
    if not logger.handlers:
        logger.addHandler(logging.NullHandler())
    return logger


def _place(name: str, notebook: NotebookNode, i: int) -> str:
    """Cells of code are counted as in the notebook itself, which hasn't the one with the user's values."""
    code = [
        cell
        for cell in notebook.cells[: i + 1]
        if cell.cell_type == "code" and GIVEN not in cell.metadata.get("tags", [])
    ]
    return f"{name}, code cell {len(code)}"


def _said(kind: str, message: str) -> str:
    """The last line of an error; those of this package say all by themselves."""
    told = " ".join(message.split())
    return told if kind in errors.__all__ and told else f"{kind}: {told}" if told else kind


@contextmanager
def _started(name: str, notebook: NotebookNode) -> Iterator[NotebookClient]:
    from nbclient import NotebookClient

    with tempfile.TemporaryDirectory(prefix="outcomes-", ignore_cleanup_errors=True) as folder:
        said = Path(folder) / "said.txt"
        client = NotebookClient(
            notebook,
            km=_manager(folder),
            log=quiet(),
            timeout=None,
            startup_timeout=_START,
            iopub_timeout=_REST,
            raise_on_iopub_timeout=True,
            shutdown_kernel="immediate",
            record_timing=False,
        )
        with ExitStack() as stack:
            heard = stack.enter_context(said.open("wb"))
            running = client.setup_kernel(
                cleanup_kc=True, env=_environment(folder), stdout=heard, stderr=heard
            )
            try:
                stack.enter_context(running)
            except (RuntimeError, OSError) as error:
                lines = said.read_text(encoding="utf-8", errors="replace").split("\n")
                why = next((line.strip() for line in reversed(lines) if line.strip()), str(error))
                raise InputError(f"{name}: no process could be started to run it ({why})") from None
            yield client


def _manager(folder: str) -> AsyncKernelManager:
    """Starts this very Python, whichever others are installed for notebooks."""
    from jupyter_client.kernelspec import KernelSpec, KernelSpecManager
    from jupyter_client.manager import AsyncKernelManager

    # -P and ignore_cwd: a file in the current folder may have the name of a module
    argv = [sys.executable, "-P", "-m", "ipykernel_launcher", "-f", "{connection_file}"]
    spec = KernelSpec(
        argv=[*argv, "--InteractiveShellApp.ignore_cwd=True"],
        display_name="Python 3",
        language="python",
        metadata={"supported_encryption": ["curve"]},
    )

    class ThisPython(KernelSpecManager):
        def get_kernel_spec(self, kernel_name: str) -> KernelSpec:
            return spec

    return AsyncKernelManager(
        kernel_spec_manager=ThisPython(),
        connection_file=str(Path(folder) / "connection.json"),
        log=quiet(),
    )


def _environment(folder: str) -> dict[str, Any]:
    """The user's own, but for what would change how notebooks run or where pictures go."""
    kept = {name: value for name, value in os.environ.items() if name != "MPLBACKEND"}
    kept["IPYTHONDIR"] = folder
    if (_ROOT / "pyproject.toml").is_file():  # a checkout: the same code as here, installed or not
        # not first: the program that runs cells takes the first place off where it's the current folder
        places = [folder, str(_ROOT), kept.get("PYTHONPATH")]
        kept["PYTHONPATH"] = os.pathsep.join(filter(None, places))
    return kept
