"""What is measured of each stylist in a quarter: every measure with its numbers and its comparison."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
import pandas as pd

from outcomes.errors import FitError, InputError
from outcomes.models.fade import FadeModel
from outcomes.models.stylists import StylistRates
from outcomes.predictive.normal import normal_cdf
from outcomes.readings.fade import MEASURES
from outcomes.review.clustered import clustered_mean
from outcomes.review.expected import chance_of_count
from outcomes.review.findings import Comparison
from outcomes.review.funnel import Overdispersion, binomial_band, overdispersion
from outcomes.review.promise import kept_promises
from outcomes.review.team_review import COVERAGE

if TYPE_CHECKING:
    from outcomes.log.read import VisitLog

__all__ = [
    "FEWEST_COURSES",
    "Measured",
    "changes",
    "clients_by",
    "condition",
    "fade",
    "goals",
    "promises",
    "rates",
]

FloatArray = npt.NDArray[np.float64]

FEWEST_COURSES = 5
"""Settled courses that a comparison of promises takes."""

_STEP = 1.0  # of sessions, and of points of condition
_DRAWS = 4000


@dataclass(frozen=True, eq=False)
class Measured:
    """One measure.

    Attributes
    ----------
    table : DataFrame
        Index: stylist; columns as `TeamReview.stylists` has them.
    clients : mapping of str to set of str
        Different clients behind each stylist's numbers.
    everyone : int
        Different clients behind all of them.
    comparisons : tuple of Comparison
        Of each stylist, and of the team (`who` empty).
    team : mapping
        The team's own numbers.
    """

    table: pd.DataFrame
    clients: Mapping[str, frozenset[str]]
    everyone: int
    comparisons: tuple[Comparison, ...] = ()
    team: Mapping[str, object] = field(default_factory=dict)


def rates(found: StylistRates, visits: pd.DataFrame) -> Measured:
    """Lift rates, raw and drawn towards the team.

    Compared are those drawn towards the team, as their bands are: what is named lies outside its band.

    Parameters
    ----------
    found : StylistRates
    visits : DataFrame
        The quarter's: `stylist`, `client`.

    Returns
    -------
    Measured
    """
    table = found.table(COVERAGE).set_index("stylist")
    n = _counts(visits)
    compared = tuple(
        Comparison("rate", code, *_three(table, code, "value", "low", "high"), n[code], _two_sided(draws))
        for code, draws in zip(found.stylists, found.log_ratio.T, strict=True)
    )
    named = {"raw": "rate_raw", "value": "rate", "low": "rate_low", "high": "rate_high"}
    kept = [*named, "best_third", "lowest_third"]
    return Measured(table[kept].rename(columns=named), *_clients(visits), compared)


def changes(found: StylistRates, visits: pd.DataFrame, before: pd.DataFrame) -> Measured:
    """Lift rates against the quarter before's.

    Parameters
    ----------
    found : StylistRates
    visits, before : DataFrame
        The quarter's, and those of the quarter before: `stylist`, `client`.

    Returns
    -------
    Measured
        Stylists who weren't there then are NaN. `clients` are those of the quarter that had fewer: a change
        tells of both.
    """
    table = found.table(COVERAGE).set_index("stylist")[["change", "change_low", "change_high"]]
    n = _counts(visits)
    compared = [
        Comparison("change", code, *_three(table, code, *table.columns), n[code], _two_sided(log_change))
        for code, log_change in zip(found.stylists, found.change.T, strict=True)
        if np.isfinite(log_change[0])
    ]
    now, everyone = _clients(visits)
    then, _ = _clients(before)
    fewer = {code: min(now[code], then.get(code, now[code]), key=len) for code in now}
    return Measured(table, fewer, everyone, tuple(compared))


def goals(visits: pd.DataFrame) -> tuple[Measured, Overdispersion]:
    """Visits that reached their goal, against as many as were expected to.

    Shares are put at the team's mix of cases by the difference: what is expected of the team's visits, and
    how far the stylist's own visits lie from what was expected of them. (By the ratio, a stylist with hard
    cases alone would lie far out by chance.)

    Parameters
    ----------
    visits : DataFrame
        The quarter's: `stylist`, `client`, `reached`, `chance`.

    Returns
    -------
    Measured
    Overdispersion
    """
    groups = visits.assign(spread=visits["chance"] * (1.0 - visits["chance"])).groupby("stylist")
    n, observed, expected = (groups.size(), groups["reached"].sum(), groups["chance"].sum())
    target = float(visits["chance"].mean())
    variance = (groups["spread"].sum() / n**2).clip(lower=1e-9)
    moved = target + (observed - expected) / n
    low, high = binomial_band(observed.to_numpy(), n.to_numpy(), COVERAGE)
    away = (target - expected / n).to_numpy()
    table = pd.DataFrame(
        {
            "goal_observed": observed.astype(float),
            "goal_expected": expected,
            "goal_n": n.astype(float),
            "goal_share": moved.clip(0.0, 1.0),
            "goal_share_low": np.clip(low + away, 0.0, 1.0),
            "goal_share_high": np.clip(high + away, 0.0, 1.0),
        }
    )
    beyond = overdispersion(moved.to_numpy(), target, variance.to_numpy())
    compared = []
    for code, own in groups:
        # by how much the others differ: one far out would widen the limits for itself
        others = moved.index != code
        between = overdispersion(moved[others].to_numpy(), target, variance[others].to_numpy()).between
        if between > 0.0:
            error = np.sqrt(variance[code] + between**2)
            p = float(2.0 * normal_cdf(np.array([-abs(moved[code] - target) / error]))[0])
        else:
            p = chance_of_count(own["chance"].to_numpy(), int(own["reached"].sum()))
        ends = _three(table, str(code), "goal_share", "goal_share_low", "goal_share_high")
        compared.append(Comparison("goal", str(code), *ends, len(own), p))
    team = {"observed": int(observed.sum()), "expected": float(expected.sum()), "n": len(visits)}
    return Measured(table, *_clients(visits), tuple(compared), team | {"target": target}), beyond


def promises(courses: pd.DataFrame) -> Measured:
    """Sessions quoted against sessions needed.

    Parameters
    ----------
    courses : DataFrame
        As `promised_courses` gives them.

    Returns
    -------
    Measured
        `clients` are those of settled courses.
    """
    settled = courses[courses["settled"]]
    kept = kept_promises(courses, "stylist").set_index("stylist")
    table = pd.DataFrame({f"promise_{name}": kept[name] for name in ("quoted", "needed", "within", "n")})
    over = settled["sessions"] - settled["quoted"]
    compared = []
    for who, mine in [("", settled.index), *settled.groupby("stylist").groups.items()]:
        if len(mine) >= FEWEST_COURSES:
            mean = clustered_mean(over[mine], settled.loc[mine, "client"], COVERAGE, _STEP)
            compared.append(Comparison("promise", str(who), mean.value, mean.low, mean.high, mean.n, mean.p))
    team: dict[str, object] = {}
    if len(settled):
        team = {
            "quoted": float(settled["quoted"].mean()),
            "needed": float(settled["sessions"].mean()),
            "within": int(settled["within"].sum()),
            "n": len(settled),
        }
    return Measured(table.astype(float), *_clients(settled), tuple(compared), team)


def condition(visits: pd.DataFrame) -> Measured:
    """Points of strand condition lost, against what such visits lose.

    Parameters
    ----------
    visits : DataFrame
        The quarter's: `stylist`, `client`, `loss`, `loss_expected`.

    Returns
    -------
    Measured
    """
    told = visits[visits["loss"].notna() & visits["loss_expected"].notna()]
    groups = told.groupby("stylist")
    table = pd.DataFrame(
        {
            "loss_observed": groups["loss"].mean(),
            "loss_expected": groups["loss_expected"].mean(),
            "loss_n": groups.size().astype(float),
        }
    )
    compared = []
    for code, own in groups:
        mean = clustered_mean(own["loss"] - own["loss_expected"], own["client"], COVERAGE, _STEP)
        compared.append(Comparison("condition", str(code), mean.value, mean.low, mean.high, mean.n, mean.p))
    team: dict[str, object] = {}
    if len(told):
        team = {
            "observed": float(told["loss"].mean()),
            "expected": float(told["loss_expected"].mean()),
            "n": len(told),
        }
    return Measured(table, *_clients(told), tuple(compared), team)


def fade(log: VisitLog, team: tuple[str, ...], seed: int) -> tuple[Measured | None, str]:
    """Fade rates over the middle of the team's, over all visits that were read after washes.

    Parameters
    ----------
    log : VisitLog
        Up to the end of the quarter.
    team : tuple of str
    seed : int

    Returns
    -------
    Measured or None
        Of the first measure of fade that was read for enough clients.
    reason : str
        The measure's name, or why there is none.
    """
    reason = ""
    for measure in MEASURES:
        try:
            model = FadeModel(measure, shapes=("power",)).fit(log)
        except (InputError, FitError) as cause:
            reason = reason or str(cause)
            continue
        read = model.readings_.visits
        read = read[read["stylist"].astype(str).isin(team)]
        draws = model.fit_.draws(_DRAWS, seed, groups=("stylist",))
        known = [code for code in team if f"stylist[{code}]" in draws and (read["stylist"] == code).any()]
        if len(known) < 2:
            reason = reason or "fade was read for visits of fewer than two stylists of the team"
            continue
        log_rate = draws[[f"stylist[{code}]" for code in known]].to_numpy(dtype=np.float64)
        log_rate = log_rate - log_rate.mean(axis=1, keepdims=True)
        tail = 0.5 * (1.0 - COVERAGE)
        low, value, high = np.exp(np.quantile(log_rate, [tail, 0.5, 1.0 - tail], axis=0))
        table = pd.DataFrame({"fade": value, "fade_low": low, "fade_high": high}, index=known)
        n = read.groupby("stylist")["visit"].nunique()
        compared = tuple(
            Comparison(
                "fade", code, *_three(table, code, *table.columns), int(n[code]), _two_sided(log_rate[:, i])
            )
            for i, code in enumerate(known)
        )
        return Measured(table, *_clients(read), compared), measure
    return None, reason


def clients_by(rows: pd.DataFrame, by: str) -> dict[str, frozenset[str]]:
    """Different clients of each code.

    Parameters
    ----------
    rows : DataFrame
        `client`, and the column of codes.
    by : str

    Returns
    -------
    dict of str to set of str
    """
    groups = rows["client"].astype(str).groupby(rows[by].astype(str))
    return {str(code): frozenset(own) for code, own in groups}


def _clients(rows: pd.DataFrame) -> tuple[dict[str, frozenset[str]], int]:
    return clients_by(rows, "stylist"), int(rows["client"].nunique())


def _counts(visits: pd.DataFrame) -> dict[str, int]:
    return {str(code): int(n) for code, n in visits.groupby("stylist").size().items()}


def _three(table: pd.DataFrame, code: str, *names: str) -> tuple[float, float, float]:
    value, low, high = table.loc[code, list(names)].to_numpy(dtype=np.float64)
    return float(value), float(low), float(high)


def _two_sided(draws: FloatArray) -> float:
    """Chance of a value as far from 0, by the mean and sd of draws: their tails themselves hold few."""
    spread = float(draws.std())
    return float(2.0 * normal_cdf(np.array([-abs(float(draws.mean())) / spread]))[0]) if spread > 0.0 else 1.0
