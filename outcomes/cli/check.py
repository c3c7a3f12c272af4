"""Say which rows of a log can be used, and why the others can't.

Exit code 0: all rows used. 1: some set aside. 2: the log can't be used.
"""

from __future__ import annotations

import argparse
import os
import sys
from typing import TYPE_CHECKING, Any

from outcomes.cli.printed import as_json
from outcomes.cli.reading import LOG_HELP, add_reading_options, checked_by, read_with
from outcomes.cli.spared import spare_other_files
from outcomes.errors import InputError
from outcomes.show.folded import folded

if TYPE_CHECKING:
    import pandas as pd

    from outcomes.log.read import VisitLog

EXAMPLE = "example: outcomes check salon.xlsx --faults faults.csv"
SHOWN = 3  # examples of each reason
NONE_USED = "no visit can be used; mend the faults listed and check again"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of `outcomes check`."""
    parser.add_argument("log", metavar="LOG", help=LOG_HELP)
    add_reading_options(parser)
    parser.add_argument("--faults", metavar="FILE", help="write every fault and warning here, as CSV")
    parser.add_argument("--repairs", metavar="FILE", help="write every repaired value here, as CSV")
    parser.add_argument("--json", action="store_true", help="print one JSON object instead of text")


def run(args: argparse.Namespace) -> int:
    """Check a log; returns 0, 1 or 2 as the module says.

    Raises
    ------
    InputError
        A log or a map that can't be read; a file of faults or repairs that can't be written or isn't one.
    """
    from outcomes.log.write import FAULTS_OPENING, REPAIRS_OPENING, write_faults, write_repairs

    if args.faults:
        spare_other_files(args.log, args.faults, "a file of faults", FAULTS_OPENING)
    if args.repairs:
        spare_other_files(args.log, args.repairs, "a file of repairs", REPAIRS_OPENING)
        if args.faults and os.path.realpath(args.faults) == os.path.realpath(args.repairs):
            raise InputError(f"{args.repairs}: named for faults and for repairs; name two files")
    log = read_with(args, args.log)
    if args.faults:
        write_faults(log, args.faults)
    if args.repairs:
        write_repairs(log, args.repairs)
    print(as_json(_as_json(log)) if args.json else _as_text(log, args))
    if log.counts["visits"]["used"] == 0:
        # the report may have gone into a file or another program: whoever called still hears of it
        print(f"outcomes: {args.log}: {NONE_USED}", file=sys.stderr)
        return 2
    return 1 if any(count["set_aside"] for count in log.counts.values()) else 0


def _records(frame: pd.DataFrame) -> list[dict[str, Any]]:
    plain = frame.astype({"row": object})
    plain["row"] = plain["row"].mask(frame["row"].isna(), None)
    return [{str(name): value for name, value in record.items()} for record in plain.to_dict("records")]


def _as_json(log: VisitLog) -> dict[str, Any]:
    given: dict[str, list[str]] = {table: [] for table in log.counts}
    for table, name in sorted(log.given):
        given[table].append(name)
    return {
        "source": log.source,
        "counts": log.counts,
        "faults": _records(log.faults),
        "warnings": _records(log.warnings),
        "given": given,
        "repairs": _records(log.repairs),
        "notes": list(log.notes),
    }


def _as_text(log: VisitLog, args: argparse.Namespace) -> str:
    lines = [f"{log.source}", ""]
    for table, count in log.counts.items():
        told = f"{count['in']:>7} in = {count['used']} used + {count['set_aside']} set aside"
        lines.append(f"  {table:<7}{told if count['in'] else '   none'}")
    aside = sum(count["set_aside"] for count in log.counts.values())
    if len(log.faults):
        rows = "row" if aside == 1 else "rows"
        lines += ["", f"Faults: {len(log.faults)} in {aside} {rows} set aside", *_grouped(log.faults)]
    if len(log.warnings):
        lines += ["", f"Warnings: {len(log.warnings)}; the rows stay", *_grouped(log.warnings)]
    if log.notes:
        lines += ["", "Notes", *(line for note in log.notes for line in folded(note, 2))]
    # what is to be copied stands on one line, however long it is
    if args.faults:
        lines += ["", "Every fault and warning:", f"  {args.faults}"]
    elif len(log.faults) or len(log.warnings):
        lines += ["", "Every fault and warning, as a file:", f"  {checked_by(args, '--faults faults.csv')}"]
    if args.repairs:
        lines += ["", "Every repaired value:", f"  {args.repairs}"]
    elif log.repaired:
        lines += ["", "Every repaired value, as a file:", f"  {checked_by(args, '--repairs repairs.csv')}"]
    if log.counts["visits"]["used"] == 0:
        lines += ["", "No visit can be used; mend the faults above and check again."]
    return "\n".join(lines)


def _grouped(frame: pd.DataFrame) -> list[str]:
    """Each reason, the most frequent first, with its first few rows in full."""
    from outcomes.log.schema import REASONS

    lines = []
    for code, count in frame["code"].value_counts().items():
        lines.append(f"  {REASONS[str(code)].meaning} ({count})")
        for message in frame.loc[frame["code"] == code, "message"].head(SHOWN):
            lines += folded(message, 4)
        if count > SHOWN:
            lines.append(f"    and {count - SHOWN} more")
    return lines
