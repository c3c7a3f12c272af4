"""Say which rows of a log can be used, and why the others can't.

Exit code 0: all rows used. 1: some set aside. 2: the log can't be used.
"""

from __future__ import annotations

import argparse
import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

from outcomes.errors import InputError

if TYPE_CHECKING:
    import pandas as pd

    from outcomes.log.read import VisitLog

EXAMPLE = "example: outcomes check salon.xlsx --faults faults.csv"
SHOWN = 3  # examples of each reason


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of `outcomes check`."""
    parser.add_argument(
        "log", metavar="LOG", help="a folder of CSV or Parquet, an .xlsx workbook, or a visits file"
    )
    parser.add_argument("--faults", metavar="FILE", help="write every fault and warning here, as CSV")
    parser.add_argument("--json", action="store_true", help="print one JSON object instead of text")


def run(args: argparse.Namespace) -> int:
    """Check a log; returns 0, 1 or 2 as the module says."""
    from outcomes.log.read import read_log
    from outcomes.log.write import write_faults

    if args.faults:
        _spare_the_log(Path(args.log), Path(args.faults))
    log = read_log(args.log)
    if args.faults:
        write_faults(log, args.faults)
    print(
        json.dumps(_as_json(log), ensure_ascii=False) if args.json else _as_text(log, args.log, args.faults)
    )
    if log.counts["visits"]["used"] == 0:
        return 2
    return 1 if any(count["set_aside"] for count in log.counts.values()) else 0


def _spare_the_log(log: Path, faults: Path) -> None:
    """The list of faults must never replace what it is about."""
    from outcomes.log.schema import TABLES

    inside = faults.resolve().parent == log.resolve() and faults.stem.lower() in TABLES
    if inside or faults.resolve() == log.resolve():
        raise InputError(f"{faults}: would replace the log itself; choose another name for the faults")


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
        lines += ["", "Notes", *(f"  {note}" for note in log.notes)]
    if written:
        lines += ["", f"Every fault and warning: {written}"]
    elif len(log.faults) or len(log.warnings):
        lines += ["", f"Every fault and warning, as a file: outcomes check {path} --faults faults.csv"]
    if log.counts["visits"]["used"] == 0:
        lines += ["", "No visit can be used; mend the faults above and check again."]
    return "\n".join(lines)


def _grouped(frame: pd.DataFrame) -> list[str]:
    """Each reason, the most frequent first, with its first few rows in full."""
    from outcomes.log.schema import REASONS

    lines = []
    for code, count in frame["code"].value_counts().items():
        lines.append(f"  {REASONS[str(code)].meaning} ({count})")
        messages = frame.loc[frame["code"] == code, "message"]
        lines += [f"    {message}" for message in messages.head(SHOWN)]
        if count > SHOWN:
            lines.append(f"    and {count - SHOWN} more")
    return lines
