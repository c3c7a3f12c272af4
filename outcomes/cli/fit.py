"""Learn rates of lift and fade from a log, check their bands, save a model file without a row of a client."""

from __future__ import annotations

import argparse
from pathlib import Path

from outcomes.cli.reading import add_reading_options, checked_by, need_log, read_with
from outcomes.errors import InputError

EXAMPLE = """example:
  outcomes fit data_demo/salon_group --to salon.model.json
  outcomes fit --starter --to starter.model.json"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of `outcomes fit`."""
    parser.add_argument("log", metavar="LOG", nargs="?", help="folder, workbook or visits file")
    parser.add_argument(
        "--starter",
        action="store_true",
        help="no log: what is usual in the trade (common practice, no source), for a salon that has logged "
        "nothing yet",
    )
    add_reading_options(parser)
    parser.add_argument("--to", metavar="MODEL", required=True, help="model file to write")


def run(args: argparse.Namespace) -> int:
    """Read, fit, save; nothing is written when any of it fails.

    Raises
    ------
    InputError
        A place that can't be written to or holds another file; a log that can't be read or has no used visit.
    FitError
        As `fit_salon`.
    """
    if args.starter == (args.log is not None):
        raise InputError("fit: expected either LOG or --starter; see `outcomes fit --help`")
    need_log(args, args.log)
    target = Path(args.to)
    # Said before the fit: nobody should wait for a fit that can't be saved.
    if target.is_dir() or not target.absolute().parent.is_dir():
        raise InputError(
            f"--to {target}: found no folder for it, or a folder itself; name a file in a folder that exists"
        )

    from outcomes.cli.spared import spare_other_files
    from outcomes.predictive.saved import OPENING

    spare_other_files(args.log or "", args.to, "a model file", OPENING)
    if args.starter:
        return _starter(target)
    from outcomes.answers.wording import FADE_NAMES, count, percent
    from outcomes.calibration.salon import fit_salon
    from outcomes.cli.progress import working
    from outcomes.predictive.saved import save_model
    from outcomes.show.calibration_text import FADED, flag_sentence, verdict
    from outcomes.show.plan_text import wrapped

    log = read_with(args, args.log)
    model = fit_salon(log, doing=working)
    predictive = model.lift
    save_model(model, target)
    basis, shape = predictive.basis, predictive.effects["shape"]
    print(f"{target}")
    print(
        f"  {count(basis.visits, 'visit')}, {count(basis.clients, 'client')}, "
        f"{count(basis.stylists, 'stylist')}; "
        f"{shape['family']} shape {shape['value']:.2f} ({shape['low']:.2f} to {shape['high']:.2f})"
    )
    aside = {table: counts["set_aside"] for table, counts in log.counts.items() if counts["set_aside"]}
    if aside:
        said = ", ".join(f"{number:,} of {table}" for table, number in aside.items())
        print(f"  rows set aside: {said}; to see why:\n    {checked_by(args)}")
    other = predictive.effects.get("other", {})
    if other.get("share"):
        print(wrapped(f"  both shapes are used: {other['family']} with a share of {percent(other['share'])}"))
    if predictive.audit:
        print(wrapped(f"  bands: {verdict(predictive.audit)}"))
        for flag in predictive.audit["flags"]:
            print(wrapped(f"  ! {flag_sentence(flag)}"))
    for note in predictive.notes:
        print(wrapped(f"  note: {note}"))
    for measure, fade in model.fade.items():
        basis, shape = fade.basis, fade.effects["shape"]
        print(f"fade by {FADE_NAMES[measure]}")
        print(
            f"  {count(basis.visits, 'visit')} read after washes, {count(basis.clients, 'client')}; "
            f"{shape['family']} shape {shape['value']:.2f} ({shape['low']:.2f} to {shape['high']:.2f})"
        )
        if fade.audit:
            print(wrapped(f"  bands: {verdict(fade.audit)}"))
            for flag in fade.audit["flags"]:
                print(wrapped(f"  ! {flag_sentence(flag, FADED)}"))
        for note in fade.notes:
            print(wrapped(f"  note: {note}"))
    for measure, why in model.left_out.items():
        print(wrapped(f"fade by {FADE_NAMES[measure]} is left out: {why}"))
    return 0


def _starter(target: Path) -> int:
    from outcomes.models.rate import N_DRAWS, SEED
    from outcomes.models.starter_model import NOTE, starter_predictive
    from outcomes.predictive.saved import save_model
    from outcomes.show.plan_text import wrapped

    save_model(starter_predictive(N_DRAWS, SEED), target)
    print(f"{target}")
    print(wrapped(f"  note: {NOTE}"))
    return 0
