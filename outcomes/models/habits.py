"""How each stylist writes the result of a visit that was stopped at the goal.

Either the result *is* the look that stopped the visit, or it was read anew after the rinse; and some
write the goal whatever they see. Which it is changes what a row says, so it is decided for each stylist
by the log-likelihoods of the readings under either, with a margin that one slip doesn't overturn.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from outcomes.engine import MixedFit, log_by_category
from outcomes.models.arrange import arrange_lift
from outcomes.readings.design import Design
from outcomes.readings.lift import Looked, lift_readings

__all__ = ["Habits", "by_visit", "decide_habits"]

FloatArray = npt.NDArray[np.float64]

# Chance that somebody who copies the look writes down something else; common practice, no source.
_SLIP = 0.02
_MARGIN = 3.0  # log-likelihood by which a habit other than the plain one must win


@dataclass(frozen=True, eq=False)
class Habits:
    """Decided habits.

    Attributes
    ----------
    reread, heaped : dict of stylist to bool
    frame : DataFrame
        `stylist`, `visits` (stopped at the goal), `reread`, `reread_margin` (log-likelihood of read anew
        minus that of copied), `heaped`, `heaped_margin`, `heaped_share` (of results written as the goal
        unseen).
    notes : tuple of str
    """

    reread: dict[str, bool]
    heaped: dict[str, bool]
    frame: pd.DataFrame
    notes: tuple[str, ...]


def decide_habits(
    looked: Looked, design: Design, fit: MixedFit, refit: Callable[[dict[str, bool]], MixedFit]
) -> Habits:
    """Decide how each stylist writes results.

    Parameters
    ----------
    looked : Looked
        Visits and looks of the log.
    design : Design
    fit : MixedFit
        Of the readings that hold under all habits: the results of visits stopped at the goal left out.
    refit : function of {stylist: whether results are read anew} to MixedFit
        Of all readings, nobody writing the goal unseen. Writing the goal must be likelier under this fit too:
        where no looks are written down, `fit` alone puts the error of a look too high.

    Returns
    -------
    Habits
        The plain ones where there is nothing to compare: a single visit.
    """
    visits = looked.visits
    if "visit" not in fit.group_sd:
        return Habits({}, {}, _frame([]), ())
    target = (visits["stop"] == "target").to_numpy(dtype=bool)
    reached = (visits["achieved_level"] >= visits["goal_level"]).to_numpy(dtype=bool)
    whose = visits["stylist"].to_numpy(dtype=object)
    stylists = sorted(visits["stylist"].unique())
    own = {stylist: target & (whose == stylist) for stylist in stylists}
    copied = by_visit(looked, design, fit, {}, {})
    anew = by_visit(looked, design, fit, dict.fromkeys(stylists, True), {})
    as_copied = copied + np.where(reached, np.log(1.0 - _SLIP), np.log(_SLIP))
    reread_margin = {stylist: float((anew - as_copied)[own[stylist]].sum()) for stylist in stylists}
    reread = {stylist: margin > _MARGIN for stylist, margin in reread_margin.items()}
    heaped = _heaped_margins(looked, design, fit, reread, own)
    # among many stylists one will look odd by chance
    least = _MARGIN + float(np.log(len(stylists)))
    if any(margin > least for margin, _ in heaped.values()):
        again = _heaped_margins(looked, design, refit(reread), reread, own)
        heaped = {stylist: min(heaped[stylist], again[stylist]) for stylist in stylists}
    frame = _frame(
        [
            (
                *(stylist, int(own[stylist].sum()), reread[stylist], reread_margin[stylist]),
                *(heaped[stylist][0] > least, *heaped[stylist]),
            )
            for stylist in stylists
        ]
    )
    return Habits(
        reread=reread,
        heaped=dict(zip(frame["stylist"], frame["heaped"], strict=True)),
        frame=frame,
        notes=_notes(frame),
    )


def _heaped_margins(
    looked: Looked,
    design: Design,
    fit: MixedFit,
    reread: dict[str, bool],
    own: dict[str, npt.NDArray[np.bool_]],
) -> dict[str, tuple[float, float]]:
    """For each stylist margin and share of results written as the goal unseen."""
    visits = looked.visits
    equal = (visits["achieved_level"] == visits["goal_level"]).to_numpy(dtype=bool)
    plain = by_visit(looked, design, fit, reread, {})
    at_goal = by_visit(looked, design, fit, {}, dict.fromkeys(own, True))
    return {stylist: _heaped(plain[rows], at_goal[rows], equal[rows]) for stylist, rows in own.items()}


def _frame(rows: list[tuple[object, ...]]) -> pd.DataFrame:
    columns = ["stylist", "visits", "reread", "reread_margin", "heaped", "heaped_margin", "heaped_share"]
    return pd.DataFrame(rows, columns=columns)


def by_visit(
    looked: Looked, design: Design, fit: MixedFit, reread: dict[str, bool], heaped: dict[str, bool]
) -> FloatArray:
    """Log-likelihood of each visit's readings under a habit.

    Parameters
    ----------
    looked : Looked
    design : Design
    fit : MixedFit
    reread, heaped : dict of stylist to bool
        As in `lift_readings`.

    Returns
    -------
    ndarray (visits,)
    """
    readings = lift_readings(looked, reread=reread, heaped=heaped, copied_kind="look")
    arranged = arrange_lift(readings, design)
    # starts and linked results are the same under every habit, so they are taken as they stand
    lower, upper, kind = arranged.lower.copy(), arranged.upper.copy(), arranged.kind.copy()
    linked = readings.linked_result
    lower[linked] -= 0.25
    upper[linked] += 0.25
    kind[linked] = "result"
    known = fit.reading_sd if isinstance(fit.reading_sd, Mapping) else {}
    # a log of target stops alone tells of looks only, and one of others without looks of results only
    for one, other in (("result", "look"), ("look", "result")):
        if one not in known:
            kind[kind == one] = other
    common = arranged.common() | {"lower": lower, "upper": upper, "kind": kind}
    if "additive:look" not in fit.coefficients.index:
        common["additive"] = None
    found = log_by_category(fit, "visit", **common)
    return found.reindex(range(len(readings.visits))).fillna(0.0).to_numpy(dtype=np.float64)


def _heaped(plain: FloatArray, at_goal: FloatArray, equal: npt.NDArray[np.bool_]) -> tuple[float, float]:
    """Margin and share of results that are written as the goal unseen, at the best share."""
    if not equal.any():
        return 0.0, 0.0
    gain = np.exp(np.minimum(at_goal - plain, 50.0))[equal]
    others = int((~equal).sum())
    share = 0.5
    for _ in range(200):
        chance = share * gain / (share * gain + 1.0 - share)
        share = float(np.clip(chance.sum() / (len(gain) + others), 1e-6, 1.0 - 1e-6))
    margin = float(np.log(share * gain + 1.0 - share).sum() + others * np.log(1.0 - share))
    return margin, share


def _notes(frame: pd.DataFrame) -> tuple[str, ...]:
    notes = []
    reread, heaped = frame[frame["reread"]], frame[frame["heaped"]]
    if len(reread):
        listed = ", ".join(f"{r.stylist} (margin {r.reread_margin:.0f})" for r in reread.itertuples())
        notes.append(f"results at the goal read anew after the rinse, by log-likelihood: {listed}")
    if len(heaped):
        listed = ", ".join(f"{r.stylist} (margin {r.heaped_margin:.0f})" for r in heaped.itertuples())
        notes.append(
            "results written as the goal more often than readings allow, so they say only "
            f"'at or above the goal': {listed}"
        )
    return tuple(notes)
