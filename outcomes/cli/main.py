"""The `outcomes` command: finds the sub-command, loads its module alone, turns errors into one line."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from importlib import import_module
from typing import NoReturn

from outcomes import __version__
from outcomes.cli.printed import show_anything
from outcomes.errors import InputError, OutcomesError

# name: (module with `add_arguments` and `run`, one line of help), in the order in which a salon meets them
COMMANDS: dict[str, tuple[str, str]] = {
    "demo": ("outcomes.cli.demo", "check and fit an invented salon group, and ask it of lift and fade"),
    "template": ("outcomes.cli.template", "write a blank log workbook with drop-downs"),
    "recorder": ("outcomes.cli.recorder", "write the page that records visits as they happen"),
    "map": ("outcomes.cli.map", "say what the headings of a log mean, once and for all commands"),
    "check": ("outcomes.cli.check", "say which rows of a log can be used, and why the others can't"),
    "merge": ("outcomes.cli.merge", "put several logs together; nothing counts twice, nothing is lost"),
    "fit": ("outcomes.cli.fit", "learn rates of lift and fade from a log and save them as a model file"),
    "sessions": ("outcomes.cli.sessions", "how many sessions does this goal need?"),
    "today": ("outcomes.cli.today", "what to expect today, look by look"),
    "page": ("outcomes.cli.page", "write the page that answers at the chair, for a tablet without a network"),
    "root-shade": ("outcomes.cli.root_shade", "which root shade still blends at the next visit?"),
    "refresh": ("outcomes.cli.refresh", "when does it need a refresh?"),
    "aftercare": ("outcomes.cli.aftercare", "does the shampoo matter?"),
    "fade": ("outcomes.cli.fade", "do shades fade differently?"),
    "study-size": ("outcomes.cli.study_size", "how many clients does the next comparison take?"),
    "effects": (
        "outcomes.cli.effects",
        "what developer, heat and hair do to lift, shade and shampoo to fade",
    ),
    "calibration": ("outcomes.cli.calibration", "are the bands honest?"),
    "team": ("outcomes.cli.team", "how is the team doing, fairly? a quarter's review as one page"),
    "notebook": ("outcomes.cli.notebook", "run one of the project's notebooks on a log of your own"),
    "anonymise": ("outcomes.cli.anonymise", "write a log that may be handed on, with keyed pseudonyms"),
    "disclose": ("outcomes.cli.disclose", "may this file leave the salon?"),
}


class _Parser(argparse.ArgumentParser):
    """Complains in one line, as every other error of the command does, without the list of options."""

    def error(self, message: str) -> NoReturn:
        command = self.prog.removeprefix("outcomes").strip()
        raise InputError(f"{command}: {message}; see `{self.prog} --help`")


def command_parser(name: str | None) -> argparse.ArgumentParser:
    """The parser with the options of one command; the modules of the others aren't loaded.

    Parameters
    ----------
    name : str or None
        A key of `COMMANDS`; None: only their names.

    Returns
    -------
    ArgumentParser
    """
    parser = _Parser(
        prog="outcomes",
        description="A salon's own visit logs in, calibrated expectations for lightening hair out.",
        epilog="example: outcomes sessions salon.model.json --start 3 --goal 9.5 --hair natural "
        "--peroxide 6 --heat low --minutes 45",
        allow_abbrev=False,
    )
    parser.add_argument("--version", action="version", version=f"outcomes {__version__}")
    commands = parser.add_subparsers(dest="command", metavar="COMMAND", required=True)
    for command, (module, line) in COMMANDS.items():
        if command != name:
            commands.add_parser(command, help=line, add_help=False)
            continue
        loaded = import_module(module)
        child = commands.add_parser(
            command,
            help=line,
            description=loaded.__doc__,
            epilog=loaded.EXAMPLE,
            formatter_class=argparse.RawDescriptionHelpFormatter,
            allow_abbrev=False,
        )
        loaded.add_arguments(child)
        child.set_defaults(run=loaded.run)
    return parser


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command; anything unusable gives one clear line and exit code 2.

    Parameters
    ----------
    argv : sequence of str, optional
        Words after `outcomes`; by default those that the program was called with.

    Returns
    -------
    int
        Exit code.

    Raises
    ------
    SystemExit
        After `--help` or `--version`.
    """
    arguments = list(sys.argv[1:] if argv is None else argv)
    name = next((word for word in arguments if not word.startswith("-")), None)
    show_anything()
    try:
        args, unknown = command_parser(name if name in COMMANDS else None).parse_known_args(arguments)
        if unknown:
            # argparse would blame the parser of all commands, whose help doesn't list this one's options
            raise InputError(
                f"{name}: found {' '.join(unknown)}, which it doesn't know; see `outcomes {name} --help`"
            )
        code = int(args.run(args))
        sys.stdout.flush()
        return code
    except OutcomesError as error:
        print(f"outcomes: {_as_written(str(error).removeprefix(': '), arguments)}", file=sys.stderr)
        return 2
    except BrokenPipeError:
        sys.stderr.close()
        return 0
    except OSError as error:
        # every file has errors of its own; what is left is the output itself, such as a full disk
        print(
            f"outcomes: {error.strerror or error}; make room, or send the output elsewhere", file=sys.stderr
        )
        return 2
    except KeyboardInterrupt:
        print("outcomes: stopped; no file was left half written", file=sys.stderr)
        return 130


def _as_written(complaint: str, arguments: Sequence[str]) -> str:
    """A complaint about a value of this name, which the option that gave it replaces."""
    name, found, _ = complaint.partition(":")
    option = f"--{name.replace('_', '-')}"
    is_given = any(word == option or word.startswith(f"{option}=") for word in arguments)
    return option + complaint.removeprefix(name) if found and is_given else complaint
