"""Write a log that may be handed on: keyed pseudonyms, coarse dates, nothing that few clients share.

The key makes the pseudonyms, and who has it can undo them: it never leaves the salon. The same key gives the
same pseudonyms every quarter.
"""

from __future__ import annotations

import argparse
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING

from outcomes.cli.printed import as_json
from outcomes.cli.reading import LOG_HELP, add_reading_options, read_with
from outcomes.errors import InputError

if TYPE_CHECKING:
    from outcomes.log.read import VisitLog

EXAMPLE = """example:
  outcomes anonymise salon.xlsx --to shared --key-file ~/salon.key"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of `outcomes anonymise`."""
    parser.add_argument("log", metavar="LOG", help=LOG_HELP)
    parser.add_argument("--to", metavar="DIR", required=True, help="folder to hand on, new or empty")
    parser.add_argument(
        "--key-file",
        metavar="KEY",
        required=True,
        help="secret key, outside that folder and the log's; made, for its owner alone, when it isn't there",
    )
    parser.add_argument(
        "--min-clients",
        metavar="K",
        type=int,
        default=5,
        help="different clients that must share whatever a visit can be known by (default 5)",
    )
    parser.add_argument(
        "--period",
        choices=("month", "quarter", "year"),
        default="month",
        help="dates become its first day (default month); a longer one leaves levels and other columns "
        "nearer to what was logged",
    )
    add_reading_options(parser)
    parser.add_argument("--json", action="store_true", help="print JSON")


def run(args: argparse.Namespace) -> int:
    """Read, work everything out, write; nothing is written when any of it fails.

    Raises
    ------
    InputError
        Places that can't be used; a log that can't be read; too few clients.
    """
    folder, key_file = Path(args.to), Path(args.key_file).expanduser()
    _check_places(Path(args.log), folder, key_file)

    from outcomes.calibration.moved import estimates_moved
    from outcomes.cli.progress import working
    from outcomes.protect.anonymise import anonymise
    from outcomes.protect.pseudonyms import load_key, new_key
    from outcomes.readings.courses import assign_courses
    from outcomes.show.anonymised_text import anonymised_text

    is_new = not key_file.exists()
    key = new_key() if is_new else load_key(key_file)
    log = read_with(args, args.log)
    with working("looking for combinations that few clients share"):
        released, done = anonymise(log, assign_courses(log.visits), key, args.min_clients, args.period)
    moved = estimates_moved(log, released, doing=working)
    written = _write(released, folder, key, key_file if is_new else None)
    files = {"folder": str(folder), "files": [path.name for path in written]}
    places = {**files, "key_file": str(args.key_file), "key_made": is_new}
    if args.json:
        print(as_json({**places, **done.to_dict(), "moved": moved.to_dict()}))
    else:
        print(anonymised_text(done, moved, written, str(args.key_file), is_new))
    return 0


def _check_places(log: Path, folder: Path, key_file: Path) -> None:
    """Said before anything is read: a folder that is handed on holds nothing else, and never the key."""
    if folder.exists() and not folder.is_dir():
        raise InputError(f"--to {folder}: found a file; name a folder, new or empty")
    with suppress(OSError):  # one that can't be looked into can't be written to either, which is said then
        there = sorted(path.name for path in folder.glob("*"))
        if there:
            raise InputError(
                f"--to {folder}: found {there[0]} in it; all of that folder will be handed on, so name a new "
                "or empty one"
            )
    wanted = key_file.resolve()
    for place, what in ((folder, "the folder to hand on"), (log, "the log")):
        if place.resolve() in (wanted, *wanted.parents):
            raise InputError(f"--key-file {key_file}: is, or lies in, {what}; keep the key apart from both")
    if not key_file.exists() and not wanted.parent.is_dir():
        raise InputError(
            f"--key-file {key_file}: found no folder for it; name a file in a folder that exists"
        )


def _write(released: VisitLog, folder: Path, key: bytes, new_key_file: Path | None) -> tuple[Path, ...]:
    """The key first: pseudonyms whose key is lost can never be made again."""
    from outcomes.log.write import write_log
    from outcomes.protect.pseudonyms import save_key

    if new_key_file is not None:
        save_key(new_key_file, key)
    was_there = folder.exists()
    try:
        return write_log(released, folder)
    except BaseException:
        if new_key_file is not None:
            new_key_file.unlink()
        with suppress(OSError):  # the folder was new or empty
            for path in folder.iterdir():
                path.unlink()
            if not was_there:
                folder.rmdir()
        raise
