"""How shades fade over washes, and how their rates compare."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from outcomes.cli.reading import add_reading_options, need_log, read_with
from outcomes.cli.tell import HELP, figures_folder, tell

if TYPE_CHECKING:
    from pandas import DataFrame

    from outcomes.show.figures import Picture

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
    parser.add_argument("--log", metavar="LOG", help="the log, whose readings stand behind the curves")
    add_reading_options(parser)
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
    need_log(args, args.log)
    folder = figures_folder(args.figures)
    from outcomes.answers.shades import fade
    from outcomes.predictive.saved import load_model

    model = load_model(args.model)
    answer = fade(
        model,
        args.by,
        args.washes,
        args.reference,
        measure=args.measure,
        all_pairs=args.pairs,
        margin=args.margin,
    )

    def text() -> str:
        from outcomes.show.fade_text import fade_text

        hint = "" if folder is None or args.log else "\n\n--log LOG puts the readings behind the curves"
        return fade_text(answer) + hint

    def pictures() -> dict[str, Picture]:
        from outcomes.answers.fade_curve import fade_curves
        from outcomes.show.figures import fade_curve_picture, ratios_picture

        curves = fade_curves(model, answer.by, measure=answer.measure)
        readings = _readings(args, answer.measure, answer.by)
        return {
            f"fade_by_{answer.by}": fade_curve_picture(curves, readings),
            f"fade_ratios_by_{answer.by}": ratios_picture(answer),
        }

    return tell(answer, text, json=args.json, folder=folder, pictures=pictures)


def _readings(args: argparse.Namespace, measure: str, by: str) -> DataFrame | None:
    """Readings to show behind the curves; a model file keeps none."""
    if args.log is None:
        return None
    from outcomes.readings.fade import MEASURES, readings_by_shade

    known = next(name for name in MEASURES if name == measure)
    return readings_by_shade(read_with(args, args.log), known, by)
