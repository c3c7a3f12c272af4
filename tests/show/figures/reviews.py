"""Quarterly reviews made by hand: any number of stylists, some suppressed, codes of any kind."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
import pandas as pd

from outcomes.review.control_chart import chart
from outcomes.review.funnel import INNER, OUTER, binomial_limits
from outcomes.review.team_review import TeamReview

HOSTILE = (
    "$\\frac{a}{b}$",
    "<script>alert(1)</script>",
    "A&B; -->",
    "two\nlines\tand\rmore",
    "W" * 200,
    "W" * 199 + "X",
    "שלום-1",
    "مرحبا",
    "\N{WOMAN}\N{ZERO WIDTH JOINER}\N{BLACK SCISSORS}",
    "日本",
    "中国",
    "\N{RIGHT-TO-LEFT OVERRIDE}321\x00\x1b[0m",
    "e" + 60 * "\N{COMBINING ACUTE ACCENT}",
    " ",
    "$",
    "{}%s",
)

_PARTS = (
    ("rate_raw", "rate", "rate_low", "rate_high"),
    ("goal_observed", "goal_expected", "goal_n", "goal_share", "goal_share_low", "goal_share_high"),
    ("promise_quoted", "promise_needed", "promise_within", "promise_n"),
    ("loss_observed", "loss_expected", "loss_n"),
    ("fade", "fade_low", "fade_high"),
    ("change", "change_low", "change_high"),
    ("best_third", "lowest_third"),
    ("looks", "rounded_to", "no_stop", "no_quote", "no_condition"),
)
NUMBERS = ("visits", "clients", *(name for part in _PARTS for name in part))
TARGET = 0.62


def codes_of(number: int) -> list[str]:
    return [f"S{k:02d}" for k in range(1, number + 1)]


def made_review(
    codes: Sequence[str], seed: int = 1, suppressed: Sequence[int] = (), **changes: Any
) -> TeamReview:
    """A review of stylists with these codes; those at the places `suppressed` have no numbers."""
    rng = np.random.default_rng(seed)
    k = len(codes)
    n = rng.integers(25, 190, k)
    share = rng.binomial(n, np.clip(TARGET + 0.05 * rng.standard_normal(k), 0.05, 0.95)) / n
    rate = np.exp(0.1 * rng.standard_normal(k))
    half = 0.03 + 0.5 / np.sqrt(n)
    stylists = pd.DataFrame(
        {
            "stylist": list(codes), "suppressed": False, "visits": n + 10, "clients": n // 2,
            "rate_raw": rate**1.6 * np.exp(0.06 * rng.standard_normal(k)), "rate": rate,
            "rate_low": rate * np.exp(-half), "rate_high": rate * np.exp(half),
            "goal_observed": share * n, "goal_expected": TARGET * n, "goal_n": n, "goal_share": share,
            "goal_share_low": np.maximum(share - half, 0.0), "goal_share_high": np.minimum(share + half, 1.0),
            "change": rate, "change_low": rate * 0.9, "change_high": rate * 1.1,
        }
    )  # fmt: skip
    stylists = stylists.reindex(columns=["stylist", "suppressed", *NUMBERS])
    stylists[list(NUMBERS)] = stylists[list(NUMBERS)].astype(float)
    stylists.loc[list(suppressed), list(NUMBERS)] = np.nan
    stylists.loc[list(suppressed), "suppressed"] = True
    upto = np.arange(5, 221)
    limits = np.hstack([binomial_limits(TARGET, upto, p) for p in (INNER, OUTER)])
    fields: dict[str, Any] = {
        "quarter": "2026Q3",
        "salon": "",
        "min_clients": 5,
        "stylists": stylists,
        "team": {"visits": int(n.sum()), "clients": 400, "stylists": k},
        "funnel": pd.DataFrame(limits, columns=["low_95", "high_95", "low_998", "high_998"]).assign(
            n=upto, target=TARGET
        ),
        "chart": _charts(stylists, rng),
        "run_length": chart([0.0]).run_length,
        "promises": pd.DataFrame(
            {
                "quoted": [1.0, 2.0, 3.0, 4.0], "needed": [1.21, 2.34, 2.9, 4.6],
                "within": [61, 88, 22, 5], "n": [74, 131, 28, 11], "unsettled": [3, 12, 9, 6],
            }
        ),
        "trend": pd.DataFrame(
            {
                "quarter": ["2025Q2", "2025Q3", "2025Q4", "2026Q1", "2026Q2", "2026Q3"],
                "median": [2.1, 2.0, 2.2, 1.9, 1.8, 1.8], "low": [1.8, 1.8, 1.9, 1.7, 1.6, 1.5],
                "high": [2.5, 2.3, 2.6, 2.2, 2.1, 2.2], "expected": [2.0, 2.05, 2.1, 1.95, 1.9, 1.75],
                "visits": [310, 402, 377, 421, 450, 438],
            }
        ),
        "habits": pd.DataFrame(), "narrowing": pd.DataFrame(), "rows": {}, "calibration": {},
        "findings": (), "compared": 0, "adjusted": (), "not_recorded": (), "notes": (),
    }  # fmt: skip
    return TeamReview(**(fields | changes))


def _charts(stylists: pd.DataFrame, rng: np.random.Generator) -> pd.DataFrame:
    """Every fifth stylist changes half way through the quarter."""
    parts = []
    for place, row in enumerate(stylists[~stylists["suppressed"]].to_dict("records")):
        visits = int(row["visits"])
        residuals = rng.standard_normal(visits)
        if place % 5 == 0:
            residuals[visits // 2 :] += 1.1 * (-1) ** (place // 5 + 1)
        found = chart(residuals)
        parts.append(
            pd.DataFrame(
                {
                    "stylist": row["stylist"], "visit": np.arange(1, visits + 1), "mean": found.mean,
                    "limit": found.limit, "signal": found.signals,
                }
            )
        )  # fmt: skip
    columns = ["stylist", "visit", "mean", "limit", "signal"]
    return pd.concat(parts, ignore_index=True) if parts else pd.DataFrame(columns=columns)
