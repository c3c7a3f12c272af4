"""The model file: one JSON text that a person can read, without a row of any client.

Its first line names format, version and checksum; the checksum is that of everything after the first line.
"""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Mapping
from pathlib import Path
from typing import Any, Protocol, runtime_checkable

import numpy as np

from outcomes.errors import InputError, ModelFileError
from outcomes.predictive.lift import LiftPredictive
from outcomes.predictive.packed import pack, unpack

__all__ = ["FORMAT", "OPENING", "VERSION", "Fitted", "as_predictive", "load_model", "save_model"]

FORMAT = "outcomes-model"
OPENING = f'{{"format": "{FORMAT}"'
VERSION = 3
_AGAIN = "make it anew with `outcomes fit LOG --to MODEL`"


@runtime_checkable
class Fitted(Protocol):
    """An estimator after its fit."""

    @property
    def predictive_(self) -> LiftPredictive:
        """What it learned."""


def as_predictive(model: LiftPredictive | Fitted) -> LiftPredictive:
    """The distribution itself, or that of a fitted estimator.

    Parameters
    ----------
    model : LiftPredictive or fitted estimator

    Returns
    -------
    LiftPredictive

    Raises
    ------
    InputError
        Anything else, an estimator before `fit` included.
    """
    if isinstance(model, LiftPredictive):
        return model
    if isinstance(model, Fitted):
        return model.predictive_
    raise InputError(
        f"model: found {type(model).__name__} without a fit; expected a fitted LiftModel or what load_model "
        "returned; call fit first"
    )


def save_model(model: LiftPredictive | Fitted, path: str | os.PathLike[str]) -> None:
    """Write a model file; a file of that name is replaced only when the new one is whole.

    Parameters
    ----------
    model : LiftPredictive or fitted estimator
    path : str or path

    Raises
    ------
    InputError
        No fitted model; or the place can't be written to.
    """
    text = model_text(as_predictive(model))
    from outcomes.log.atomic import replacing  # answers from a saved model never write one

    with replacing(path) as unfinished, open(unfinished, "w", encoding="utf-8", newline="\n") as file:
        file.write(text)
        file.flush()
        os.fsync(file.fileno())


def model_text(lift: LiftPredictive) -> str:
    """The whole text of a model file; the same distribution always gives the same text.

    Parameters
    ----------
    lift : LiftPredictive

    Returns
    -------
    str
    """
    parts = [f'"summary": {json.dumps(_summary(lift), indent=2, ensure_ascii=False)},', '"lift": {']
    fields = [f'  "{key}": {_written(value, 1)}' for key, value in pack(lift).items()]
    body = "\n".join([*parts, ",\n".join(fields), "}}"]) + "\n"
    first = f'{OPENING}, "version": {VERSION}, "checksum": "{_checksum(body)}",\n'
    return first + body


def load_model(path: str | os.PathLike[str]) -> LiftPredictive:
    """Read a model file.

    Parameters
    ----------
    path : str or path

    Returns
    -------
    LiftPredictive

    Raises
    ------
    ModelFileError
        No such file, not a model file, cut short, changed, of a newer version, or a field that isn't as it
        should be. One line that says which, and what to do.
    """
    name = os.fspath(path)
    try:
        text = Path(path).read_text(encoding="utf-8")
    except (OSError, ValueError) as cause:
        reason = getattr(cause, "strerror", None) or "it isn't UTF-8 text"
        raise ModelFileError(f"{name}: can't be read as a model file ({reason}); {_AGAIN}") from cause
    try:
        stored = json.loads(text)
    except (ValueError, RecursionError) as cause:
        state = "it's empty" if not text.strip() else "it's damaged, cut short, or not JSON"
        raise ModelFileError(f"{name}: {state}; {_AGAIN}") from cause
    if not isinstance(stored, dict) or stored.get("format") != FORMAT:
        raise ModelFileError(f"{name}: it's JSON, but not a model file of outcomes; {_AGAIN}")
    version = stored.get("version")
    if not isinstance(version, int) or isinstance(version, bool) or version < 1:
        raise ModelFileError(f"{name}: found version {version!r}; expected 1 to {VERSION}; {_AGAIN}")
    if version > VERSION:
        raise ModelFileError(
            f"{name}: found version {version}, and this program reads up to {VERSION}; install a newer "
            f"outcomes, or {_AGAIN}"
        )
    if stored.get("checksum") != _checksum(text.partition("\n")[2]):
        raise ModelFileError(
            f"{name}: its content doesn't match its checksum, so it was changed or damaged; {_AGAIN}"
        )
    try:
        return unpack(stored.get("lift"))
    except ModelFileError as cause:
        raise ModelFileError(f"{name}: {cause}; {_AGAIN}") from cause


def _checksum(body: str) -> str:
    return "sha256:" + hashlib.sha256(body.encode()).hexdigest()


def _summary(lift: LiftPredictive) -> dict[str, Any]:
    """What a person who opens the file wants to know first."""
    basis, shape = lift.basis, lift.effects["shape"]
    return {
        "what": f"levels lifted in {lift.reference:g} minutes: what a fit learned, no visits",
        "rests_on": f"{basis.visits} visits of {basis.clients} clients by {basis.stylists} stylists",
        "shape": f"{shape['family']} {shape['value']:.3f} ({shape['low']:.3f} to {shape['high']:.3f})",
        "checked_out_of_sample": basis.calibrated,
        "draws": lift.n_draws,
        "notes": list(lift.notes),
    }


def _written(value: Any, depth: int) -> str:
    """JSON text: objects of objects on lines of their own, arrays of numbers short and on one line."""
    if isinstance(value, np.ndarray):
        if value.ndim > 1:
            return "[" + ",".join(_written(row, depth) for row in value) + "]"
        return "[" + ",".join(f"{number:.7g}" for number in value.tolist()) + "]"
    if isinstance(value, Mapping) and any(isinstance(part, (Mapping, np.ndarray)) for part in value.values()):
        pad = "  " * (depth + 1)
        lines = [f"{pad}{json.dumps(str(k))}: {_written(part, depth + 1)}" for k, part in value.items()]
        return "{\n" + ",\n".join(lines) + "\n" + "  " * depth + "}"
    return json.dumps(value, ensure_ascii=False, allow_nan=False)
