"""How shades fade over washes, and how their rates compare."""

from __future__ import annotations

import argparse

from outcomes.cli.figures import HELP, figures_folder, write_pictures
from outcomes.cli.printed import as_json

EXAMPLE = """example:
  outcomes fade salon.model.json --by root_tone --washes 10
  outcomes fade salon.model.json --by shampoo --reference plain --margin 0.15 --json"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of `outcomes fade`."""
    parser.add_argument("model", metavar="MODEL", help="model file written by `outcomes fit`")
    parser.add_argument(
        "--by", metavar="COLUMN", default="root_tone", help="root_tone, root_level, shampoo or toner_tone"
    )
    parser.add_argument(
        "--washes", metavar="N", default="10", help="washes asked about, 1 to 200 (default 10)"
    )
    parser.add_argument("--reference", metavar="VALUE", help="shade that ratios are read against")
    parser.add_argument(
        "--measure",
        metavar="WORD",
        help="level, tone_left or delta_e; without it level, and of toners the share of tone left",
    )
    parser.add_argument("--pairs", action="store_true", help="compare every two shades as well")
    parser.add_argument(
        "--margin",
        metavar="SHARE",
        help="stated beforehand: rates that differ by less, such as 0.15, count as alike",
    )
    parser.add_argument("--figures", metavar="DIR", help=HELP)
    parser.add_argument("--json", action="store_true", help="print JSON")


def run(args: argparse.Namespace) -> int:
    """Print the table of shades.

    Raises
    ------
    InputError
        As `outcomes.fade`.
    ModelFileError
        As `load_model`.
    """
    folder = figures_folder(args.figures)
    from outcomes.answers.shades import fade
    from outcomes.predictive.saved import load_model

    answer = fade(
        load_model(args.model),
        args.by,
        args.washes,
        args.reference,
        measure=args.measure,
        all_pairs=args.pairs,
        margin=args.margin,
    )
    drawn = ""
    if folder is not None:
        from outcomes.show.figures import ratios_picture

        drawn = write_pictures(folder, {f"fade_by_{answer.by}": ratios_picture(answer)})
    if args.json:
        print(as_json(answer.to_dict()))
        return 0
    from outcomes.show.fade_text import fade_text

    print(fade_text(answer))
    if drawn:
        print(f"\n{drawn}")
    return 0
