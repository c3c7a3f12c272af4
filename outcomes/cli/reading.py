"""Options of every command that reads a log, and the reading itself."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from outcomes.errors import InputError

if TYPE_CHECKING:
    from outcomes.log.read import VisitLog

__all__ = ["LOG_HELP", "add_reading_options", "checked_by", "need_log", "read_with"]

LOG_HELP = "a folder of CSV or Parquet, an .xlsx workbook, or a visits file"


def add_reading_options(parser: argparse.ArgumentParser | argparse._ArgumentGroup) -> None:
    """`--map` and `--dates`.

    Parameters
    ----------
    parser : ArgumentParser, or a group of its options
    """
    parser.add_argument(
        "--map", metavar="FILE", dest="map_file", help="what the log's own headings mean (see `outcomes map`)"
    )
    parser.add_argument(
        "--dates",
        choices=("day-first", "month-first"),
        help="order of day and month, where the log itself doesn't settle it",
    )


def need_log(args: argparse.Namespace, log: object) -> None:
    """Refuse `--map` and `--dates` where no log is read.

    Parameters
    ----------
    args : Namespace
    log : object
        None where there is none.

    Raises
    ------
    InputError
    """
    for name, value in (("--map", args.map_file), ("--dates", args.dates)):
        if log is None and value is not None:
            raise InputError(
                f"{name} {value}: found no log that it could be about; name a log, or leave it out"
            )


def checked_by(args: argparse.Namespace, option: str = "") -> str:
    """The command that checks the same log, read the same way.

    Parameters
    ----------
    args : Namespace
    option : str
        One more of its options.

    Returns
    -------
    str
    """
    stated = [
        f"--map {args.map_file}" if args.map_file else "",
        f"--dates {args.dates}" if args.dates else "",
    ]
    return " ".join(filter(None, ["outcomes check", args.log, *stated, option]))


def read_with(args: argparse.Namespace, path: str) -> VisitLog:
    """The log at a path, read as the options say.

    Parameters
    ----------
    args : Namespace
        With `map_file` and `dates`.
    path : str

    Returns
    -------
    VisitLog

    Raises
    ------
    InputError
        A log or a map that can't be read.
    """
    from outcomes.cli.progress import working
    from outcomes.log.read import read_log

    with working("reading the log"):
        return read_log(path, map_file=args.map_file, dates=args.dates or "")
