"""The model file: one JSON text that a person can read, without a row of any client.

Its first line names format, version and checksum; the checksum is that of everything after the first line.
"""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Protocol, runtime_checkable

import numpy as np

from outcomes.errors import InputError, ModelFileError
from outcomes.predictive.distribution import Predictive
from outcomes.predictive.fade import FadePredictive
from outcomes.predictive.fields import Fields
from outcomes.predictive.lift import LiftPredictive
from outcomes.predictive.packed import pack_fade, pack_lift, unpack_fade, unpack_lift

__all__ = [
    "FORMAT",
    "OPENING",
    "VERSION",
    "Fitted",
    "SalonModel",
    "as_fade",
    "as_predictive",
    "load_model",
    "save_model",
]

FORMAT = "outcomes-model"
OPENING = f'{{"format": "{FORMAT}"'
VERSION = 5
_AGAIN = "make it anew with `outcomes fit LOG --to MODEL`"


@dataclass(frozen=True, eq=False)
class SalonModel:
    """What a model file holds: lift, and every measure of fade that the log told of.

    Attributes
    ----------
    lift : LiftPredictive
    fade : mapping of measure to FadePredictive
    left_out : mapping of measure to str
        Why the others weren't fitted.
    """

    lift: LiftPredictive
    fade: Mapping[str, FadePredictive] = field(default_factory=dict)
    left_out: Mapping[str, str] = field(default_factory=dict)


@runtime_checkable
class Fitted(Protocol):
    """An estimator after its fit."""

    @property
    def predictive_(self) -> Predictive:
        """What it learned."""


def as_predictive(model: SalonModel | LiftPredictive | Fitted) -> LiftPredictive:
    """The distribution of lift: itself, a model file's, or that of a fitted estimator.

    Parameters
    ----------
    model : SalonModel, LiftPredictive or fitted estimator

    Returns
    -------
    LiftPredictive

    Raises
    ------
    InputError
        Anything else, an estimator before `fit` included.
    """
    if isinstance(model, SalonModel):
        return model.lift
    if isinstance(model, LiftPredictive):
        return model
    if isinstance(model, Fitted) and isinstance(model.predictive_, LiftPredictive):
        return model.predictive_
    raise InputError(
        f"model: found {type(model).__name__} without a fit; expected a fitted LiftModel or what load_model "
        "returned; call fit first"
    )


def as_fade(model: SalonModel | FadePredictive | Fitted, measure: str) -> FadePredictive:
    """The distribution of fade by one measure: itself, a model file's, or that of a fitted estimator.

    Parameters
    ----------
    model : SalonModel, FadePredictive or fitted estimator
    measure : {"level", "tone_left", "delta_e"}

    Returns
    -------
    FadePredictive

    Raises
    ------
    InputError
        A model without fade by that measure, with the reason; anything else that isn't fitted.
    """
    if isinstance(model, SalonModel):
        if measure not in model.fade:
            why = model.left_out.get(measure, "it was made without fade")
            raise InputError(
                f"this model says nothing of fade by {measure}: {why}; fit a log with readings after washes"
            )
        return model.fade[measure]
    found = model.predictive_ if isinstance(model, Fitted) else model
    if not isinstance(found, FadePredictive):
        raise InputError(
            f"model: found {type(model).__name__}; expected a fitted FadeModel or what load_model returned; "
            "call fit first"
        )
    if found.measure != measure:
        raise InputError(
            f"model: found fade by {found.measure}; expected by {measure}; fit FadeModel({measure!r})"
        )
    return found


def save_model(model: SalonModel | LiftPredictive | Fitted, path: str | os.PathLike[str]) -> None:
    """Write a model file; a file of that name is replaced only when the new one is whole.

    Parameters
    ----------
    model : SalonModel, LiftPredictive or fitted LiftModel
    path : str or path

    Raises
    ------
    InputError
        No fitted model; or the place can't be written to.
    """
    text = model_text(model if isinstance(model, SalonModel) else SalonModel(as_predictive(model)))
    from outcomes.log.atomic import replacing  # answers from a saved model never write one

    with replacing(path) as unfinished, open(unfinished, "w", encoding="utf-8", newline="\n") as file:
        file.write(text)
        file.flush()
        os.fsync(file.fileno())


def model_text(model: SalonModel) -> str:
    """The whole text of a model file; the same model always gives the same text.

    Parameters
    ----------
    model : SalonModel

    Returns
    -------
    str
    """
    summary = json.dumps(_summary(model), indent=2, ensure_ascii=False)
    parts = [f'"summary": {summary}', f'"lift": {_object(pack_lift(model.lift), 1)}']
    fade = [f'  "{name}": {_object(pack_fade(one), 2)}' for name, one in model.fade.items()]
    parts.append('"fade": {\n' + ",\n".join(fade) + "\n}" if fade else '"fade": {}')
    parts.append(f'"fade_left_out": {json.dumps(dict(model.left_out), ensure_ascii=False)}')
    body = ",\n".join(parts) + "}\n"
    first = f'{OPENING}, "version": {VERSION}, "checksum": "{_checksum(body)}",\n'
    return first + body


def load_model(path: str | os.PathLike[str]) -> SalonModel:
    """Read a model file.

    Parameters
    ----------
    path : str or path

    Returns
    -------
    SalonModel

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
        lift = unpack_lift(stored.get("lift"))
        if version < 4:  # made before fade was fitted
            return SalonModel(lift)
        top = Fields({name: stored.get(name) for name in ("fade", "fade_left_out")}, "model")
        fade = {str(key): unpack_fade(found, str(key)) for key, found in top.mapping("fade").items()}
        return SalonModel(lift, fade, {str(k): str(why) for k, why in top.mapping("fade_left_out").items()})
    except ModelFileError as cause:
        raise ModelFileError(f"{name}: {cause}; {_AGAIN}") from cause


def _checksum(body: str) -> str:
    return "sha256:" + hashlib.sha256(body.encode()).hexdigest()


def _summary(model: SalonModel) -> dict[str, Any]:
    """What a person who opens the file wants to know first."""
    lift = model.lift
    return {
        "what": f"levels lifted in {lift.reference:g} minutes: what a fit learned, no visits",
        **_rests_on(lift),
        "fade": {measure: _rests_on(one) for measure, one in model.fade.items()},
        "notes": list(lift.notes),
    }


def _rests_on(of: Predictive) -> dict[str, Any]:
    basis, shape = of.basis, of.effects["shape"]
    return {
        "rests_on": f"{basis.visits} visits of {basis.clients} clients by {basis.stylists} stylists",
        "shape": f"{shape['family']} {shape['value']:.3f} ({shape['low']:.3f} to {shape['high']:.3f})",
        "checked_out_of_sample": basis.calibrated,
        "draws": of.n_draws,
    }


def _object(fields: Mapping[str, Any], depth: int) -> str:
    """An object, a line for each field."""
    pad = "  " * depth
    lines = [f'{pad}"{key}": {_written(value, depth)}' for key, value in fields.items()]
    return "{\n" + ",\n".join(lines) + "}"


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
