"""A distribution as plain JSON values, and back; every field is checked on the way in."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from outcomes.errors import InputError, ModelFileError
from outcomes.predictive.condition_chain import ConditionLosses
from outcomes.predictive.distribution import DRAWS, Basis, Predictive, Recalibration, Share
from outcomes.predictive.fade import FadePredictive, FollowUp
from outcomes.predictive.fields import Fields, as_count, as_counts, as_mapping, as_number, of_kind
from outcomes.predictive.hazard import ConditionHazard
from outcomes.predictive.lift import LiftPredictive
from outcomes.predictive.packed_visits import pack_losses, pack_times, unpack_losses, unpack_times
from outcomes.predictive.plans import HAIR
from outcomes.predictive.practice import LookGaps, Practice
from outcomes.predictive.support import Support
from outcomes.predictive.visit_times import VisitTimes
from outcomes.readings.design import Design

__all__ = ["pack_fade", "pack_lift", "rounded", "unpack_fade", "unpack_lift"]

_DIGITS = 7


# of fade a reading has one kind of error, and a start none
_FADE_DRAWS = tuple(name for name in DRAWS if name not in ("sd_look", "look_offset", "sd_start"))


def pack_lift(lift: LiftPredictive) -> dict[str, Any]:
    """All fields as dicts, lists, numbers and words; arrays stay arrays for the writer to format.

    Parameters
    ----------
    lift : LiftPredictive

    Returns
    -------
    dict
        Arrays are left as they are.
    """
    return {
        "family": lift.family,
        "reference_minutes": lift.reference,
        "step": lift.step,
        "top": lift.top,
        **_about(lift),
        "products": {"codes": list(lift.products), "visits": lift.product_visits.tolist()},
        "look_gaps": {
            "minutes": lift.look_gaps.minutes,
            "share": lift.look_gaps.share,
            "by_stylist": lift.look_gaps.by_stylist,
            "assumed": lift.look_gaps.assumed,
        },
        "practice": {"reread": lift.practice.reread, "unseen": lift.practice.unseen},
        "covariates": _packed_shares(lift.covariates),
        "later_hair": {hair: dict(shares) for hair, shares in lift.later_hair.items()},
        "hazard": {
            "coefficients": lift.hazard.coefficients,
            "drop_first": lift.hazard.drop_first,
            "drop_later": lift.hazard.drop_later,
            "stops": lift.hazard.stops,
            "visits": lift.hazard.visits,
        },
        "visit_times": pack_times(lift.visit_times),
        "condition_losses": pack_losses(lift.condition_losses),
        "support": _packed_support(lift.support),
        "draws": {name: lift.draws[name] for name in (*DRAWS, "stylist", "product", "coefficients")},
    }


def pack_fade(fade: FadePredictive) -> dict[str, Any]:
    """One measure of fade, as `pack_lift` does it.

    Parameters
    ----------
    fade : FadePredictive

    Returns
    -------
    dict
    """
    return {
        "measure": fade.measure,
        "family": fade.family,
        "reference_washes": fade.reference,
        **_about(fade),
        "shades": {"codes": list(fade.products), "visits": fade.product_visits.tolist()},
        "covariates": _packed_shares(fade.covariates),
        "follow_up": {
            column: {word: [one.applied, one.read, one.visits] for word, one in of.items()}
            for column, of in fade.follow_up.items()
        },
        "support": _packed_support(fade.support),
        "estimates": fade.estimates,
        "covariance": fade.covariance,
        "draws": {name: fade.draws[name] for name in (*_FADE_DRAWS, "stylist", "product", "coefficients")},
    }


def _about(of: Predictive) -> dict[str, Any]:
    return {
        "basis": vars(of.basis).copy(),
        "notes": list(of.notes),
        "effects": dict(of.effects),
        "recalibration": vars(of.recalibration).copy(),
        "audit": dict(of.audit),
        "design": of.design.to_dict(),
        "stylists": {"codes": list(of.stylists), "visits": of.stylist_visits.tolist()},
    }


def _packed_support(support: Support) -> dict[str, Any]:
    return {
        "numbers": {column: list(ends) for column, ends in support.numbers.items()},
        "categories": {column: dict(counts) for column, counts in support.categories.items()},
        "sessions": {str(number): count for number, count in support.sessions.items()},
    }


def _packed_shares(covariates: Mapping[str, Mapping[str, tuple[Share, ...]]]) -> dict[str, Any]:
    return {
        group: {column: [[value, rounded(share)] for value, share in shares] for column, shares in of.items()}
        for group, of in covariates.items()
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


def unpack_lift(stored: Any) -> LiftPredictive:
    """The distribution that `pack_lift` took apart.

    Parameters
    ----------
    stored : object
        What JSON gives back of the values of `pack_lift`.

    Returns
    -------
    LiftPredictive

    Raises
    ------
    ModelFileError
        A field that's missing, of another type, or whose shape doesn't fit the others; names it.
    """
    top = Fields(stored, "lift")
    gaps, hazard = top.fields("look_gaps"), top.fields("hazard")
    products, draws = top.fields("products"), top.fields("draws")
    family = top.word("family")
    arrays = {name: draws.array(name, 1) for name in DRAWS if name != "saturating" or draws.has(name)}
    # files of version 1 know one shape only, and no scale of its own for later visits; neither they nor those
    # of version 2 say how stylists write results; those before version 5 tell of no chair time or condition
    arrays.setdefault("saturating", np.full(len(arrays["shape"]), float(family == "saturating")))
    arrays |= {name: draws.array(name, 2) for name in ("coefficients", "stylist", "product")}
    try:
        return LiftPredictive(
            **_shared(top),
            draws=arrays,
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
            **_visits(top),
            practice=_practice(top.fields("practice")) if top.has("practice") else Practice(),
            reference=top.number("reference_minutes"),
            step=top.number("step"),
            top=top.number("top"),
        )
    except InputError as cause:
        raise ModelFileError(f"field {cause}") from cause


def unpack_fade(stored: Any, measure: str) -> FadePredictive:
    """The distribution that `pack_fade` took apart.

    Parameters
    ----------
    stored : object
        What JSON gives back of the values of `pack_fade`.
    measure : str
        Under which it stood.

    Returns
    -------
    FadePredictive

    Raises
    ------
    ModelFileError
        As `unpack_lift`.
    """
    top = Fields(stored, f"fade.{measure}")
    shades, draws = top.fields("shades"), top.fields("draws")
    arrays = {name: draws.array(name, 1) for name in _FADE_DRAWS}
    nothing = np.zeros(len(arrays["shape"]))
    arrays |= {"sd_look": arrays["sd_result"], "look_offset": nothing, "sd_start": nothing}
    arrays |= {name: draws.array(name, 2) for name in ("coefficients", "stylist", "product")}
    try:
        return FadePredictive(
            **_shared(top),
            measure=top.word("measure"),
            draws=arrays,
            products=shades.words("codes"),
            product_visits=shades.array("visits", 1).astype(np.int64),
            covariates=top.read("covariates", _covariates),
            follow_up=top.read("follow_up", _follow_up),
            estimates=top.array("estimates", 1),
            covariance=top.array("covariance", 2),
            reference=top.number("reference_washes"),
        )
    except InputError as cause:
        raise ModelFileError(f"field fade.{measure}.{cause}") from cause


def _shared(top: Fields) -> dict[str, Any]:
    """What every distribution has, draws and products apart."""
    basis, recalibration = top.fields("basis"), top.fields("recalibration")
    support, stylists = top.fields("support"), top.fields("stylists")
    return {
        "family": top.word("family"),
        "design": Design.from_dict(top.mapping("design")),
        "stylists": stylists.words("codes"),
        "stylist_visits": stylists.array("visits", 1).astype(np.int64),
        "support": Support(
            support.read("numbers", lambda found: {str(c): _four(ends) for c, ends in found.items()}),
            support.read("categories", lambda found: {str(c): as_counts(of) for c, of in found.items()}),
            support.read("sessions", lambda found: {int(k): v for k, v in as_counts(found).items()}),
        ),
        "basis": Basis(
            basis.count("visits"),
            basis.count("clients"),
            basis.count("stylists"),
            basis.flag("calibrated"),
            basis.flag("starter"),
            basis.word("until") if basis.has("until") else "",  # files of before the team's review don't say
        ),
        "effects": top.read("effects", _effects),
        "notes": top.words("notes"),
        "recalibration": Recalibration(
            recalibration.number("spread"),
            recalibration.number("reading"),
            recalibration.number_or_none("df"),
            recalibration.number("later") if recalibration.has("later") else 1.0,
        ),
        "audit": top.read("audit", _audit) if top.has("audit") else {},
    }


def _follow_up(found: Any) -> dict[str, dict[str, FollowUp]]:
    return {
        column: {
            word: FollowUp(*(as_count(number) for number in of_kind(numbers, list)))
            for word, numbers in as_mapping(of).items()
        }
        for column, of in as_mapping(found).items()
    }


def _visits(top: Fields) -> dict[str, Any]:
    times, losses = "visit_times", "condition_losses"
    return {
        times: unpack_times(top.fields(times)) if top.has(times) else VisitTimes(),
        losses: unpack_losses(top.fields(losses)) if top.has(losses) else ConditionLosses(),
    }


def _practice(stored: Fields) -> Practice:
    return Practice(stored.array("reread", 1), stored.array("unseen", 1))


def _four(found: Any) -> tuple[float, float, float, float]:
    low, first, last, high = (as_number(value) for value in of_kind(found, list))
    return low, first, last, high


def _share(found: Any) -> Share:
    value, share = of_kind(found, list)
    return (value if value is None or isinstance(value, str) else as_number(value)), as_number(share)


def _covariates(found: Any) -> dict[str, dict[str, tuple[Share, ...]]]:
    return {
        hair: {
            column: tuple(_share(pair) for pair in of_kind(pairs, list))
            for column, pairs in as_mapping(of).items()
        }
        for hair, of in as_mapping(found).items()
    }


def _later_hair(found: Any) -> dict[str, dict[str, float]]:
    shares = {hair: {word: as_number(s) for word, s in of.items()} for hair, of in as_mapping(found).items()}
    if not {word for of in shares.values() for word in of} <= set(HAIR):
        raise ValueError(f"expected hair to be one of {', '.join(HAIR)}")
    return shares


def _audit(found: Any) -> dict[str, Any]:
    audit = dict(as_mapping(found))
    if audit:
        for table in (
            "coverage",
            "flags",
            *(name for name in ("reach", "sessions", "scores") if name in audit),
        ):
            for row in of_kind(audit[table], list):
                as_mapping(row)
        for part in ("heights", "by_chance", "recalibration"):
            as_mapping(audit[part])
        for name, bars in audit["by_chance"].items():
            # files of version 2 have one pair for all bars, by a rule that was too generous
            old = any(not isinstance(ends, list) for ends in of_kind(bars, list))
            audit["by_chance"] = audit["by_chance"] | {name: [] if old else bars}
        of_kind(audit["notes"], list)
    return audit


def _effects(found: Any) -> dict[str, Any]:
    effects = dict(as_mapping(found))
    shape = as_mapping(effects["shape"])
    for number in (shape["value"], shape["low"], shape["high"], effects["coverage"]):
        as_number(number)
    for term in of_kind(effects["terms"], list):
        of_kind(term["term"], str)
        for number in (term["ratio"] if "ratio" in term else term["value"], term["low"], term["high"]):
            as_number(number)
    as_mapping(effects["sd"])
    return effects
