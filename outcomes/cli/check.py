"""Say which rows of a log can be used, and why the others can't.

Exit code 0: all rows used. 1: some set aside. 2: the log can't be used.
"""

from __future__ import annotations

import argparse
import sys
import textwrap
from typing import TYPE_CHECKING, Any

from outcomes.cli.printed import as_json
from outcomes.cli.spared import spare_other_files

if TYPE_CHECKING:
    import pandas as pd

    from outcomes.log.read import VisitLog

EXAMPLE = "example: outcomes check salon.xlsx --faults faults.csv"
SHOWN = 3  # examples of each reason
NONE_USED = "no visit can be used; mend the faults listed and check again"
WIDTH = 80  # columns of the text


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of `outcomes check`."""
    parser.add_argument(
        "log", metavar="LOG", help="a folder of CSV or Parquet, an .xlsx workbook, or a visits file"
    )
    parser.add_argument("--faults", metavar="FILE", help="write every fault and warning here, as CSV")
    parser.add_argument("--json", action="store_true", help="print one JSON object instead of text")


def run(args: argparse.Namespace) -> int:
    """Check a log; returns 0, 1 or 2 as the module says.

    Raises
    ------
    InputError
        A log that can't be read; a file of faults that can't be written or isn't one.
    """
    from outcomes.cli.progress import working
    from outcomes.log.read import read_log
    from outcomes.log.write import FAULTS_OPENING, write_faults

    if args.faults:
        spare_other_files(args.log, args.faults, "a file of faults", FAULTS_OPENING)
    with working("reading the log"):
        log = read_log(args.log)
    if args.faults:
        write_faults(log, args.faults)
    print(as_json(_as_json(log)) if args.json else _as_text(log, args.log, args.faults))
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
        "notes": list(log.notes),
    }


def _as_text(log: VisitLog, path: str, written: str | None) -> str:
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
        lines += ["", "Notes", *(line for note in log.notes for line in _wrapped(note, 2))]
    # what is to be copied stands on one line, however long it is
    if written:
        lines += ["", "Every fault and warning:", f"  {written}"]
    elif len(log.faults) or len(log.warnings):
        command = f"outcomes check {path} --faults faults.csv"
        lines += ["", "Every fault and warning, as a file:", f"  {command}"]
    if log.counts["visits"]["used"] == 0:
        lines += ["", "No visit can be used; mend the faults above and check again."]
    return "\n".join(lines)


def _wrapped(text: str, indent: int) -> list[str]:
    """Lines of at most 80 columns, those after the first two columns further in; words stay whole."""
    return textwrap.wrap(
        text,
        WIDTH,
        initial_indent=" " * indent,
        subsequent_indent=" " * (indent + 2),
        break_long_words=False,
        break_on_hyphens=False,
    )


def _grouped(frame: pd.DataFrame) -> list[str]:
    """Each reason, the most frequent first, with its first few rows in full."""
    from outcomes.log.schema import REASONS

    lines = []
    for code, count in frame["code"].value_counts().items():
        lines.append(f"  {REASONS[str(code)].meaning} ({count})")
        for message in frame.loc[frame["code"] == code, "message"].head(SHOWN):
            lines += _wrapped(message, 4)
        if count > SHOWN:
            lines.append(f"    and {count - SHOWN} more")
    return lines
