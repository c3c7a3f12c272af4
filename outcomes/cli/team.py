"""How is the team doing, fairly? A quarter's review: one page, its figures and its tables."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from outcomes.cli.printed import as_json
from outcomes.cli.reading import LOG_HELP, add_reading_options, read_with
from outcomes.errors import InputError

if TYPE_CHECKING:
    from outcomes.predictive.lift import LiftPredictive

EXAMPLE = """example:
  outcomes team data_demo/salon_group --quarter 2024Q2 --to review
  outcomes team salon.xlsx --quarter 2026Q3 --salon A --to review --json"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of `outcomes team`."""
    parser.add_argument("log", metavar="LOG", help=LOG_HELP)
    parser.add_argument(
        "--quarter",
        metavar="QUARTER",
        required=True,
        help="as 2026Q3; expectations and comparisons rest on visits up to its end",
    )
    parser.add_argument(
        "--model",
        metavar="MODEL",
        help="model file to expect visits by, of visits up to the quarter's end; without it one is fitted",
    )
    parser.add_argument("--salon", metavar="CODE", help="the stylists of one salon alone")
    parser.add_argument(
        "--min-clients",
        metavar="N",
        default="5",
        help="numbers of fewer clients aren't shown; 5 (the default) or more",
    )
    add_reading_options(parser)
    parser.add_argument(
        "--to",
        metavar="DIR",
        required=True,
        help="folder for the page, figures and tables; made where absent",
    )
    parser.add_argument("--json", action="store_true", help="print JSON")


def run(args: argparse.Namespace) -> int:
    """Review a quarter; nothing is written where any of it fails.

    Raises
    ------
    InputError
        A log, quarter, salon or folder that can't be used.
    ModelFileError
        As `load_model`.
    FitError
        As `LiftModel.fit`.
    """
    folder = Path(args.to)
    if folder.exists() and not folder.is_dir():
        raise InputError(f"--to {folder}: found a file; name a folder, new or old")
    try:
        least = int(args.min_clients)
    except ValueError as cause:
        raise InputError(
            f"--min-clients: found {args.min_clients!r}; expected a whole number, 5 or more"
        ) from cause
    from outcomes.review.quarter import as_quarter

    quarter = as_quarter(args.quarter)
    predictive = None if args.model is None else _lift_of(args.model)
    from outcomes.cli.progress import working
    from outcomes.review.team import team_review

    review = team_review(
        read_with(args, args.log),
        quarter,
        predictive=predictive,
        salon=args.salon or "",
        min_clients=least,
        doing=working,
    )
    from outcomes.show.figures.team import team_pictures
    from outcomes.show.report import write_team

    with working("drawing"):
        written = write_team(review, team_pictures(review), folder)
    if args.json:
        print(as_json(review.to_dict()))
        return 0
    from outcomes.show.team_text import team_text

    print(team_text(review))
    print(f"\n{folder}: {', '.join(path.name for path in written)}")
    return 0


def _lift_of(path: str) -> LiftPredictive:
    from outcomes.predictive.saved import load_model

    return load_model(path).lift
