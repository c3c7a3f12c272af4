"""Write the page that records visits as they happen: one file for the tablet at the chair, no network."""

from __future__ import annotations

import argparse

from outcomes.cli.spared import spare_other_kinds

EXAMPLE = "example: outcomes recorder --to recorder.html"
_OPENING = "<!doctype html>\n<!-- visit recorder -->\n"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of `outcomes recorder`."""
    parser.add_argument(
        "--to",
        required=True,
        metavar="FILE.html",
        help="the page to write; an older recorder there is replaced, nothing else is",
    )


def run(args: argparse.Namespace) -> int:
    """Write the page; returns 0.

    Raises
    ------
    InputError
        A place that can't be written, or that holds another file.
    """
    spare_other_kinds(args.to, "a recorder", _OPENING)
    from outcomes.show.recorder.write import write_recorder

    write_recorder(args.to)
    print(f"{args.to}: copy it to the tablet at the chair and open it there; what it records stays there")
    print("Put the three files that it exports into one folder, then run: outcomes check FOLDER")
    return 0
