"""What a log's readings after washes cover, as a saved model keeps it: shares and counts, no rows."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from outcomes.models.describe import few_values, shares_of
from outcomes.predictive.distribution import Share
from outcomes.predictive.fade import FollowUp
from outcomes.predictive.support import Support
from outcomes.readings.covariates import FADE
from outcomes.readings.fade import FadeReadings, shade_names

if TYPE_CHECKING:
    from outcomes.log.read import VisitLog

__all__ = ["fade_covariates", "fade_support", "follow_up"]

PLACES = ("roots", "toned")


def fade_support(readings: FadeReadings) -> Support:
    """What the readings cover.

    Parameters
    ----------
    readings : FadeReadings

    Returns
    -------
    Support
        Numbers: root_level of the visits, washes of the readings. Categories: root_tone, toner_tone, shampoo,
        zone, and shade (level and tone together), by visits.
    """
    visits = readings.visits
    at_roots = visits["zone"] == "roots"
    numbers = {"washes": pd.Series(readings.washes)}
    if at_roots.any():
        numbers["root_level"] = visits.loc[at_roots, "root_level"].astype(np.float64).dropna()
    words = {
        "root_tone": visits["root_tone"].where(at_roots),
        "shade": shade_names(visits["root_level"], visits["root_tone"]).where(at_roots),
        "toner_tone": visits["toner_tone"].where(~at_roots),
        "shampoo": visits["shampoo"],
        "zone": visits["zone"],
    }
    ends = {}
    for column, values in numbers.items():
        low, first, last, high = values.quantile([0.0, 0.01, 0.99, 1.0])
        ends[column] = (float(low), float(first), float(last), float(high))
    counts = {column: values.dropna().astype(str).value_counts() for column, values in words.items()}
    return Support(
        ends,
        {
            column: {str(word): int(n) for word, n in sorted(found.items(), key=lambda item: str(item[0]))}
            for column, found in counts.items()
        },
        {},
    )


def fade_covariates(readings: FadeReadings) -> dict[str, dict[str, tuple[Share, ...]]]:
    """Shares of every covariate among the visits read at the roots, and among those read elsewhere.

    Parameters
    ----------
    readings : FadeReadings

    Returns
    -------
    dict of place to dict of column to tuple of (value, share)
        Shares add up to 1; None: not given. A place that no visit was read at is left out.
    """
    visits = readings.visits
    at_roots = (visits["zone"] == "roots").to_numpy(dtype=bool)
    names = [covariate.column for covariate in FADE[readings.measure]]
    columns = {name: few_values(visits[name]) for name in names if visits[name].notna().any()}
    if "zone" not in columns:
        columns["zone"] = visits["zone"]
    return {
        place: {name: shares_of(values[here]) for name, values in columns.items()}
        for place, here in zip(PLACES, (at_roots, ~at_roots), strict=True)
        if here.any()
    }


def follow_up(log: VisitLog, readings: FadeReadings) -> dict[str, dict[str, FollowUp]]:
    """Who had a shade applied, and who of them was read after washes.

    Parameters
    ----------
    log : VisitLog
    readings : FadeReadings

    Returns
    -------
    dict of column to dict of word to FollowUp
        root_tone, root_level, toner_tone, shampoo; "" for everybody. What washes say nothing of (shampoo)
        counts those who were read alone.
    """
    visits = readings.visits
    at_roots = visits["zone"] == "roots"
    everything = log.visits
    applied = {
        "root_tone": everything["root_tone"],
        "root_level": everything["root_level"].map("{:g}".format).where(everything["root_level"].notna()),
        "toner_tone": everything["toner_tone"],
    }
    read = {
        "root_tone": visits["root_tone"].where(at_roots),
        "root_level": visits["root_level"].map("{:g}".format).where(at_roots & visits["root_level"].notna()),
        "toner_tone": visits["toner_tone"].where(~at_roots),
        "shampoo": visits["shampoo"],
    }
    found: dict[str, dict[str, FollowUp]] = {}
    for column, words in read.items():
        seen = _clients(visits, words)
        had = _clients(everything, applied[column]) if column in applied else seen
        count = words.dropna().astype(str).value_counts().to_dict()
        found[column] = {word: FollowUp(had.get(word, n), n, int(count[word])) for word, n in seen.items()}
    shade = applied["root_level" if readings.measure == "level" else "toner_tone"].notna()
    came = everything["visit"].isin(visits["visit"])
    of_all = everything.loc[(shade | came).to_numpy(dtype=bool), "client"]
    found[""] = {"": FollowUp(int(of_all.nunique()), int(visits["client"].nunique()), len(visits))}
    return found


def _clients(visits: pd.DataFrame, words: pd.Series) -> dict[str, int]:
    """Clients of each word."""
    pairs = pd.DataFrame({"word": words.astype(object), "client": visits["client"]}).dropna()
    return {str(word): int(n) for word, n in pairs.groupby("word")["client"].nunique().items()}
