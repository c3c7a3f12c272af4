"""What a log's visits cover, as a saved model keeps it: shares and counts, no rows."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
import pandas as pd

from outcomes.predictive.distribution import Basis, Share
from outcomes.predictive.plans import HAIR, HEAT
from outcomes.predictive.practice import LookGaps, Practice
from outcomes.predictive.support import Support
from outcomes.readings.looks import place_looks

if TYPE_CHECKING:
    from outcomes.log.read import VisitLog

__all__ = [
    "AVERAGED",
    "basis_of",
    "case_mix",
    "code_visits",
    "few_values",
    "later_hair",
    "look_gap_shares",
    "practice_of",
    "shares_of",
    "support_of",
]

AVERAGED = ("texture", "zone", "wrap", "mix_ratio", "colour_history", "applications")
"""Covariates that a question doesn't give."""

_MOST_VALUES = 8  # different numbers of a covariate; more are cut into as many parts by rank
_ENOUGH_LATER = 20  # linked later sessions from which on their logged hair counts


def basis_of(visits: pd.DataFrame) -> Basis:
    """Counts that every answer rests on.

    Parameters
    ----------
    visits : DataFrame
        With `client`, `stylist` and `date`.

    Returns
    -------
    Basis
    """
    until = f"{visits['date'].max():%Y-%m}" if len(visits) else ""
    return Basis(len(visits), int(visits["client"].nunique()), int(visits["stylist"].nunique()), until=until)


def code_visits(visits: pd.DataFrame, column: str, codes: Sequence[str]) -> npt.NDArray[np.int64]:
    """Visits of each code of `stylist` or `product`.

    Parameters
    ----------
    visits : DataFrame
    column : {"stylist", "product"}
    codes : sequence of str (k)

    Returns
    -------
    ndarray of int (k,)
    """
    counts = visits[column].value_counts()
    return np.asarray(counts.reindex(list(codes), fill_value=0), dtype=np.int64)


def support_of(visits: pd.DataFrame) -> Support:
    """What the visits cover.

    Parameters
    ----------
    visits : DataFrame
        Canonical columns, and `course` and `session` as `assign_courses` made them.

    Returns
    -------
    Support
    """
    numbers = visits[["start_level", "goal_level", "peroxide_pct", "minutes"]].astype(np.float64)
    numbers = numbers.assign(gain=numbers["goal_level"] - numbers["start_level"])
    ends = numbers.quantile([0.0, 0.01, 0.99, 1.0])
    words = {"hair": HAIR, "heat": HEAT, "stylist": sorted(visits["stylist"].unique())}
    longest = visits.groupby("course")["session"].max().value_counts().sort_index()
    return Support(
        {str(column): (low, first, last, high) for column, (low, first, last, high) in ends.items()},
        {
            column: dict(zip(codes, code_visits(visits, column, codes).tolist(), strict=True))
            for column, codes in words.items()
        },
        dict(zip(longest.index.astype(int).tolist(), longest.astype(int).tolist(), strict=True)),
    )


def case_mix(visits: pd.DataFrame) -> dict[str, dict[str, tuple[Share, ...]]]:
    """Shares of every covariate that a question doesn't give, by hair.

    Parameters
    ----------
    visits : DataFrame
        Canonical columns; a column without any value is left out.

    Returns
    -------
    dict of hair to dict of column to tuple of (value, share)
        Shares add up to 1; None: not given. Hair that no visit has gets the shares of all visits.
    """
    columns = {
        column: few_values(visits[column])
        for column in AVERAGED
        if column in visits and visits[column].notna().any()
    }
    found: dict[str, dict[str, tuple[Share, ...]]] = {}
    for hair in HAIR:
        here = (visits["hair"] == hair).to_numpy(dtype=bool)
        here = here if here.any() else np.ones(len(visits), dtype=bool)
        found[hair] = {column: shares_of(values[here]) for column, values in columns.items()}
    return found


