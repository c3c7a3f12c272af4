"""How many clients does the next comparison of two shades take?"""

from __future__ import annotations

import argparse

from outcomes.cli.needed import check_given
from outcomes.cli.tell import tell

EXAMPLE = """example:
  outcomes study-size --difference 0.2 --readings 3 --power 0.8 --model salon.model.json"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of `outcomes study-size`."""
    parser.add_argument("--model", metavar="MODEL", help="model file written by `outcomes fit`")
    parser.add_argument(
        "--difference", metavar="SHARE", help="share by which one shade fades faster, such as 0.2; 0.02 to 2"
    )
    parser.add_argument("--readings", metavar="N", default="3", help="readings of each client (default 3)")
    parser.add_argument("--power", metavar="P", default="0.8", help="chance to show it (default 0.8)")
    parser.add_argument("--washes", metavar="N", default="20", help="washes at the last reading (default 20)")
    parser.add_argument("--measure", metavar="WORD", default="level", help="level, tone_left or delta_e")
    parser.add_argument("--json", action="store_true", help="print JSON")


def run(args: argparse.Namespace) -> int:
    """Print the number of clients and what it rests on.

    Raises
    ------
    InputError
        Options that are lacking; as `outcomes.study_size`.
    ModelFileError
        As `load_model`.
    """
    check_given(args, "a study's size", "model", "difference")
    from outcomes.answers.study_size import study_size
    from outcomes.predictive.saved import load_model

    answer = study_size(
        load_model(args.model),
        args.difference,
        args.readings,
        args.power,
        washes=args.washes,
        measure=args.measure,
    )

    def text() -> str:
        from outcomes.show.fade_text import study_size_text

        return study_size_text(answer)

    return tell(answer, text, json=args.json)
