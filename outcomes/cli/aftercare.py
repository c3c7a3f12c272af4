"""Does the shampoo matter? Fade rates by shampoo, and what that means in washes until a refresh."""

from __future__ import annotations

import argparse

from outcomes.cli.figures import HELP, figures_folder, write_pictures
from outcomes.cli.printed import as_json

EXAMPLE = """example:
  outcomes aftercare salon.model.json"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of `outcomes aftercare`."""
    parser.add_argument("model", metavar="MODEL", help="model file written by `outcomes fit`")
    parser.add_argument("--figures", metavar="DIR", help=HELP)
    parser.add_argument("--json", action="store_true", help="print JSON")


def run(args: argparse.Namespace) -> int:
    """Print fade by shampoo.

    Raises
    ------
    InputError
        As `outcomes.aftercare`.
    ModelFileError
        As `load_model`.
    """
    folder = figures_folder(args.figures)
    from outcomes.answers.aftercare import aftercare
    from outcomes.predictive.saved import load_model

    answer = aftercare(load_model(args.model))
    drawn = ""
    if folder is not None:
        from outcomes.show.figures import ratios_picture

        drawn = write_pictures(
            folder, {f"aftercare_{one.measure}": ratios_picture(one) for one in answer.answers}
        )
    if args.json:
        print(as_json(answer.to_dict()))
        return 0
    from outcomes.show.fade_text import aftercare_text

    print(aftercare_text(answer))
    if drawn:
        print(f"\n{drawn}")
    return 0
