"""What the page carries of lift: draws, encoded rows by which they are looked up, how sessions are worked."""

from __future__ import annotations

import math
from typing import Any

from outcomes.answers.condition import FLOOR_LEFT_OUT, INDEPENDENT, LONGEST, NO_PAUSES
from outcomes.answers.sessions import averaged_over
from outcomes.predictive.condition_chain import CLIENTS, ConditionLosses
from outcomes.predictive.lift import LiftPredictive
from outcomes.predictive.plans import HAIR, HEAT, stand_in
from outcomes.predictive.rates import encoded_values
from outcomes.predictive.visit_times import VisitTimes
from outcomes.show.page.arrays import PackedArrays

__all__ = ["lift_meta"]

_DRAWS = (
    *("shape", "saturating", "sd_client", "sd_stylist", "sd_visit", "sd_result", "sd_look"),
    *("look_offset", "sd_start", "coefficients"),
)
_BY_CODE = ("stylist", "product")
_DIGITS = 7  # as model files have them: draws choose a known client's courses, and near them chooses others
_OTHERS = ("base", "later", "start_level", "hair", "heat", "peroxide_pct")


def lift_meta(lift: LiftPredictive, arrays: PackedArrays, *, coarse: bool) -> dict[str, Any]:
    """JSON values; draws are added to `arrays` under "lift.".

    Parameters
    ----------
    lift : LiftPredictive
    arrays : PackedArrays
    coarse : bool
        Whether effects of single stylists and products are kept in fewer bits.

    Returns
    -------
    dict
    """
    rows = _rows(lift)
    for name in (*_DRAWS, *_BY_CODE):
        arrays.add(f"lift.{name}", lift.draws[name], coarse=coarse and name in _BY_CODE, digits=_DIGITS)
    return {
        "step": lift.step,
        "top": lift.top,
        "rows": rows,
        "covariate_columns": [column for column in rows if column not in _OTHERS],
        "unnamed_products": max(lift.basis.visits - int(lift.product_visits.sum()), 0),
        "covariates": _shares(lift),
        "averaged": {hair: averaged_over(lift, hair) for hair in HAIR},
        "stand_ins": {
            column: {word: stand_in(lift.design, column, word) for word in words}
            for column, words in (("hair", HAIR), ("heat", HEAT))
        },
        "later_hair": {hair: dict(shares) for hair, shares in lift.later_hair.items()},
        "hazard": {
            "coefficients": lift.hazard.coefficients.tolist(),
            "drops": [lift.hazard.drop_first, lift.hazard.drop_later],
        },
        "gaps": {
            "minutes": lift.look_gaps.minutes.tolist(),
            "share": lift.look_gaps.share.tolist(),
            "by_stylist": lift.look_gaps.by_stylist.tolist(),
        },
        "times": _times(lift.visit_times),
        "losses": _losses(lift.condition_losses),
        "reread": lift.practice.reread.tolist(),
        "unseen": lift.practice.unseen.tolist(),
    }


def _times(times: VisitTimes) -> dict[str, Any]:
    """Chair minutes besides processing, and pauses, as shares on their grids."""
    tallies = {
        "besides_first": times.first,
        "besides_later": times.later,
        "last": times.last,
        "weeks": times.weeks,
    }
    return {
        "together": times.together,
        **{
            name: {"step": of.step, "shares": of.shares.tolist(), "count": of.count}
            for name, of in tallies.items()
        },
    }


def _losses(losses: ConditionLosses) -> dict[str, Any]:
    """What sessions take off strand condition; nodes and weights of clients beside it."""
    nodes, weights = CLIENTS
    return {
        "coefficients": losses.coefficients.tolist(),
        "sd_client": losses.sd_client,
        "sd_session": losses.sd_session,
        "recovery": losses.recovery.tolist(),
        "visits": losses.visits,
        "pauses": losses.pauses,
        "nodes": nodes.tolist(),
        "weights": weights.tolist(),
        "notes": [FLOOR_LEFT_OUT, INDEPENDENT, LONGEST, NO_PAUSES],
    }


def _rows(lift: LiftPredictive) -> dict[str, Any]:
    """The reference's row, and what each value adds to it; of strength, what a factor e adds."""
    asked, encoded = encoded_values(lift, (6.0 * math.e,))
    base, added = encoded[0], encoded - encoded[0]
    rows: dict[str, Any] = {"base": base.tolist(), "later": added[1].tolist()}
    at = 2
    for column, values in asked.items():
        rows[column] = added[at : at + len(values)].tolist()
        at += len(values)
    return rows


def _shares(lift: LiftPredictive) -> dict[str, Any]:
    """By hair and covariate: places among the covariate's rows, and their shares."""
    asked, _ = encoded_values(lift, ())
    return {
        hair: {
            column: {
                "rows": [asked[column].index(value) for value, _ in listed],
                "share": [share for _, share in listed],
            }
            for column, listed in shares.items()
            if column in asked
        }
        for hair, shares in lift.covariates.items()
    }
