"""Merge logs of one or several salons into one.

What is new is added, a corrected row replaces the old one, and the same rows again change nothing. Rows that
can't be used are set aside; DIR/journal.csv tells all of it.

Exit code 0: every row is in the merged log. 1: some were set aside. 2: nothing was merged.
"""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from outcomes.answers.wording import count
from outcomes.cli.printed import as_json
from outcomes.cli.reading import LOG_HELP
from outcomes.errors import InputError
from outcomes.show.folded import folded

if TYPE_CHECKING:
    from outcomes.log.merge import Merged

NONE = "-"

EXAMPLE = """example:
  outcomes merge july.xlsx august.xlsx --to group
  outcomes merge north.csv south.csv --salon N --salon S --codes apart --to group
  outcomes merge plain.csv own.xlsx --map - --map own.toml --to group"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of `outcomes merge`."""
    parser.add_argument("logs", metavar="LOG", nargs="+", help=LOG_HELP)
    parser.add_argument("--to", metavar="DIR", required=True, help="folder of the merged log, new or old")
    parser.add_argument(
        "--salon",
        metavar="CODE",
        action="append",
        help="salon of a log whose rows don't say it; once for all logs, or once for each, in their order",
    )
    parser.add_argument(
        "--codes",
        choices=("apart", "shared"),
        help="codes that two salons use: apart puts the salon in front, shared takes them for one person",
    )
    parser.add_argument(
        "--map",
        metavar="FILE",
        dest="maps",
        action="append",
        help="what a log's own headings mean (see `outcomes map`); for all logs, or one for each: - where "
        "there is none",
    )
    parser.add_argument(
        "--dates",
        choices=("day-first", "month-first", NONE),
        action="append",
        help="order of day and month, where a log itself doesn't settle it; for all logs, or one for each",
    )
    parser.add_argument("--json", action="store_true", help="print one JSON object instead of text")


def run(args: argparse.Namespace) -> int:
    """Merge; returns 0 or 1 as the module says.

    Raises
    ------
    InputError
        A log that can't be read, or is the merged one itself; codes that collide; a folder that can't be
        merged into.
    """
    salons, maps, orders = (
        _for_each(args.logs, name, said)
        for name, said in (("--salon", args.salon), ("--map", args.maps), ("--dates", args.dates))
    )
    for log in args.logs:
        if Path(log).resolve() == Path(args.to).resolve():
            raise InputError(f"{log}: is the merged log itself; name the logs that go into it")
    from dataclasses import replace

    from outcomes.cli.progress import working
    from outcomes.log.incoming import bring_in
    from outcomes.log.mapfile import NO_MAP, read_map
    from outcomes.log.store import merge_into

    said = [read_map(one) if one else NO_MAP for one in maps]
    said = [replace(one, dates=order) if order else one for one, order in zip(said, orders, strict=True)]
    with working("reading the logs"):
        logs = [
            bring_in(log, its_map, salon=salon, apart=args.codes == "apart")
            for log, its_map, salon in zip(args.logs, said, salons, strict=True)
        ]
    with working("merging"):
        merged = merge_into(args.to, logs, shared=args.codes == "shared")
    print(as_json(_as_dict(merged)) if args.json else _as_text(merged, args.to))
    return 1 if any(c["set_aside"] for log in merged.counts.values() for c in log.values()) else 0


def _for_each(logs: Sequence[str], option: str, said: Sequence[str] | None) -> list[str]:
    """What an option says of each log, empty where it says nothing."""
    given = ["" if one == NONE else one for one in said or [NONE]]
    if len(given) not in (1, len(logs)):
        raise InputError(
            f"{option}: found {len(given)} for {len(logs)} logs; name one for all, or one for each"
        )
    return given * (len(logs) // len(given))


def _as_dict(merged: Merged) -> dict[str, object]:
    rows = {table: len(frame) for table, frame in merged.tables.items()}
    aside = [
        {"table": e.table, "file": e.file, "row": e.row, "visit": e.visit, "zone": e.zone, "reason": e.reason}
        for e in merged.entries
        if e.action == "set_aside"
    ]
    return {"logs": merged.counts, "rows": rows, "changed": merged.changes, "set_aside": aside}


_SHOWN = 3  # rows set aside that the text tells in full
_ROW_OF = {"visits": "visit", "checks": "check", "washes": "wash reading"}


def _as_text(merged: Merged, folder: str) -> str:
    lines = [folder]
    for log, tables in merged.counts.items():
        lines += ["", f"  {log}"]
        for table, n in tables.items():
            if n["in"]:
                told = ", ".join(
                    f"{n[name]:,} {name.replace('_', ' ')}"
                    for name in ("added", "corrected", "unchanged", "set_aside")
                    if n[name]
                )
                lines.append(f"    {table:<7}{n['in']:>8,} in = {told}")
    aside = [entry for entry in merged.entries if entry.action == "set_aside"]
    if aside:
        lines += ["", f"Set aside: {len(aside):,}"]
        for entry in aside[:_SHOWN]:
            place = f"{entry.file} row {entry.row}" if entry.row else entry.file
            reason = (
                entry.reason if entry.reason.startswith(place.split("/")[-1]) else f"{place}: {entry.reason}"
            )
            lines += folded(reason, 2)
        if len(aside) > _SHOWN:
            lines.append(f"  and {len(aside) - _SHOWN:,} more, in {folder}/journal.csv")
    rows = ", ".join(
        count(len(frame), _ROW_OF[table]) for table, frame in merged.tables.items() if len(frame)
    )
    lines += ["", f"{'Merged' if merged.changes else 'Nothing new'}: {rows or 'no rows'} in {folder}"]
    return "\n".join(lines)
