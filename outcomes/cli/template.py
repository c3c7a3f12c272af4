"""Write a blank log workbook: drop-downs, one line about every column, an example row that isn't counted."""

from __future__ import annotations

import argparse
from pathlib import Path

from outcomes.errors import InputError

EXAMPLE = "example: outcomes template --to salon.xlsx"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of `outcomes template`."""
    parser.add_argument("--to", required=True, metavar="FILE.xlsx", help="the workbook to write (a new file)")
    parser.add_argument(
        "--schema",
        metavar="FILE.json",
        help="also write the columns as Frictionless Table Schema, for programs",
    )


def run(args: argparse.Namespace) -> int:
    """Write the workbook; returns 0.

    Raises
    ------
    InputError
        A workbook or schema that can't be written; a schema file that is there already.
    """
    if args.schema:
        # said before anything is written, so that both files appear or neither
        schema = Path(args.schema)
        if schema.resolve() == Path(args.to).resolve() or schema.exists():
            raise InputError(f"--schema {schema}: is another file already; name a new file")
        if not schema.absolute().parent.is_dir():
            raise InputError(
                f"--schema {schema}: there is no folder for it; name a file in a folder that exists"
            )
    from outcomes.log.blank import write_blank_workbook
    from outcomes.log.write import write_table_schema

    write_blank_workbook(args.to)
    print(f"{args.to}: fill in the sheets visits, checks and washes, then run: outcomes check {args.to}")
    if args.schema:
        write_table_schema(args.schema)
        print(f"{args.schema}: the table schema")
    return 0
