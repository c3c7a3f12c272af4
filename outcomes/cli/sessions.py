"""How many sessions does this goal need? Chances of 1, 2, 3 ... sessions from a saved model."""

from __future__ import annotations

import argparse

from outcomes.cli.printed import as_json, bar_character
from outcomes.errors import InputError

EXAMPLE = """example:
  outcomes sessions salon.model.json --start 3 --goal 9.5 --hair natural --peroxide 6 --heat low --minutes 45
  outcomes sessions salon.model.json --cases consultations.csv --json"""

ASKED = ("start", "goal", "hair", "peroxide", "heat", "minutes")


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of `outcomes sessions`. Numbers are read by the answer itself, whose complaint is one line."""
    parser.add_argument("model", metavar="MODEL", help="model file written by `outcomes fit`")
    parser.add_argument("--start", metavar="LEVEL", help="level before lightening, 1 to 10 in half steps")
    parser.add_argument("--goal", metavar="LEVEL", help="level aimed at")
    parser.add_argument("--hair", metavar="WORD", help="natural, coloured or lightened")
    parser.add_argument("--peroxide", metavar="PERCENT", help="developer strength in %% (20 volume is 6)")
    parser.add_argument("--heat", metavar="WORD", help="none, low, medium or high")
    parser.add_argument("--minutes", metavar="MINUTES", help="longest processing time intended, 1 to 180")
    parser.add_argument(
        "--stylist",
        metavar="CODE",
        help="a stylist's code, or `new`; without it, one of the log's stylists by their share of visits",
    )
    parser.add_argument("--limit", metavar="N", default="6", help="sessions to follow, 1 to 12 (default 6)")
    parser.add_argument(
        "--seed", metavar="N", default="1", help="the same seed gives the same answer (default 1)"
    )
    parser.add_argument(
        "--cases",
        metavar="FILE.csv",
        help="many plans at once: columns start, goal, hair, peroxide, heat, minutes and, if wanted, "
        "stylist; other columns and empty lines are passed over; of more than 60 plans each is worked out "
        "with fewer courses (a chance is then off by 0.02 at most, as a rule by 0.005)",
    )
    parser.add_argument("--json", action="store_true", help="JSON; with --cases one object a line")


def run(args: argparse.Namespace) -> int:
    """Answer one question or a file of them; 1 if a line of the file can't be answered.

    Raises
    ------
    InputError
        Options that are lacking or don't go together; a question or file of plans that can't be used.
    ModelFileError
        As `load_model`.
    """
    limit, seed = _whole("limit", args.limit), _whole("seed", args.seed)
    given = [name for name in (*ASKED, "stylist") if getattr(args, name) is not None]
    if args.cases is not None:
        if given:
            raise InputError(
                f"--cases: found --{given[0]} beside it; the file gives the plans; leave out one of them"
            )
        from outcomes.cli.cases import answer_cases

        return answer_cases(args.model, args.cases, limit=limit, seed=seed, as_json_lines=args.json)
    if missing := [f"--{name}" for name in ASKED if name not in given]:
        raise InputError(
            f"{', '.join(missing)}: not given; a question needs all of "
            f"{', '.join('--' + name for name in ASKED)}, or --cases FILE.csv"
        )
    from outcomes.answers.sessions import sessions
    from outcomes.predictive.saved import load_model

    answer = sessions(
        load_model(args.model),
        args.start,
        args.goal,
        args.hair,
        args.peroxide,
        args.heat,
        args.minutes,
        args.stylist,
        limit=limit,
        seed=seed,
    )
    if args.json:
        print(as_json(answer.to_dict()))
        return 0
    from outcomes.show.sessions_text import sessions_text

    print(sessions_text(answer, bar=bar_character()))
    return 0


def _whole(name: str, text: str) -> int:
    try:
        return int(text)
    except ValueError as cause:
        raise InputError(f"--{name}: found {text!r}; expected a whole number; correct it") from cause
