"""Does the shampoo matter? Fade rates by shampoo, and what that means in washes until a refresh."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from outcomes.cli.tell import HELP, figures_folder, tell

if TYPE_CHECKING:
    from outcomes.show.figures import Picture

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

    def text() -> str:
        from outcomes.show.fade_text import aftercare_text

        return aftercare_text(answer)

    def pictures() -> dict[str, Picture]:
        from outcomes.show.figures import ratios_picture

        return {f"aftercare_{one.measure}": ratios_picture(one) for one in answer.answers}

    return tell(answer, text, json=args.json, folder=folder, pictures=pictures)
