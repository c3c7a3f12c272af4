"""What a quarterly review says of a team, suppressed where it must be: nothing behind it holds more."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import isinf
from typing import Any

import pandas as pd

__all__ = ["COVERAGE", "Finding", "TeamReview"]

COVERAGE = 0.9
"""Of every band of the review."""

# JSON: by object, name there and column of `stylists`
_OBJECTS: Mapping[str, Mapping[str, str]] = {
    "rate_ratio": {"raw": "rate_raw", "value": "rate", "low": "rate_low", "high": "rate_high"},
    "goal": {"observed": "goal_observed", "expected": "goal_expected", "n": "goal_n"},
    "promise": {
        "quoted": "promise_quoted",
        "needed": "promise_needed",
        "within": "promise_within",
        "n": "promise_n",
    },
    "condition_loss": {"observed": "loss_observed", "expected": "loss_expected", "n": "loss_n"},
    "fade_ratio": {"value": "fade", "low": "fade_low", "high": "fade_high"},
    "change": {"value": "change", "low": "change_low", "high": "change_high"},
    "thirds": {"best": "best_third", "lowest": "lowest_third"},
    "data_quality": {
        "looks": "looks",
        "rounded_to": "rounded_to",
        "no_stop": "no_stop",
        "no_quote": "no_quote",
        "no_condition": "no_condition",
    },
}


@dataclass(frozen=True)
class Finding:
    """Something to talk about.

    Attributes
    ----------
    kind : str
        "rate", "goal", "promise", "condition", "fade" or "change".
    who : str
        Stylist; empty for the team.
    sentence : str
        With its number, its band and n.
    value, low, high : float
        As told: ratios, shares, sessions or points.
    n : int
        Visits, or courses, that it rests on.
    p : float
        Chance of a deviation as large where there is none.
    """

    kind: str
    who: str
    sentence: str
    value: float
    low: float
    high: float
    n: int
    p: float


@dataclass(frozen=True, eq=False, kw_only=True)
class TeamReview:
    """A team's quarter.

    Numbers of a stylist whose row is `suppressed` are NaN everywhere, and charts leave that stylist out; a
    part of fewer clients than that is NaN by itself. Bands hold 9 times in 10.

    Attributes
    ----------
    quarter : str
        As "2026Q3".
    salon : str
        Code, or empty for the whole log.
    min_clients : int
        Below it numbers are suppressed.
    stylists : DataFrame
        A row for each stylist who worked in the quarter, by code: `stylist`, `suppressed`, `visits`,
        `clients`;
        `rate_raw`, `rate`, `rate_low`, `rate_high` (lift rate over the middle of the team's, all else alike:
        by the quarter's own visits, and drawn towards the team);
        `goal_observed`, `goal_expected`, `goal_n` (visits that reached their goal, expected to, of how many),
        `goal_share`, `goal_share_low`, `goal_share_high` (share at the team's mix of cases, with its exact
        band);
        `promise_quoted`, `promise_needed` (mean sessions), `promise_within`, `promise_n` (settled courses);
        `loss_observed`, `loss_expected` (mean points of condition a visit), `loss_n`;
        `fade`, `fade_low`, `fade_high` (fade rate over the middle of the team's, over all visits so far);
        `change`, `change_low`, `change_high` (lift rate over the quarter before's);
        `best_third`, `lowest_third` (chances to be there by lift rate);
        `looks` (share of visits with looks), `rounded_to` (minutes to which times are rounded, 0 where they
        aren't), `no_stop` (share whose stop reason is "other"; without any a row is set aside), `no_quote`,
        `no_condition` (shares of visits without it).
    team : mapping
        `visits`, `clients`, `stylists`; `goal`, `promise`, `condition_loss` as in JSON; `overdispersion`
        (`ratio`, `between`); `rate_sd` (`stylist`, `quarter`: sds of log R); `fade_measure`; None where there
        is none or it's suppressed.
    funnel : DataFrame
        Limits of the share of visits that reach the goal, by number of visits: `n`, `target`, `low_95`,
        `high_95`, `low_998`, `high_998`; exact binomial ones, widened where stylists differ beyond chance.
    chart : DataFrame
        Control chart, a row for each visit with a reading: `stylist`, `visit` (1, 2 ... in the quarter),
        `mean`, `limit`, `signal`.
    run_length : float
        Visits from one false signal of the chart to the next, on average.
    promises : DataFrame
        By sessions quoted: `quoted`, `needed` (mean), `within`, `n`, `unsettled`.
    trend : DataFrame
        By quarter: `quarter`, `median`, `low`, `high` (sessions until the goal; inf where the band has no
        upper end), `expected` (the same visits by the model), `visits`.
    habits : DataFrame
        As `outcomes.review.habits.habits`, with `words` and `step_words`.
    narrowing : DataFrame
        As `outcomes.review.narrowing.narrowing`.
    rows : mapping
        `visits_in`, `visits_set_aside`, `no_stop` (of these for want of a stop reason): of the whole log.
    calibration : mapping
        `coverage` (0.8), `holds`, `low`, `high`, `readings`, `clients`, `of` ("quarter" or "model"); `holds`
        is None where it couldn't be checked, and `note` says why.
    findings : tuple of Finding
        At most five.
    compared : int
        Comparisons that the findings were chosen from.
    adjusted, not_recorded : tuple of str
        What expectations were adjusted for; what they couldn't be.
    notes : tuple of str
    """

    quarter: str
    salon: str
    min_clients: int
    stylists: pd.DataFrame
    team: Mapping[str, Any]
    funnel: pd.DataFrame
    chart: pd.DataFrame
    run_length: float
    promises: pd.DataFrame
    trend: pd.DataFrame
    habits: pd.DataFrame
    narrowing: pd.DataFrame
    rows: Mapping[str, int]
    calibration: Mapping[str, Any]
    findings: tuple[Finding, ...]
    compared: int
    adjusted: tuple[str, ...]
    not_recorded: tuple[str, ...]
    notes: tuple[str, ...]

    def to_dict(self) -> dict[str, Any]:
        """As JSON values; None where a number is lacking or suppressed."""
        return {
            "quarter": self.quarter,
            "salon": self.salon or None,
            "coverage": COVERAGE,
            "stylists": [_stylist(row) for row in self.stylists.to_dict("records")],
            "team": {
                **{name: _json(value) for name, value in self.team.items()},
                "promises": _records(self.promises),
                "trend": _records(self.trend),
                "habits": _records(self.habits),
                "narrowing": _records(self.narrowing),
                "rows": dict(self.rows),
                "control_chart_run_length": _json(self.run_length),
                "adjusted_for": list(self.adjusted),
                "not_recorded": list(self.not_recorded),
                "notes": list(self.notes),
            },
            "calibration": {name: _json(value) for name, value in self.calibration.items()},
            "findings": [{name: _json(value) for name, value in vars(one).items()} for one in self.findings],
        }


def _stylist(row: Mapping[Any, Any]) -> dict[str, Any]:
    parts = {
        name: {key: _json(row[column]) for key, column in fields.items()} for name, fields in _OBJECTS.items()
    }
    return {
        "stylist": row["stylist"],
        "visits": _json(row["visits"]),
        "clients": _json(row["clients"]),
        **parts,
        "suppressed": bool(row["suppressed"]),
    }


def _records(frame: pd.DataFrame) -> list[dict[str, Any]]:
    return [{str(k): _json(v) for k, v in row.items()} for row in frame.to_dict("records")]


def _json(value: Any) -> Any:
    """Numbers of numpy as Python's, whole ones as int, what is lacking as None."""
    if isinstance(value, Mapping):
        return {name: _json(one) for name, one in value.items()}
    if value is None or (not isinstance(value, str) and pd.isna(value)):
        return None
    if hasattr(value, "item"):
        value = value.item()
    if isinstance(value, float) and not isinf(value) and value.is_integer() and abs(value) < 1e15:
        return int(value)
    if isinstance(value, float):
        return None if isinf(value) else round(value, 6)
    return value
