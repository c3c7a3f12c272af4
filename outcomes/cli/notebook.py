"""Run one of the project's notebooks on a log of your own.

It leaves DIR/NAME.ipynb and DIR/NAME.html: text, code and results in one page that needs no network. They
show what the log says: look through them with `outcomes disclose` before they leave the salon.
"""

from __future__ import annotations

import argparse
import os
import shlex
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

from outcomes.cli.reading import LOG_HELP, add_reading_options, read_with
from outcomes.errors import InputError
from outcomes.show.notebooks import notebook_names, read_notebook, show_as, stated_values, with_parameters

if TYPE_CHECKING:
    from outcomes.log.read import VisitLog

EXAMPLE = """example:
  outcomes notebook how_many_sessions --log data_demo/salon_group --to seen
  outcomes notebook are_the_bands_honest --log salon.xlsx --map map.toml --set SEED=2 --to seen"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of `outcomes notebook`."""
    parser.add_argument("name", metavar="NAME", help=f"one of {', '.join(notebook_names())}")
    parser.add_argument("--log", metavar="LOG", required=True, help=LOG_HELP)
    parser.add_argument("--to", metavar="DIR", required=True, help="folder for both files; made where absent")
    parser.add_argument(
        "--set",
        metavar="NAME=VALUE",
        dest="stated",
        action="append",
        default=[],
        help="another value for a parameter that the notebook's first cell of code names: a number, a list, "
        "or a text in quotes; may be repeated",
    )
    add_reading_options(parser)


def run(args: argparse.Namespace) -> int:
    """Read the log, run the notebook, write both files; nothing is written when any of it fails.

    Raises
    ------
    InputError
        An unknown notebook or parameter, a log that can't be read, a place that can't be written to or holds
        another file of that name, or a cell that fails.
    """
    name = args.name.removesuffix(".ipynb")
    notebook = read_notebook(name)
    values = stated_values(args.stated)
    if "LOG" in values:
        raise InputError("--set LOG: the log is what --log names; leave this out")
    # whatever can be known to fail is said before a run of minutes
    with_parameters(name, notebook, {"LOG": args.log, **values})
    _check_place(Path(args.to), name)
    log = read_with(args, args.log)

    from outcomes.cli.progress import working
    from outcomes.show.notebook_page import write_executed
    from outcomes.show.notebook_run import run_notebook

    with _plain(args, log) as path:
        executed = with_parameters(name, notebook, {"LOG": path, **values})
        with working(f"running {name}"):
            run_notebook(name, executed)
    aside = _set_aside(log)
    if path != args.log:
        how = shlex.join(_reading(args))
        note = [
            f"{args.log!r}, read with {how}: LOG had the rows that could be used",
            f"set aside: {aside or 'none'}",
        ]
        show_as(executed, path, args.log, note)
    for written in write_executed(name, executed, Path(args.to)):
        print(written)
    if aside:
        check = shlex.join(["outcomes", "check", args.log, *_reading(args)])
        print(f"  rows set aside: {aside}; to see why:\n    {check}")
    return 0


def _check_place(folder: Path, name: str) -> None:
    """Refuse a folder that can't be written to, and files there that no earlier run wrote."""
    from outcomes.show.notebook_page import MARKS

    above = next(place for place in (folder.absolute(), *folder.absolute().parents) if os.path.exists(place))
    if not above.is_dir():
        raise InputError(f"--to {folder}: found a file at {above}; name a folder, new or old")
    if not os.access(above, os.W_OK):
        raise InputError(f"--to {folder}: nothing may be written there; name another folder")
    for ending, mark in MARKS.items():
        target = folder / f"{name}{ending}"
        if os.path.lexists(target) and not _is_ours(target, mark):
            raise InputError(
                f"{target}: found another file there, not one of such a run; name another folder"
            )


def _is_ours(target: Path, mark: str) -> bool:
    try:
        return target.is_file() and mark.encode() in target.read_bytes()
    except OSError:
        return False


@contextmanager
def _plain(args: argparse.Namespace, log: VisitLog) -> Iterator[str]:
    """The log as notebooks read it: its own path, or that of its used rows in canonical form."""
    if not _reading(args):
        yield args.log
        return
    from outcomes.log.write import write_log

    own = Path(args.log).name
    with tempfile.TemporaryDirectory(prefix="outcomes-") as folder:
        # named as the log is: notebooks show that name
        path = str(Path(folder) / (own if own not in ("", "..") else "log"))
        write_log(log, path)
        try:
            yield path
        except InputError as error:
            raise InputError(str(error).replace(path, args.log)) from None


def _reading(args: argparse.Namespace) -> list[str]:
    given = (("--map", args.map_file), ("--dates", args.dates))
    return [word for name, value in given if value is not None for word in (name, value)]


def _set_aside(log: VisitLog) -> str:
    counts = {table: n["set_aside"] for table, n in log.counts.items()}
    return ", ".join(f"{number:,} of {table}" for table, number in counts.items() if number)