def later_hair(visits: pd.DataFrame) -> dict[str, dict[str, float]]:
    """Hair in later sessions, by the hair before the first one of the course.

    Parameters
    ----------
    visits : DataFrame
        With `course` and `session`.

    Returns
    -------
    dict of hair to dict of hair to share
        "lightened" alone where fewer than 20 later sessions tell.
    """
    first = visits.loc[visits["session"] == 1].set_index("course")["hair"]
    later = visits.loc[visits["session"] > 1, ["course", "hair"]]
    before = later["course"].map(first[~first.index.duplicated()])
    found: dict[str, dict[str, float]] = {}
    for hair in HAIR:
        words = later.loc[(before == hair).to_numpy(dtype=bool), "hair"]
        shares = words.value_counts(normalize=True)
        enough = len(words) >= _ENOUGH_LATER
        found[hair] = (
            {w: float(shares[w]) for w in HAIR if w in shares.index} if enough else {"lightened": 1.0}
        )
    return found


def look_gap_shares(typical: pd.DataFrame, stylists: Sequence[str], *, assumed: bool = False) -> LookGaps:
    """Minutes between looks from their typical values.

    Parameters
    ----------
    typical : DataFrame
        As `typical_gaps` of `outcomes.readings.looks` makes it: stylist (None for the whole log), minutes,
        share. Without rows: nobody looks before the rinse.
    stylists : sequence of str
        Codes in the order of the model; one that has no rows gets the whole log's shares.
    assumed : bool
        Whether the values are usual ones, the log having none.

    Returns
    -------
    LookGaps
    """
    # To the half minute, so that many stylists don't make as many values.
    written = np.maximum(np.round(2.0 * typical["minutes"].to_numpy(dtype=np.float64)) / 2.0, 0.5)
    minutes = np.unique(written)
    whole = typical["stylist"].isna().to_numpy(dtype=bool)

    def shares(rows: npt.NDArray[np.bool_]) -> npt.NDArray[np.float64]:
        at = np.searchsorted(minutes, written[rows])
        amounts = np.bincount(at, typical["share"].to_numpy(dtype=np.float64)[rows], len(minutes))
        return np.asarray(amounts / max(amounts.sum(), 1e-300), dtype=np.float64)

    overall = shares(whole)
    own = {code: (typical["stylist"] == code).to_numpy(dtype=bool) for code in stylists}
    by_stylist = [shares(rows) if rows.any() else overall for rows in own.values()]
    return LookGaps(minutes, overall, np.array(by_stylist).reshape(len(own), len(minutes)), assumed)


def practice_of(
    log: VisitLog, stylists: Sequence[str], reread: Mapping[str, bool], clock: Mapping[str, float]
) -> Practice:
    """How stylists write results, and how often they leave a session to its time.

    Parameters
    ----------
    log : VisitLog
    stylists : sequence of str (S)
        Codes in the order of the model.
    reread : mapping of stylist to bool
        Whether results of visits stopped at the goal are read anew.
    clock : mapping of stylist to float
        Share of the visits without written looks that nobody looked at.

    Returns
    -------
    Practice
    """
    written = np.zeros(len(log.visits), dtype=bool)
    written[place_looks(log)["visit"].to_numpy(dtype=int)] = True
    without = pd.Series(~written).groupby(log.visits["stylist"].to_numpy(dtype=object)).mean()
    unseen = [float(clock.get(code, 0.0)) * float(without.get(code, 0.0)) for code in stylists]
    anew = [float(reread.get(code, False)) for code in stylists]
    return Practice(*(np.array(shares if any(shares) else []) for shares in (anew, unseen)))


def few_values(values: pd.Series) -> pd.Series:
    """Words as they are; of numbers with many different values the mean of each part by rank.

    Parameters
    ----------
    values : Series (n,)

    Returns
    -------
    Series (n,)
    """
    if not pd.api.types.is_numeric_dtype(values) or values.nunique() <= _MOST_VALUES:
        return values
    part = pd.qcut(values, _MOST_VALUES, labels=False, duplicates="drop")
    return values.groupby(part).transform("mean").round(4)


def shares_of(values: pd.Series) -> tuple[Share, ...]:
    """Every value with its share, None for those not given.

    Parameters
    ----------
    values : Series (n,)

    Returns
    -------
    tuple of (value, share)
    """
    given = values[values.notna()]
    found, counts = np.unique(given.to_numpy(), return_counts=True)
    pairs: list[Share] = [
        (value if isinstance(value, str) else float(value), float(count) / len(values))
        for value, count in zip(found.tolist(), counts, strict=True)
    ]
    missing = len(values) - len(given)
    return (*pairs, (None, missing / len(values))) if missing else tuple(pairs)
