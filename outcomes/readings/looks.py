"""Looks during processing: those written down, the usual time between them, and those nobody wrote down.

A visit rinsed at its goal was looked at before (unless rinsed at its first look) and wasn't at the goal then.
Such earlier looks are readings, and without them a log with no looks says too little about the shape.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Literal

import numpy as np
import pandas as pd
from scipy.stats import CensoredData, ecdf

from outcomes.readings.renewal import LONGEST, Gaps, Ways, gaps_about, last_looks

if TYPE_CHECKING:
    from outcomes.log.read import VisitLog

__all__ = [
    "doubt_looks",
    "implied_looks",
    "look_gaps",
    "looked_at",
    "place_looks",
    "repeated_results",
    "typical_gaps",
    "usual_gaps",
]

SAME_MOMENT = 0.5
"""Minutes: a look no further from the rinse than this was taken at the rinse."""

ENOUGH_GAPS = 20
"""Gaps from which on a stylist's own intervals are used instead of the whole log's."""

TYPICAL_VALUES = 5
"""Values that stand for a distribution of gaps."""

GAP_LOG_SD = 0.2
"""Scatter of the log of a gap about the usual one: common practice, no source."""

GAP_WITHIN = 0.06
"""The same about one of a few values that stand for gaps seen, which carry most of the scatter themselves:
what is left of 0.2 within a fifth of a normal distribution (a part of 0.1 of the variance)."""

UNKNOWN_GAPS = pd.DataFrame({"minutes": [5.0, 10.0, 15.0], "share": [0.25, 0.5, 0.25]})
"""Minutes between looks where a log tells nothing about them: common practice, no source."""


def place_looks(log: VisitLog) -> pd.DataFrame:
    """Looks of the given visits.

    Parameters
    ----------
    log : VisitLog
        Checks of visits that aren't among its visits are passed over, so that part of the visits can be used.

    Returns
    -------
    DataFrame
        One row a look, in order of visit and minutes: `visit` (position in visits), `minutes`, `level`,
        `ended` (the look that stopped a `target` visit: the last one at its rinse that reads the goal, for
        minutes rounded to 5 or 15 put earlier looks at the rinse too).
    """
    visits, checks = log.visits, log.checks
    keys = ["visit", "zone"]
    rows = visits[keys].astype(object).assign(row=np.arange(len(visits)))
    found = checks[[*keys, "minutes", "level"]].astype({key: object for key in keys}).merge(rows, on=keys)
    found = found.sort_values(["row", "minutes"], kind="stable", ignore_index=True)
    row = found["row"].to_numpy(dtype=int)
    minutes = found["minutes"].to_numpy(dtype=np.float64)
    rinse = visits["minutes"].to_numpy(dtype=np.float64)[row]
    level = found["level"].to_numpy(dtype=np.float64)
    ended = (visits["stop"] == "target").to_numpy(dtype=bool)[row] & (np.abs(minutes - rinse) <= SAME_MOMENT)
    ended = ended & (level >= visits["goal_level"].to_numpy(dtype=np.float64)[row])
    ended[ended] = ~found.loc[ended, "row"].duplicated(keep="last").to_numpy()
    return pd.DataFrame({"visit": row, "minutes": minutes, "level": level, "ended": ended})


def look_gaps(log: VisitLog) -> pd.DataFrame:
    """Minutes between successive looks, in visits that have looks.

    The time until the first look doesn't count. The rinse of a `target` visit is a look; another visit's
    isn't: it says of the interval after its last look that it would have been longer.

    Parameters
    ----------
    log : VisitLog

    Returns
    -------
    DataFrame
        `visit` (position), `stylist`, `minutes` (to the half minute, above 0), `cut_off` (by the rinse).
    """
    visits, looks = log.visits, place_looks(log)
    earlier = looks.loc[~looks["ended"], ["visit", "minutes"]].assign(rinse=False)
    at = np.unique(earlier["visit"].to_numpy())
    rinses = pd.DataFrame({"visit": at, "minutes": visits["minutes"].to_numpy(dtype=np.float64)[at]})
    moments = pd.concat([earlier, rinses.assign(rinse=True)])
    moments = moments.sort_values(["visit", "minutes", "rinse"], kind="stable", ignore_index=True)
    gap = (2.0 * moments.groupby("visit")["minutes"].diff()).round() / 2.0
    moments = moments.assign(minutes=gap)[gap > 0]
    row = moments["visit"].to_numpy(dtype=int)
    target = (visits["stop"] == "target").to_numpy(dtype=bool)[row]
    stylist = visits["stylist"].to_numpy(dtype=object)[row]
    moments = moments.assign(stylist=stylist, cut_off=moments["rinse"].to_numpy(dtype=bool) & ~target)
    return moments[["visit", "stylist", "minutes", "cut_off"]].reset_index(drop=True)


def typical_gaps(gaps: pd.DataFrame, most: int | None = TYPICAL_VALUES) -> pd.DataFrame:
    """Values with shares that stand for the gaps of the log, and of each stylist with enough of them.

    From twenty gaps on, shares are those of the product-limit estimate: long gaps are cut off by the rinse
    more often than short ones, and among those seen to their end they are too few. What it leaves open beyond
    the longest goes to the longest; of fewer gaps that would be most of it, and those seen to their end are
    counted.

    Parameters
    ----------
    gaps : DataFrame
        `stylist`, `minutes`, `cut_off`.
    most : int or None
        More different gaps than this are cut into so many parts by rank, equal gaps together, and the mean of
        each part stands for it. None: all stand for themselves.

    Returns
    -------
    DataFrame
        `stylist` (None for the whole log, whose rows come first), `minutes`, `share` (adds up to 1 for each),
        `n` (gaps of that stylist seen to their end).

    References
    ----------
    Kaplan, E. L. & Meier, P. (1958). Nonparametric estimation from incomplete observations. J. Am. Stat.
    Assoc. 53, 457-481. doi:10.1080/01621459.1958.10501452.
    """
    ended = (~gaps["cut_off"].astype(bool)).groupby(gaps["stylist"]).transform("sum")
    own = gaps.loc[ended >= ENOUGH_GAPS]
    parts = [_shares(gaps, None, most)]
    parts += [_shares(part, stylist, most) for stylist, part in own.groupby("stylist", sort=True)]
    return pd.concat(parts, ignore_index=True)


def _shares(gaps: pd.DataFrame, stylist: object, most: int | None) -> pd.DataFrame:
    cut_off = gaps["cut_off"].to_numpy(dtype=bool)
    if 0 < (~cut_off).sum() < ENOUGH_GAPS:
        gaps, cut_off = gaps[~cut_off], cut_off[~cut_off]
    seen = CensoredData.right_censored(gaps["minutes"].to_numpy(dtype=np.float64), cut_off)
    minutes = np.array([])
    share = np.array([])
    if not cut_off.all():
        found = ecdf(seen).cdf
        rises = np.diff(found.probabilities, prepend=0.0)
        rises[-1] += 1.0 - found.probabilities[-1]
        minutes, share = found.quantiles[rises > 1e-12], rises[rises > 1e-12]
    if most is not None and len(minutes) > most:
        # Middle ranks keep equal gaps in one part: intervals are heaped on round minutes.
        part = np.floor(most * (share.cumsum() - 0.5 * share) + 1e-9).astype(int)
        amount = np.bincount(part, share)
        minutes = (np.bincount(part, share * minutes) / np.maximum(amount, 1e-300))[amount > 0]
        share = amount[amount > 0]
    columns = {"minutes": minutes, "share": share, "n": int((~cut_off).sum())}
    made = pd.DataFrame(columns)
    made.insert(0, "stylist", pd.Series([stylist] * len(made), index=made.index, dtype=object))
    return made


def implied_looks(log: VisitLog, *, stops: Literal["target", "all"] = "all") -> pd.DataFrame:
    """The last two looks at which a visit's goal wasn't read yet, where nobody wrote them down.

    Looks follow each other by the usual gap, which scatters (`outcomes.readings.renewal`). A visit stopped at
    the goal had a look at its rinse and others before it. A visit stopped otherwise had a last look some time
    before its rinse: that it didn't end the visit says something too. Without it such visits are those whose
    looks happened to read low, and the shape bends. Of a stylist who never stopped at the goal nothing is
    implied, for nothing says that they look. When there were looks is known in a few ways, each with
    its chance.

    Parameters
    ----------
    log : VisitLog
    stops : {"all", "target"}
        "target": the plain rule. Visits stopped at the goal alone, one look, one usual gap before the rinse.

    Returns
    -------
    DataFrame
        One row a look of one way: `visit` (position), `way` (looks of one way were all taken), `minutes` (of
        the look; of the rinse where `empty`), `weight` (chance of the way; adds up to 1 over the ways of a
        visit), `empty` (there was no earlier look, so nothing is known),
        `basis`: "declared" (the visit's `look_every`), "seen" (intervals of the log; where it has few, those
        declared in other visits too) or "assumed" (the log has none).
    """
    visits = log.visits
    every = visits["look_every"].to_numpy(dtype=np.float64)
    counted = visits["looks"].to_numpy(dtype=np.float64)
    target = (visits["stop"] == "target").to_numpy(dtype=bool)
    # whoever has never rinsed at the goal, nor says how often they look, may work by the clock alone
    looking = visits["stylist"].isin(visits.loc[target, "stylist"]).to_numpy(dtype=bool)
    looking = looking | ~np.isnan(every) | (counted > 0)
    wanted = _lacks_earlier_look(log, counted) & (target | (looking & (stops == "all")))
    source, basis = usual_gaps(log)
    known = pd.Series(visits["stylist"].to_numpy(dtype=object))
    own = known.where(known.isin(source["stylist"].dropna()), "").to_numpy(dtype=object)
    tried = pd.DataFrame(
        {
            "visit": np.arange(len(visits)),
            # a declared interval holds for its visit; else the stylist's, else the log's
            "whose": np.where(np.isnan(every), own, ""),
            "every": every,
            "rinse": visits["minutes"].to_numpy(dtype=np.float64),
            "target": target,
            "basis": np.where(np.isnan(every), basis, "declared"),
        }
    )[wanted]
    keys = ["whose", "every", "rinse", "target"]
    groups = tried.groupby(keys, dropna=False, sort=False)
    number = groups.ngroup().to_numpy()
    times = _possible_times(groups.first().reset_index()[keys], source, varies=stops == "all")
    made = tried.assign(group=number).merge(times, on="group")
    made = made[_agree_with_count(made, counted[made["visit"].to_numpy(dtype=int)])]
    once = made["weight"].where(~made.duplicated(["visit", "way"]), 0.0)
    made["weight"] = made["weight"] / once.groupby(made["visit"]).transform("sum")
    says_something = ~made["empty"].groupby(made["visit"]).transform("all").astype(bool)
    said: pd.DataFrame = made.loc[says_something, ["visit", "way", "minutes", "weight", "empty", "basis"]]
    return said.sort_values(["visit", "empty", "way", "minutes"], kind="stable", ignore_index=True)


def doubt_looks(unwritten: pd.DataFrame, visits: pd.DataFrame, share: Mapping[str, float]) -> pd.DataFrame:
    """Implied looks, where a visit that wasn't stopped at its goal may have been rinsed by the clock alone.

    Such a visit needn't have been looked at: one more way, in which nothing is known, gets a share of the
    chance. A visit whose looks were counted was looked at, and so was one stopped for the hair's condition.

    Parameters
    ----------
    unwritten : DataFrame
        As `implied_looks` gives them.
    visits : DataFrame
        `stylist`, `stop`, `looks`, `minutes`.
    share : mapping of stylist to float
        Of those visits, 0 to 1: rinsed without a look. 1 leaves nothing implied of them; stylists that aren't
        named have 0.

    Returns
    -------
    DataFrame
        As `unwritten`.
    """
    whose = visits["stylist"].map(share).fillna(0.0).to_numpy(dtype=np.float64)
    clock = np.where(looked_at(visits), 0.0, whose)
    of_row = clock[unwritten["visit"].to_numpy(dtype=int)]
    seen = unwritten.assign(weight=unwritten["weight"] * (1.0 - of_row))[of_row < 1.0]
    last = seen.loc[~seen["visit"].duplicated(keep="last")]
    at = last["visit"].to_numpy(dtype=int)
    minutes = visits["minutes"].to_numpy(dtype=np.float64)[at]
    way = seen.groupby("visit")["way"].max().reindex(at).to_numpy(dtype=np.int64) + 1
    blind = last.assign(way=way, minutes=minutes, weight=clock[at], empty=True)[clock[at] > 0]
    found: pd.DataFrame = pd.concat([seen, blind], ignore_index=True) if len(blind) else seen
    return found.sort_values(["visit", "empty", "way", "minutes"], kind="stable", ignore_index=True)


def looked_at(visits: pd.DataFrame) -> np.ndarray:
    """Visits that somebody looked at for certain: by how they stopped, or since looks were counted.

    Parameters
    ----------
    visits : DataFrame (n)
        `stop`, `looks`.

    Returns
    -------
    ndarray of bool (n,)
    """
    seen = visits["stop"].isin(["target", "condition"]) | (visits["looks"] > 0)
    return seen.to_numpy(dtype=bool)


def _agree_with_count(made: pd.DataFrame, counted: np.ndarray) -> np.ndarray:
    """Rows of ways that have as many looks as were counted; the others share the weight of the rest.

    Where usual gaps leave no room for so many, those with a look stand.
    """
    taken = made.groupby(["visit", "way"])["way"].transform("size").where(~made["empty"], 0).to_numpy()
    agrees = np.isnan(counted) | (taken == np.minimum(counted, 2))
    possible = (
        pd.Series(agrees, index=made.index).groupby(made["visit"]).transform("any").to_numpy(dtype=bool)
    )
    return np.asarray(np.where(possible, agrees, taken > 0))


def _possible_times(asked: pd.DataFrame, source: pd.DataFrame, *, varies: bool) -> pd.DataFrame:
    """Ways in which each kind of visit may have been looked at, `group` being its row in `asked`."""
    usual = {
        str(whose): (part["minutes"].to_numpy(dtype=np.float64), part["share"].to_numpy(dtype=np.float64))
        for whose, part in source.assign(stylist=source["stylist"].fillna("")).groupby("stylist")
    }
    made: dict[tuple[str, float], Gaps] = {}
    parts = []
    for group, (whose, every, rinse, target) in enumerate(asked.itertuples(index=False)):
        declared = not np.isnan(every)
        gap, share = (np.array([every]), np.ones(1)) if declared else usual[whose]
        end = int(np.clip(round(rinse), 1, LONGEST))
        ways: Ways | None = None
        if varies:
            key = (whose, every if declared else 0.0)
            if key not in made:
                made[key] = gaps_about(
                    gap, share, GAP_LOG_SD if declared else float(source["log_sd"].iloc[0])
                )
            ways = last_looks(made[key], end, at_look=bool(target))
        if ways is None:  # one usual gap before the rinse, whatever led there
            at, same = np.unique(np.where(gap < rinse, rinse - gap, 0.0), return_inverse=True)
            ways = at, np.arange(len(at)), np.asarray(np.bincount(same, share), dtype=np.float64)
        minutes, way, weight = ways
        empty = minutes == 0.0
        shown = np.where(empty, rinse, minutes)
        columns = {"group": group, "way": way, "minutes": shown, "weight": weight, "empty": empty}
        parts.append(pd.DataFrame(columns))
    if not parts:
        parts = [pd.DataFrame({"group": [0], "way": [0], "minutes": [0.0], "weight": [0.0], "empty": [True]})]
        return parts[0].iloc[:0]
    found: pd.DataFrame = pd.concat(parts, ignore_index=True)
    return found.loc[found["weight"] > 0]


def _lacks_earlier_look(log: VisitLog, counted: np.ndarray) -> np.ndarray:
    visits, looks = log.visits, place_looks(log)
    n = len(visits)
    recorded = np.bincount(looks["visit"], minlength=n)
    earlier = np.bincount(looks.loc[~looks["ended"], "visit"], minlength=n)
    # With the ending look alone written down, looks are recorded: no earlier one was taken, unless counted.
    open_to_doubt = np.where(recorded == 0, counted != 0, counted > 0)
    return np.asarray((earlier == 0) & open_to_doubt)


def usual_gaps(log: VisitLog, most: int | None = TYPICAL_VALUES) -> tuple[pd.DataFrame, str]:
    """Typical gaps between looks, and what they rest on.

    Parameters
    ----------
    log : VisitLog
    most : int or None
        As for `typical_gaps`.

    Returns
    -------
    DataFrame
        As `typical_gaps`: `stylist` (None for the whole log), `minutes`, `share`, `n`; and `log_sd`, the
        scatter of the log of a gap about these.
    str
        "seen" (recorded or declared in this log) or "assumed" (common practice, no source).
    """
    every = log.visits["look_every"].to_numpy(dtype=np.float64)
    gaps = look_gaps(log)[["stylist", "minutes", "cut_off"]]
    ended = int((~gaps["cut_off"]).sum())
    log_sd = GAP_LOG_SD if ended < ENOUGH_GAPS else GAP_WITHIN
    if ended < ENOUGH_GAPS and not np.isnan(every).all():
        declared = log.visits.loc[~np.isnan(every), ["stylist"]].assign(
            minutes=every[~np.isnan(every)], cut_off=False
        )
        gaps = pd.concat([gaps, declared], ignore_index=True) if len(gaps) else declared
    if not gaps["cut_off"].all():
        return typical_gaps(gaps, most).assign(log_sd=log_sd), "seen"
    return UNKNOWN_GAPS.assign(stylist=None, n=0, log_sd=GAP_LOG_SD), "assumed"


def repeated_results(log: VisitLog) -> pd.DataFrame:
    """How often each stylist's result is the very level of the look that ended the visit.

    Results read anew differ from that look in a good part of visits; a stylist whose results never do writes
    the look as the result.

    Parameters
    ----------
    log : VisitLog

    Returns
    -------
    DataFrame
        `stylist`, `n` (`target` visits with their ending look recorded), `equal` (with the same result).
    """
    visits, looks = log.visits, place_looks(log)
    ended = looks[looks["ended"]]
    at = ended["visit"].to_numpy(dtype=int)
    equal = visits["achieved_level"].to_numpy(dtype=np.float64)[at] == ended["level"].to_numpy()
    frame = pd.DataFrame(
        {"stylist": visits["stylist"].to_numpy(dtype=object)[at], "equal": equal.astype(int)}
    )
    return frame.groupby("stylist")["equal"].agg(n="size", equal="sum").reset_index()
