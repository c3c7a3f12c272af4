"""Are the bands honest? How often they held for clients whom the model hadn't seen."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Any

from outcomes.cli.printed import as_json
from outcomes.errors import InputError, ModelFileError

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
    audit, effects = _from_model(args.source) if _is_model(args.source) else _from_log(args.source)
    if folder is not None:
        from outcomes.show.calibration_folder import write_audit

        written = write_audit(audit, folder)
    if args.json:
        print(as_json({"lift": {**audit, **_about(effects)}}))
        return 0
    from outcomes.show.calibration_text import calibration_text

    print(calibration_text(audit, effects))
    if folder is not None:
        print(f"\n{folder}: {', '.join(written)}")
    return 0


def _about(effects: dict[str, Any]) -> dict[str, Any]:
    """What the text says beside the audit: the shapes, the eyes, and what no check can promise."""
    from outcomes.show.calibration_text import EYES, LIMITS

    told = {name: effects[name] for name in ("shape", "other", "reading_bias") if effects.get(name)}
    return told | {"limits": [*LIMITS, *([] if effects.get("reading_bias") else [EYES])]}


def _is_model(source: str) -> bool:
    from outcomes.predictive.saved import OPENING

    path = Path(source)
    if not path.is_file():
        return False
    with path.open("rb") as file:
        return file.read(len(OPENING)) == OPENING.encode()


def _from_model(source: str) -> tuple[dict[str, Any], dict[str, Any]]:
    from outcomes.predictive.saved import load_model

    model = load_model(source)
    if not model.audit:
        reason = f" ({model.notes[-1]})" if model.notes else ""
        raise ModelFileError(f"{source}: its bands weren't checked{reason}; fit a log of more clients")
    audit = dict(model.audit)
    only = "other methods and the last quarter are checked with the log: outcomes calibration LOG"
    return {**audit, "notes": [*audit["notes"], only]}, dict(model.effects)


def _from_log(source: str) -> tuple[dict[str, Any], dict[str, Any]]:
    from outcomes.calibration.audit import audit
    from outcomes.calibration.calibrate import calibrate
    from outcomes.cli.progress import working
    from outcomes.log.read import read_log
    from outcomes.models.lift import LiftModel

    with working("reading the log"):
        log = read_log(source)
    with working("fitting"):
        model = LiftModel().fit(log)
    with working("leaving a fifth of the clients out, five times"):
        calibrated = calibrate(model)
    with working("checking what was expected against what came"):
        found = audit(model, calibrated, log)
    if found is None:
        raise InputError(f"{source}: {calibrated.notes[0]}; log more clients")
    return found.to_dict(), dict(calibrated.predictive_.effects)
