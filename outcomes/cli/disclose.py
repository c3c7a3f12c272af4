"""Say whether files may leave the salon: raw codes of its log, e-mail addresses, phone numbers, exact dates.

Exit code 0: nothing found. 1: something found, with its places. 2: nothing found, but the log or a file can't
be read, or is of a kind that can't be looked into, such as a picture.
"""

from __future__ import annotations

import argparse
import sys
from typing import TYPE_CHECKING

from outcomes.cli.printed import as_json
from outcomes.cli.reading import add_reading_options
from outcomes.show.folded import folded

if TYPE_CHECKING:
    from outcomes.protect.disclosure import Disclosure
    from outcomes.protect.looking import Find

EXAMPLE = """example:
  outcomes disclose report.html --log salon.xlsx
  outcomes disclose team/ --log salon.xlsx --may-show stylist product"""
SHOWN = 5  # places of each kind in a file
_KINDS = {"e-mail": "e-mail address", "phone": "phone number", "date": "exact date"}


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of `outcomes disclose`."""
    parser.add_argument(
        "files",
        metavar="FILE",
        nargs="+",
        help="what is to leave the salon: CSV, text, JSON (a model too), notebook, page, SVG, TOML, workbook "
        "or Parquet, or a folder with everything in it",
    )
    parser.add_argument("--log", metavar="LOG", required=True, help="the log with the raw codes")
    parser.add_argument(
        "--may-show",
        metavar="COLUMN",
        nargs="+",
        action="extend",
        default=[],
        help="columns whose codes may stay: visit, client, stylist, salon, product, course",
    )
    add_reading_options(parser)
    parser.add_argument("--json", action="store_true", help="print one JSON object instead of text")


def run(args: argparse.Namespace) -> int:
    """Look through files; returns 0, 1 or 2 as the module says.

    Raises
    ------
    InputError
        A path with nothing there, a log or a map that can't be read, or a column that holds no codes.
    """
    from outcomes.cli.progress import working
    from outcomes.protect.disclosure import disclosure

    with working("looking"):
        told = disclosure(args.files, args.log, args.may_show, map_file=args.map_file, dates=args.dates or "")
    print(as_json(told.to_dict()) if args.json else _as_text(told))
    if told.refused:
        # the report may have gone into a file or another program: whoever called still hears of it
        first = next(iter(told.refused))
        more = f" and {len(told.refused) - 1:,} more" if len(told.refused) > 1 else ""
        print(f"outcomes: not looked into: {first}{more}; look at what it holds yourself", file=sys.stderr)
    if told.found:
        return 1
    return 2 if told.refused else 0


def _as_text(told: Disclosure) -> str:
    lines: list[str] = []
    for file, counts in told.counts.items():
        lines += [f"{file}: {sum(counts.values()):,} found"]
        for what, count in counts.items():
            lines += [f"  {_number(count, what)}"]
            same = [find for find in told.finds if find.file == file and find.what == what][:SHOWN]
            for find in same:
                lines += folded(_place(find), 4)
            if count > len(same):
                lines += [f"    and {count - len(same):,} more" if same else f"    {count:,}, all far down"]
        lines += [""]
    clean = [file for file in told.files if file not in told.counts]
    if len(clean) == 1:
        lines += [f"{clean[0]}: nothing found", ""]
    elif clean:
        lines += [f"{len(clean):,} {'other ' if told.counts else ''}files: nothing found", ""]
    if told.refused:
        lines += ["Not looked into"]
        for file, why in told.refused.items():
            lines += folded(f"{file}: {why}", 2)
        lines += [""]
    return _shown("\n".join([*lines, *_looked_for(told)]))


def _place(find: Find) -> str:
    note = f" ({find.note})" if find.note else ""
    return f"{find.place}: {' '.join(find.text.split())}{note}"


def _number(count: int, what: str) -> str:
    name = _KINDS.get(what, what)
    return f"{count:,} {name}{'' if count == 1 else 'es' if name.endswith('s') else 's'}"


def _looked_for(told: Disclosure) -> list[str]:
    codes = [_codes(told, name, "everywhere") for name in told.looked_for]
    everything = ", ".join([*filter(None, codes), "e-mail addresses", "phone numbers", "exact dates"])
    lines = ["Looked for", *folded(f"{everything}", 2)]
    ordinary = ", ".join(filter(None, (_codes(told, name, "under_headings") for name in told.looked_for)))
    if ordinary:
        lines += folded(
            "only under a heading that names them, or behind a word such as client, because they read like "
            f"ordinary words or numbers: {ordinary}",
            2,
        )
    lines += ["", "Not looked for"]
    if told.may_show:
        lines += folded(f"codes that may stay: {', '.join(told.may_show)}", 2)
    lines += folded("first days of months, such as 2024-03-01: they are what anonymising leaves", 2)
    lines += folded("names of people, and when a workbook was saved or a notebook run", 2)
    lines += folded(
        "codes glued to other letters, or split over paragraphs or cells; plain numbers in a printed table "
        "turned on its side",
        2,
    )
    for kind, name in (("pictures", "what pictures show"), ("encoded", "encoded data")):
        held = ", ".join(f"{parts[kind]:,} in {file}" for file, parts in told.unseen.items() if parts[kind])
        if held:
            lines += folded(f"{name}: {held}", 2)
    if told.notes:
        lines += ["", "Look at these yourself"]
        for note in told.notes:
            lines += folded(note, 2)
    return lines


def _codes(told: Disclosure, name: str, where: str) -> str:
    count = told.looked_for[name][where]
    return _number(count, f"{name} code") if count else ""


def _shown(text: str) -> str:
    """What a file holds may steer a terminal: characters that can't be seen are shown as ?."""
    return "".join(c if c.isprintable() or c == "\n" else "?" for c in text)
