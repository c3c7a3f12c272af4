"""When does it need a refresh? Washes, and weeks at a client's wash habit, until fade passes a threshold."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from outcomes.cli.needed import check_given
from outcomes.cli.tell import HELP, figures_folder, tell

if TYPE_CHECKING:
    from outcomes.show.figures import Picture

EXAMPLE = """example:
  outcomes refresh salon.model.json --zone roots --fade 1 --washes-per-week 3 --root-level 6 --root-tone ash
  outcomes refresh salon.model.json --zone lengths --fade 50 --washes-per-week 3 --toner-tone silver"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of `outcomes refresh`. Numbers are read by the answer itself, whose complaint is one line."""
    parser.add_argument("model", metavar="MODEL", help="model file written by `outcomes fit`")
    parser.add_argument("--zone", metavar="WORD", help="roots (the root shade) or lengths (the toner)")
    parser.add_argument(
        "--fade",
        metavar="AMOUNT",
        help="at the roots levels drifted to lighter, 0.5 to 9; at the lengths %% of the tone gone, 5 to 95",
    )
    parser.add_argument("--washes-per-week", metavar="N", help="this client's habit, up to 14")
    parser.add_argument("--root-level", metavar="LEVEL", help="level of the root shade")
    parser.add_argument("--root-tone", metavar="WORD", help="its tone")
    parser.add_argument("--toner-tone", metavar="WORD", help="tone of the toner")
    parser.add_argument("--shampoo", metavar="WORD", help="plain, sulphate_free or pigmented")
    parser.add_argument("--figures", metavar="DIR", help=HELP)
    parser.add_argument("--json", action="store_true", help="print JSON")


def run(args: argparse.Namespace) -> int:
    """Print washes and weeks.

    Raises
    ------
    InputError
        Options that are lacking; as `outcomes.refresh`.
    ModelFileError
        As `load_model`.
    """
    check_given(args, "a refresh", "zone", "fade", "washes-per-week")
    folder = figures_folder(args.figures)
    from outcomes.answers.refresh import refresh
    from outcomes.predictive.saved import load_model

    answer = refresh(
        load_model(args.model),
        args.zone,
        args.fade,
        args.washes_per_week,
        root_level=args.root_level,
        root_tone=args.root_tone,
        toner_tone=args.toner_tone,
        shampoo=args.shampoo,
    )

    def text() -> str:
        from outcomes.show.fade_text import refresh_text

        return refresh_text(answer)

    def pictures() -> dict[str, Picture]:
        from outcomes.show.figures import refresh_picture

        return {f"refresh_{answer.zone}": refresh_picture(answer)}

    return tell(answer, text, json=args.json, folder=folder, pictures=pictures)
