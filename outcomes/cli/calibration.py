"""Are the bands honest? How often they held for clients whom the model hadn't seen."""

from __future__ import annotations

import argparse
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from outcomes.cli.printed import as_json
from outcomes.cli.reading import add_reading_options, need_log, read_with
from outcomes.errors import InputError, ModelFileError

if TYPE_CHECKING:
    from outcomes.predictive.fade import FadePredictive

EXAMPLE = """example:
  outcomes calibration data_demo/salon_group
  outcomes calibration salon.model.json --json
  outcomes calibration data_demo/salon_group --to audit"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of `outcomes calibration`."""
    parser.add_argument(
        "source",
        metavar="LOG|MODEL",
        help="a log: fits it and checks everything, other methods and the last quarter included; or a model "
        "file: prints what `outcomes fit` checked",
    )
    add_reading_options(parser)
    parser.add_argument(
        "--to",
        metavar="DIR",
        help="folder for figures (PNG and SVG) and the tables as CSV; made where absent",
    )
    parser.add_argument("--json", action="store_true", help="print JSON")


def run(args: argparse.Namespace) -> int:
    """Check a log, or print what a model file holds.

    Raises
    ------
    InputError
        A log that can't be read, or a folder that can't be made.
    ModelFileError
        A model without an audit.
    """
    folder = None if args.to is None else Path(args.to)
    if folder is not None and folder.exists() and not folder.is_dir():
        raise InputError(f"--to {folder}: found a file; name a folder, new or old")
    if _is_model(args.source):
        need_log(args, None)
        lift, fade, left_out = _from_model(args.source)
    else:
        lift, fade, left_out = _from_log(args)
    if folder is not None:
        from outcomes.show.calibration_folder import write_audit

        written = write_audit(lift.audit, folder, {name: one.audit for name, one in fade.items()})
    if args.json:
        told = {name: {**one.audit, **_shapes(one.effects)} for name, one in fade.items()}
        print(
            as_json({"lift": {**lift.audit, **_about(lift.effects)}, "fade": told, "fade_left_out": left_out})
        )
        return 0
    from outcomes.answers.wording import FADE_NAMES
    from outcomes.show.calibration_text import calibration_text, fade_calibration_text
    from outcomes.show.plan_text import wrapped

    print(calibration_text(lift.audit, lift.effects))
    for measure, one in fade.items():
        print("\n" + fade_calibration_text(measure, one.audit, one.effects))
    for measure, why in left_out.items():
        print("\n" + wrapped(f"Fade by {FADE_NAMES[measure]} isn't checked: {why}"))
    if folder is not None:
        print(f"\n{folder}: {', '.join(written)}")
    return 0


class _Checked(NamedTuple):
    """What was checked, and the effects of the model that was."""

    audit: dict[str, Any]
    effects: dict[str, Any]


_Found = tuple[_Checked, dict[str, _Checked], dict[str, str]]


def _shapes(effects: dict[str, Any]) -> dict[str, Any]:
    return {name: effects[name] for name in ("shape", "other") if effects.get(name)}


def _about(effects: dict[str, Any]) -> dict[str, Any]:
    """What the text says beside the audit: the shapes, the eyes, and what no check can promise."""
    from outcomes.show.calibration_text import EYES, LIMITS

    told = _shapes(effects) | {name: effects[name] for name in ("reading_bias",) if effects.get(name)}
    return told | {"limits": [*LIMITS, *([] if effects.get("reading_bias") else [EYES])]}


def _is_model(source: str) -> bool:
    from outcomes.predictive.saved import OPENING

    path = Path(source)
    if not path.is_file():
        return False
    with path.open("rb") as file:
        return file.read(len(OPENING)) == OPENING.encode()


def _from_model(source: str) -> _Found:
    from outcomes.predictive.saved import load_model

    model = load_model(source)
    lift = model.lift
    if not lift.audit:
        reason = f" ({lift.notes[-1]})" if lift.notes else ""
        raise ModelFileError(f"{source}: its bands weren't checked{reason}; fit a log of more clients")
    audit = dict(lift.audit)
    only = "other methods and the last quarter are checked with the log: outcomes calibration LOG"
    found = _Checked({**audit, "notes": [*audit["notes"], only]}, dict(lift.effects))
    return found, *_of_fade(model.fade, model.left_out)


def _from_log(args: argparse.Namespace) -> _Found:
    from outcomes.calibration.audit import audit
    from outcomes.calibration.calibrate import calibrate
    from outcomes.calibration.salon import fit_fade
    from outcomes.cli.progress import working
    from outcomes.models.lift import LiftModel

    log = read_with(args, args.source)
    with working("fitting"):
        model = LiftModel().fit(log)
    with working("leaving a fifth of the clients out, five times"):
        calibrated = calibrate(model)
    with working("checking what was expected against what came"):
        found = audit(model, calibrated, log)
    if found is None:
        raise InputError(f"{args.source}: {calibrated.notes[0]}; log more clients")
    with working("checking fade"):
        fade, left_out = fit_fade(log, ahead=True)
    lift = _Checked(found.to_dict(), dict(calibrated.predictive_.effects))
    return lift, *_of_fade(fade, left_out)


def _of_fade(
    fade: Mapping[str, FadePredictive], left_out: Mapping[str, str]
) -> tuple[dict[str, _Checked], dict[str, str]]:
    """Measures that could be checked, and why the others weren't."""
    checked = {name: _Checked(dict(one.audit), dict(one.effects)) for name, one in fade.items() if one.audit}
    unchecked = {name: one.notes[-1] for name, one in fade.items() if not one.audit and one.notes}
    return checked, {**left_out, **unchecked}
