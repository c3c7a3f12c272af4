"""Which root shade still blends after the washes until the next visit?"""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from outcomes.cli.needed import check_given
from outcomes.cli.tell import HELP, figures_folder, tell

if TYPE_CHECKING:
    from outcomes.show.figures import Picture

EXAMPLE = """example:
  outcomes root-shade salon.model.json --natural 2.5 --lengths 9.5 --washes 18 --limit 7.5 --tone ash"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of `outcomes root-shade`. Numbers are read by the answer, whose complaint is one line."""
    parser.add_argument("model", metavar="MODEL", help="model file written by `outcomes fit`")
    parser.add_argument("--natural", metavar="LEVEL", help="level of the regrowth, 1 to 10 in half steps")
    parser.add_argument("--lengths", metavar="LEVEL", help="level of the lengths")
    parser.add_argument("--washes", metavar="N", help="washes until the next visit, 1 to 200")
    parser.add_argument(
        "--limit", metavar="LEVEL", help="lightest level that still blends (default: halfway)"
    )
    parser.add_argument("--tone", metavar="WORD", help="a root tone of the log; without it all of them")
    parser.add_argument("--shampoo", metavar="WORD", help="plain, sulphate_free or pigmented")
    parser.add_argument("--figures", metavar="DIR", help=HELP)
    parser.add_argument("--json", action="store_true", help="print JSON")


def run(args: argparse.Namespace) -> int:
    """Print every candidate and the choice.

    Raises
    ------
    InputError
        Options that are lacking; as `outcomes.root_shade`.
    ModelFileError
        As `load_model`.
    """
    check_given(args, "a root shade", "natural", "lengths", "washes")
    folder = figures_folder(args.figures)
    from outcomes.answers.root_shade import root_shade
    from outcomes.predictive.saved import load_model

    answer = root_shade(
        load_model(args.model),
        args.natural,
        args.lengths,
        args.washes,
        args.limit,
        tone=args.tone,
        shampoo=args.shampoo,
    )

    def text() -> str:
        from outcomes.show.fade_text import root_shade_text

        return root_shade_text(answer)

    def pictures() -> dict[str, Picture]:
        from outcomes.show.figures import root_shade_picture

        return {"root_shade": root_shade_picture(answer)}

    return tell(answer, text, json=args.json, folder=folder, pictures=pictures)
