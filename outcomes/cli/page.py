"""Write the page for the chair: one file that answers from a saved model on a tablet, without a network."""

from __future__ import annotations

import argparse

from outcomes.cli.spared import spare_other_files

EXAMPLE = "example: outcomes page salon.model.json --to page.html"

OPENING = "<!DOCTYPE html>"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of `outcomes page`."""
    parser.add_argument("model", metavar="MODEL", help="model file written by `outcomes fit`")
    parser.add_argument(
        "--to",
        required=True,
        metavar="FILE.html",
        help="the page to write; it holds the model, and the codes of its stylists",
    )


def run(args: argparse.Namespace) -> int:
    """Write the page; returns 0.

    Raises
    ------
    InputError
        A page that can't be written, or would replace a file that is no page.
    ModelFileError
        As `load_model`.
    """
    spare_other_files("", args.to, "a page", OPENING)
    from outcomes.predictive.saved import load_model
    from outcomes.show.page.write import write_page

    size = write_page(load_model(args.model), args.to)
    print(f"{args.to}: {size / 1e6:.1f} MB; copy it to the tablet and open it there, it needs no network")
    return 0
