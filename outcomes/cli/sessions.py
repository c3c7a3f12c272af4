"""How many sessions does this goal need? Chances of 1, 2, 3 ... sessions from a saved model."""

from __future__ import annotations

import argparse

from outcomes.cli.figures import BESIDES, add_besides, answered_besides
from outcomes.cli.plan import ASKED, Asked, add_client, add_plan, read_plan
from outcomes.cli.printed import as_json, bar_character
from outcomes.errors import InputError

EXAMPLE = """example:
  outcomes sessions salon.model.json --start 3 --goal 9.5 --hair natural --peroxide 6 --heat low --minutes 45
  outcomes sessions salon.model.json --start 6.5 --goal 9.5 --hair natural --peroxide 6 --heat low \\
      --minutes 45 --past "start=3,achieved=6.5,minutes=45,peroxide=6,heat=low,stop=time"
  outcomes sessions salon.model.json --start 3 --goal 9.5 --hair natural --peroxide 6 --heat low \\
      --minutes 45 --compare "heat=medium" --compare "peroxide=3"
  outcomes sessions salon.model.json --start 3 --goal 9.5 --hair natural --peroxide 6 --heat low \\
      --minutes 45 --price 95 --weeks-between 8 --condition 4 --floor 2
  outcomes sessions salon.model.json --cases consultations.csv --json"""

_ONE_PLAN = ("stylist", "compare", "past", "client", "log")


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of `outcomes sessions`. Numbers are read by the answer itself, whose complaint is one line."""
    add_plan(parser)
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
    parser.add_argument(
        "--compare",
        metavar="CHANGES",
        action="append",
        help="the plan beside another that differs in peroxide, heat or minutes; once for each",
    )
    parser.add_argument("--json", action="store_true", help="JSON; with --cases one object a line")
    add_client(parser)
    add_besides(parser)


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
    given = [name for name in (*ASKED, *_ONE_PLAN, *BESIDES) if getattr(args, name) is not None]
    if args.cases is not None:
        if given:
            option = given[0].replace("_", "-")
            raise InputError(
                f"--cases: found --{option} beside it; the file gives the plans; leave out one of them"
            )
        from outcomes.cli.cases import answer_cases

        return answer_cases(args.model, args.cases, limit=limit, seed=seed, as_json_lines=args.json)
    asked = read_plan(args, "a question")
    if args.compare:
        return _compare(args, asked, limit=limit, seed=seed)
    from outcomes.answers.sessions import answer_all

    (answer,) = answer_all(asked.predictive, [asked.question], past=asked.past, limit=limit, seed=seed)
    besides, lines = answered_besides(args, asked.predictive, answer)
    if args.json:
        print(as_json(answer.to_dict() | besides))
        return 0
    from outcomes.show.sessions_text import sessions_text

    told = "condition" in besides
    print(sessions_text(answer, bar=bar_character(), besides=lines, tells_condition=told))
    return 0


def _compare(args: argparse.Namespace, asked: Asked, *, limit: int, seed: int) -> int:
    from outcomes.answers.compare import compare, read_options

    try:
        options = read_options(asked.question, args.compare)
    except InputError as cause:
        raise InputError(f"--compare: {str(cause).removeprefix('compare: ')}") from cause
    answer = compare(asked.predictive, options, past=asked.past, limit=limit, seed=seed)
    besides = [answered_besides(args, asked.predictive, one.answer) for one in answer.options]
    if args.json:
        told = answer.to_dict()
        for option, (found, _) in zip(told["options"], besides, strict=True):
            option |= found
        print(as_json(told))
        return 0
    from outcomes.show.compare_text import compare_text

    print(compare_text(answer, [lines for _, lines in besides]))
    return 0


def _whole(name: str, text: str) -> int:
    try:
        return int(text)
    except ValueError as cause:
        raise InputError(f"--{name}: found {text!r}; expected a whole number; correct it") from cause
