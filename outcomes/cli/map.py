"""Propose what the headings of a log mean, as a file to edit and to use with --map.

Nothing is guessed: what isn't sure stands there as a question. Exit code 0: the map can be used as it is.
1: it asks something, or a needed column has no heading. 2: the log can't be read.
"""

from __future__ import annotations

import argparse
import os
from typing import TYPE_CHECKING

from outcomes.cli.printed import as_json
from outcomes.cli.reading import LOG_HELP
from outcomes.errors import InputError
from outcomes.show.folded import folded

if TYPE_CHECKING:
    from outcomes.log.proposal import Proposal

EXAMPLE = """example:
  outcomes map salon.xlsx --to map.toml
  outcomes check salon.xlsx --map map.toml"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of `outcomes map`."""
    parser.add_argument("log", metavar="LOG", help=LOG_HELP)
    parser.add_argument("--to", metavar="FILE", help="write the map here; a file that is there is left alone")
    parser.add_argument("--json", action="store_true", help="print one JSON object instead of text")


def run(args: argparse.Namespace) -> int:
    """Propose a map; returns 0 or 1 as the module says.

    Raises
    ------
    InputError
        A log that can't be read; a file that is there already or can't be written.
    """
    from outcomes.cli.progress import working
    from outcomes.log.atomic import replacing
    from outcomes.log.proposal import propose_map

    if args.to and os.path.lexists(args.to):
        # somebody's answers may stand in it
        raise InputError(f"{args.to}: there is such a file already; name a new file, or take that one away")
    with working("reading the headings"):
        proposal = propose_map(args.log)
    if args.to:
        with replacing(args.to) as temporary:
            temporary.write_text(proposal.text(), encoding="utf-8")
    print(as_json(proposal.to_dict()) if args.json else _as_text(proposal, args.log, args.to))
    return 1 if proposal.asked or proposal.lacking else 0


def _as_text(proposal: Proposal, path: str, written: str | None) -> str:
    from outcomes.log.proposal import REASONS

    lines = [proposal.source]
    told = [one for one in proposal.lines if one.reason != REASONS["canonical"]]
    width = min(max((len(one.heading) for one in told), default=0), 28)
    section = None
    for one in told:
        if one.table != section:
            section = one.table
            lines += ["", *([section] if section else [])]
        means = {"": "kept out"}.get(one.means, one.means)
        lines += folded(f"{one.heading:<{width}}  {means}: {one.reason}", 2, width + 2)
    own = len(proposal.lines) - len(told)
    if own:
        lines += ["", f"{own} heading{'' if own == 1 else 's'} with the log's own name for its column"]
    if proposal.lacking:
        needed = ", ".join(f"{name} of {table}" for table, name in proposal.lacking)
        lack = (
            f"Needed, and no heading names it for sure: {needed}. Write it beside one of the headings above, "
            "or add a column to the log."
        )
        lines += ["", *folded(lack, hang=0)]
    asked = len(proposal.asked)
    if any(one.is_offered for one in told):
        lines += ["", "Words that the log doesn't know may be explained in the map too."]
    if asked:
        lines += ["", f"{asked} question{'s' if asked > 1 else ''} to answer: each line with a ?"]
    if written:
        lines += ["", "Edit the map, then:", f"  outcomes check {path} --map {written}"]
    else:
        lines += ["", "As a file to edit:", f"  outcomes map {path} --to map.toml"]
    return "\n".join(lines)
