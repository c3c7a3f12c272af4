"""How often a stylist rinses by the clock, without having looked.

A visit that ran to its time limit may have been looked at on the way, each time below its goal, or left
under a timer. Where nobody wrote looks down, that is a mixture. Its share is told by results, since hair that
was looked at wasn't read at its goal before, and by stops at the goal or for the hair's condition, which all
were looks.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from outcomes.engine import MixedFit
from outcomes.models.habits import by_visit
from outcomes.readings.design import Design
from outcomes.readings.lift import Looked
from outcomes.readings.looks import looked_at

__all__ = ["BEFORE", "clock_notes", "clock_shares", "likelier_by", "mixture_share"]

FloatArray = npt.NDArray[np.float64]

BEFORE = 0.2
"""Share taken while nothing is known of it: a wrong look then costs a bounded log-likelihood."""

_WORTH = 2.0  # visits that the share before any are worth
_LEAST = 0.02  # share below which every visit is taken to have been looked at
_MARGIN = 3.0  # log-likelihood by which shares must beat looking at every visit, and
_FOR_EACH = 1.0  # for each stylist: a share that is 0 wins 0.25 of it on average by chance
_TOLD = 0.1  # share from which on a note says so


def clock_shares(looked: Looked, design: Design, fit: MixedFit) -> dict[str, float]:
    """Share of visits that were left to the clock, without a look, by stylist.

    Parameters
    ----------
    looked : Looked
        As the log has it, no look doubted.
    design : Design
    fit : MixedFit
        Of the readings, every stylist's share being `BEFORE`.

    Returns
    -------
    dict of stylist to float
        Of the visits without written looks, where any of them are implied; by the EM algorithm, `BEFORE`
        counting as two visits. Stylists with a share below 0.02 are left out; none is named where all shares
        together make the log likelier by less than 3 in log-likelihood, and 1 for each stylist.
    """
    visits = looked.visits
    stop, whose = visits["stop"].to_numpy(dtype=object), visits["stylist"].to_numpy(dtype=object)
    implied = np.zeros(len(visits), dtype=bool)
    implied[looked.unwritten["visit"].unique()] = True
    open_to_doubt = implied & ~looked_at(visits)
    stylists = sorted(set(whose[open_to_doubt]))
    if not stylists or "visit" not in fit.group_sd:
        return {}
    seen = by_visit(looked, design, fit, {}, {})
    blind = by_visit(looked.doubted(dict.fromkeys(stylists, 1.0)), design, fit, {}, {})
    written = np.zeros(len(visits), dtype=bool)
    written[looked.looks["visit"].unique()] = True
    certain = np.isin(stop, ["target", "condition"]) & ~written
    shares, told = {}, {}
    for one in stylists:
        adds, n_seen = (seen - blind)[open_to_doubt & (whose == one)], int((certain & (whose == one)).sum())
        shares[one] = mixture_share(adds, n_seen)
        told[one] = likelier_by(adds, n_seen, shares[one])
    if sum(told.values()) < _MARGIN + _FOR_EACH * len(stylists):
        return {}
    return {one: share for one, share in shares.items() if share >= _LEAST}


def mixture_share(looks: FloatArray, certain: int) -> float:
    """Share of visits without a look, from the log-likelihood that a look adds to each that may be one.

    Of visits that were looked at for certain none is: only with them does a look that was survived, which is
    less likely than no look at all, have its due.

    Parameters
    ----------
    looks : ndarray (n,)
        Log-likelihood ratio of having been looked at, of visits in doubt.
    certain : int
        Visits that were looked at for certain.

    Returns
    -------
    float
        0 to 1.
    """
    odds = np.exp(np.clip(looks, -50.0, 50.0))
    share = BEFORE
    for _ in range(200):
        blind = share / (share + (1.0 - share) * odds)
        share = float((blind.sum() + _WORTH * BEFORE) / (len(looks) + certain + _WORTH))
    return share


def likelier_by(looks: FloatArray, certain: int, share: float) -> float:
    """Log-likelihood by which a share of visits without a look beats a look at each.

    Parameters
    ----------
    looks, certain : as in `mixture_share`
    share : float
        0 to 1.

    Returns
    -------
    float
    """
    blind = np.log(share) - np.clip(looks, -50.0, 50.0)
    return float(np.logaddexp(np.log1p(-share), blind).sum() + certain * np.log1p(-share))


def clock_notes(shares: dict[str, float]) -> tuple[str, ...]:
    """How many visits were left to the clock, for people to read.

    Parameters
    ----------
    shares : dict of stylist to float

    Returns
    -------
    tuple of str
    """
    often = [share for share in shares.values() if share >= _TOLD]
    if not often:
        return ()
    low, high = (f"{100 * share:.0f} %" for share in (min(often), max(often)))
    span = low if low == high else f"{low} to {high}"
    return (
        f"as far as results tell, {span} of visits without written looks were left to the clock, without a "
        f"look, with {len(often)} stylist{'s' * (len(often) > 1)}",
    )
