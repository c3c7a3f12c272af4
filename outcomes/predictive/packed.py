"""A lift distribution as plain JSON values, and back; every field is checked on the way in."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from typing import Any, TypeVar

import numpy as np
import numpy.typing as npt

from outcomes.errors import InputError, ModelFileError
from outcomes.predictive.distribution import DRAWS, Basis, Recalibration, Share
from outcomes.predictive.hazard import ConditionHazard
from outcomes.predictive.lift import LiftPredictive
from outcomes.predictive.plans import HAIR
from outcomes.predictive.practice import LookGaps, Practice
from outcomes.predictive.support import Support
from outcomes.readings.design import Design

__all__ = ["pack", "unpack"]

T = TypeVar("T")
_DIGITS = 7


def pack(lift: LiftPredictive) -> dict[str, Any]:
    """All fields as dicts, lists, numbers and words; arrays stay arrays for the writer to format.

    Parameters
    ----------
    lift : LiftPredictive

    Returns
    -------
    dict
        Arrays are left as they are.
    """
    support = lift.support
    return {
        "family": lift.family,
        "reference_minutes": lift.reference,
        "step": lift.step,
        "top": lift.top,
        "basis": vars(lift.basis).copy(),
        "notes": list(lift.notes),
        "effects": dict(lift.effects),
        "recalibration": vars(lift.recalibration).copy(),
        "audit": dict(lift.audit),
        "design": lift.design.to_dict(),
        "stylists": {"codes": list(lift.stylists), "visits": lift.stylist_visits.tolist()},
        "products": {"codes": list(lift.products), "visits": lift.product_visits.tolist()},
        "look_gaps": {
            "minutes": lift.look_gaps.minutes,
            "share": lift.look_gaps.share,
            "by_stylist": lift.look_gaps.by_stylist,
            "assumed": lift.look_gaps.assumed,
        },
        "practice": {"reread": lift.practice.reread, "unseen": lift.practice.unseen},
        "covariates": {
            hair: {
                column: [[value, rounded(share)] for value, share in shares] for column, shares in of.items()
            }
            for hair, of in lift.covariates.items()
        },
        "later_hair": {hair: dict(shares) for hair, shares in lift.later_hair.items()},
        "hazard": {
            "coefficients": lift.hazard.coefficients,
            "drop_first": lift.hazard.drop_first,
            "drop_later": lift.hazard.drop_later,
            "stops": lift.hazard.stops,
            "visits": lift.hazard.visits,
        },
        "support": {
            "numbers": {column: list(ends) for column, ends in support.numbers.items()},
            "categories": {column: dict(counts) for column, counts in support.categories.items()},
            "sessions": {str(number): count for number, count in support.sessions.items()},
        },
        "draws": {name: lift.draws[name] for name in (*DRAWS, "stylist", "product", "coefficients")},
    }


def rounded(value: float) -> float:
    """To as many digits as a model file keeps.

    Parameters
    ----------
    value : float

    Returns
    -------
    float
    """
    return float(f"{value:.{_DIGITS}g}")


def unpack(stored: Any) -> LiftPredictive:
    """The distribution that `pack` took apart.

    Parameters
    ----------
    stored : object
        What JSON gives back of the values of `pack`.

    Returns
    -------
    LiftPredictive

    Raises
    ------
    ModelFileError
        A field that's missing, of another type, or whose shape doesn't fit the others; names it.
    """
    top = _Fields(stored, "lift")
    gaps, hazard, support = top.fields("look_gaps"), top.fields("hazard"), top.fields("support")
    stylists, products, draws = top.fields("stylists"), top.fields("products"), top.fields("draws")
    family = top.word("family")
    arrays = {name: draws.array(name, 1) for name in DRAWS if name != "saturating" or draws.has(name)}
    # files of version 1 know one shape only, and no scale of its own for later visits; neither they nor those
    # of version 2 say how stylists write results
    arrays.setdefault("saturating", np.full(len(arrays["shape"]), float(family == "saturating")))
    arrays |= {name: draws.array(name, 2) for name in ("coefficients", "stylist", "product")}
    basis, recalibration = top.fields("basis"), top.fields("recalibration")
    try:
        return LiftPredictive(
            family=family,
            design=Design.from_dict(top.mapping("design")),
            draws=arrays,
            stylists=stylists.words("codes"),
            stylist_visits=stylists.array("visits", 1).astype(np.int64),
            products=products.words("codes"),
            product_visits=products.array("visits", 1).astype(np.int64),
            look_gaps=LookGaps(
                gaps.array("minutes", 1),
                gaps.array("share", 1),
                gaps.array("by_stylist", 2),
                gaps.flag("assumed"),
            ),
            covariates=top.read("covariates", _covariates),
            later_hair=top.read("later_hair", _later_hair),
            hazard=ConditionHazard(
                hazard.array("coefficients", 1),
                hazard.number_or_none("drop_first"),
                hazard.number_or_none("drop_later"),
                hazard.count("stops"),
                hazard.count("visits"),
            ),
            support=Support(
                support.read("numbers", lambda found: {str(c): _four(ends) for c, ends in found.items()}),
                support.read("categories", lambda found: {str(c): _counts(of) for c, of in found.items()}),
                support.read("sessions", lambda found: {int(k): v for k, v in _counts(found).items()}),
            ),
            basis=Basis(
                basis.count("visits"),
                basis.count("clients"),
                basis.count("stylists"),
                basis.flag("calibrated"),
                basis.flag("starter"),
            ),
            effects=top.read("effects", _effects),
            notes=top.words("notes"),
            practice=_practice(top.fields("practice")) if top.has("practice") else Practice(),
            recalibration=Recalibration(
                recalibration.number("spread"),
                recalibration.number("reading"),
                recalibration.number_or_none("df"),
                recalibration.number("later") if recalibration.has("later") else 1.0,
            ),
            audit=top.read("audit", _audit) if top.has("audit") else {},
            reference=top.number("reference_minutes"),
            step=top.number("step"),
            top=top.number("top"),
        )
    except InputError as cause:
        raise ModelFileError(f"field {cause}") from cause


def _practice(stored: _Fields) -> Practice:
    return Practice(stored.array("reread", 1), stored.array("unseen", 1))


class _Fields:
    """The fields of one JSON object, read by type."""

    def __init__(self, stored: Any, name: str) -> None:
        if not isinstance(stored, dict):
            raise ModelFileError(f"field {name}: found {type(stored).__name__}; expected an object")
        self._stored, self._name = stored, name

    def read(self, key: str, reader: Callable[[Any], T]) -> T:
        """One field through its reader, whose complaint names the field."""
        if key not in self._stored:
            raise ModelFileError(f"field {self._name}.{key} is missing")
        try:
            return reader(self._stored[key])
        except (TypeError, ValueError, KeyError, AttributeError, OverflowError) as cause:
            raise ModelFileError(f"field {self._name}.{key}: {cause}") from cause

    def has(self, key: str) -> bool:
        return key in self._stored

    def fields(self, key: str) -> _Fields:
        return self.read(key, lambda found: _Fields(found, f"{self._name}.{key}"))

    def mapping(self, key: str) -> Mapping[str, Any]:
        return self.read(key, _mapping)

    def array(self, key: str, dimensions: int) -> npt.NDArray[np.float64]:
        return self.read(key, lambda found: _array(found, dimensions))

    def number(self, key: str) -> float:
        return self.read(key, _number)

    def number_or_none(self, key: str) -> float | None:
        return self.read(key, lambda found: None if found is None else _number(found))

    def count(self, key: str) -> int:
        return self.read(key, _count)

    def flag(self, key: str) -> bool:
        return self.read(key, lambda found: _is(found, bool))

    def word(self, key: str) -> str:
        return self.read(key, lambda found: _is(found, str))

    def words(self, key: str) -> tuple[str, ...]:
        return self.read(key, lambda found: tuple(_is(word, str) for word in _is(found, list)))


def _is(found: Any, kind: type[T]) -> T:
    if not isinstance(found, kind):
        raise TypeError(f"found {type(found).__name__}; expected {kind.__name__}")
    return found


def _mapping(found: Any) -> Mapping[str, Any]:
    return _is(found, dict)


def _number(found: Any) -> float:
    if isinstance(found, bool) or not isinstance(found, (int, float)) or not math.isfinite(found):
        raise TypeError(f"found {found!r}; expected a finite number")
    return float(found)


def _count(found: Any) -> int:
    number = _number(found)
    if number < 0 or number != int(number):
        raise ValueError(f"found {found!r}; expected a count")
    return int(number)


def _counts(found: Any) -> dict[str, int]:
    return {key: _count(value) for key, value in _mapping(found).items()}


def _array(found: Any, dimensions: int) -> npt.NDArray[np.float64]:
    values = np.asarray(_is(found, list))
    if not values.size:
        # An empty second axis is written as rows of nothing.
        values = np.zeros(
            values.shape if values.ndim == dimensions else (len(found),) + (0,) * (dimensions - 1)
        )
    if values.dtype.kind not in "if" or values.ndim != dimensions:
        raise TypeError(f"expected numbers in {dimensions} dimension{'s' * (dimensions > 1)}")
    return values.astype(np.float64)


def _four(found: Any) -> tuple[float, float, float, float]:
    low, first, last, high = (_number(value) for value in _is(found, list))
    return low, first, last, high


def _share(found: Any) -> Share:
    value, share = _is(found, list)
    return (value if value is None or isinstance(value, str) else _number(value)), _number(share)


def _covariates(found: Any) -> dict[str, dict[str, tuple[Share, ...]]]:
    return {
        hair: {
            column: tuple(_share(pair) for pair in _is(pairs, list)) for column, pairs in _mapping(of).items()
        }
        for hair, of in _mapping(found).items()
    }


def _later_hair(found: Any) -> dict[str, dict[str, float]]:
    shares = {hair: {word: _number(s) for word, s in of.items()} for hair, of in _mapping(found).items()}
    if not {word for of in shares.values() for word in of} <= set(HAIR):
        raise ValueError(f"expected hair to be one of {', '.join(HAIR)}")
    return shares


def _audit(found: Any) -> dict[str, Any]:
    audit = dict(_mapping(found))
    if audit:
        for table in ("coverage", "reach", "sessions", "scores", "flags"):
            for row in _is(audit[table], list):
                _mapping(row)
        for part in ("heights", "by_chance", "recalibration"):
            _mapping(audit[part])
        for name, bars in audit["by_chance"].items():
            # files of version 2 have one pair for all bars, by a rule that was too generous
            old = any(not isinstance(ends, list) for ends in _is(bars, list))
            audit["by_chance"] = audit["by_chance"] | {name: [] if old else bars}
        _is(audit["notes"], list)
    return audit


def _effects(found: Any) -> dict[str, Any]:
    effects = dict(_mapping(found))
    shape = _mapping(effects["shape"])
    for number in (shape["value"], shape["low"], shape["high"], effects["coverage"]):
        _number(number)
    for term in _is(effects["terms"], list):
        _is(term["term"], str)
        for number in (term["ratio"] if "ratio" in term else term["value"], term["low"], term["high"]):
            _number(number)
    _mapping(effects["sd"])
    return effects
