"""Reviews of invented teams, made by hand from a seed: every field that a page may show, or none of them."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd

from outcomes.review.expected import ADJUSTED
from outcomes.review.funnel import INNER, OUTER, binomial_limits
from outcomes.review.habits import HABITS
from outcomes.review.team import NEVER_RECORDED
from outcomes.review.team_review import Finding, TeamReview
from outcomes.show.figures.picture import Picture, look

PARTS = ("rates", "goal", "chart", "promises", "trend")

COLUMNS = (
    *("stylist", "suppressed", "visits", "clients", "rate_raw", "rate", "rate_low", "rate_high"),
    *("goal_observed", "goal_expected", "goal_n", "goal_share", "goal_share_low", "goal_share_high"),
    *("promise_quoted", "promise_needed", "promise_within", "promise_n"),
    *("loss_observed", "loss_expected", "loss_n", "fade", "fade_low", "fade_high"),
    *("change", "change_low", "change_high", "best_third", "lowest_third"),
    *("looks", "rounded_to", "no_stop", "no_quote", "no_condition"),
)
FRAMES = {
    "funnel": ("n", "target", "low_95", "high_95", "low_998", "high_998"),
    "chart": ("stylist", "visit", "mean", "limit", "signal"),
    "promises": ("quoted", "needed", "within", "n", "unsettled"),
    "trend": ("quarter", "median", "low", "high", "expected", "visits"),
    "habits": (
        *("habit", "lowest", "lowest_stylist", "highest", "highest_stylist", "odds_ratio", "low", "high"),
        *("n", "p", "words", "step_words"),
    ),
    "narrowing": ("habit", "now", "narrower"),
}
FINDINGS = (
    Finding(
        "promise", "S3",
        "S3: courses took 0.6 sessions more than quoted, on average (90 % band 0.3 to 0.9; 21 courses).",
        0.6, 0.3, 0.9, 21, 0.0004,
    ),
    Finding(
        "rate", "S6",
        "S6: hair lifted at a rate 1.12 times that of the team's middle, all else alike (90 % band 1.05 to "
        "1.19; 64 visits).",
        1.12, 1.05, 1.19, 64, 0.002,
    ),
)  # fmt: skip


def stylist_rows(codes: list[str], hidden: tuple[str, ...] = (), seed: int = 1) -> pd.DataFrame:
    """A row for each stylist; NaN for those who are hidden."""
    rng = np.random.default_rng(seed)
    k = len(codes)
    visits = rng.integers(18, 90, k)
    raw, rate = np.exp(rng.normal(0, 0.13, k)), np.exp(rng.normal(0, 0.06, k))
    chance = rng.uniform(0.5, 0.75, k)
    observed = rng.binomial(visits, chance)
    courses = rng.integers(6, 25, k)
    best = rng.dirichlet(np.full(3, 2.0), k)
    loss = rng.gamma(9, 0.05, k)
    quoted = rng.uniform(1.4, 3.2, k)
    change, fade = np.exp(rng.normal(0, 0.06, k)), np.exp(rng.normal(0, 0.08, k))
    values: dict[str, Any] = {
        "visits": visits, "clients": (visits * 0.7).astype(int),
        "rate_raw": raw, "rate": rate, "rate_low": rate * 0.9, "rate_high": rate * 1.11,
        "goal_observed": observed, "goal_expected": visits * chance, "goal_n": visits,
        "goal_share": observed / visits, "goal_share_low": observed / visits - 0.1,
        "goal_share_high": np.minimum(1.0, observed / visits + 0.1),
        "promise_quoted": quoted, "promise_needed": quoted + rng.normal(0.2, 0.3, k),
        "promise_within": rng.binomial(courses, 0.7), "promise_n": courses,
        "loss_observed": loss, "loss_expected": rng.gamma(30, 0.015, k), "loss_n": visits - 3,
        "fade": fade, "fade_low": fade * 0.88, "fade_high": fade * 1.14,
        "change": change, "change_low": change * 0.9, "change_high": change * 1.12,
        "best_third": best[:, 0], "lowest_third": best[:, 1],
        "looks": rng.uniform(0.2, 1.0, k), "rounded_to": rng.choice([0.0, 5.0, 10.0, 15.0], k),
        "no_stop": rng.uniform(0, 0.15, k), "no_quote": rng.uniform(0, 0.5, k),
        "no_condition": rng.uniform(0, 0.3, k),
    }  # fmt: skip
    rows = pd.DataFrame({"stylist": codes, "suppressed": [code in hidden for code in codes], **values})
    numbers = list(COLUMNS[2:])
    rows[numbers] = rows[numbers].astype(float)
    rows.loc[rows["suppressed"], numbers] = np.nan
    return rows[list(COLUMNS)]


def made_review(codes: list[str], hidden: tuple[str, ...] = (), seed: int = 1, **changes: Any) -> TeamReview:
    """A review with every part; `changes` replace fields."""
    rng = np.random.default_rng(seed)
    shown = [code for code in codes if code not in hidden]
    rows = stylist_rows(codes, hidden, seed)
    n = np.arange(5, 101, 5)
    limits = binomial_limits(0.64, n, (INNER[0], INNER[1], OUTER[0], OUTER[1]))
    mean = rng.normal(0, 0.33, (len(shown), 40))
    quarters = [f"{year}Q{q}" for year in (2025, 2026) for q in (1, 2, 3, 4)][:7]
    habits = [
        {
            "habit": habit.name, "lowest": lowest, "lowest_stylist": shown[0] if shown else None,
            "highest": highest, "highest_stylist": shown[-1] if shown else None,
            "odds_ratio": odds, "low": odds * 0.8, "high": odds * 1.25, "n": 2134, "p": 0.2,
            "words": habit.words, "step_words": habit.step_words,
        }
        for habit, lowest, highest, odds in zip(
            HABITS, (31.2, 5.1, 0.3, 1.1), (44.7, 7.9, 1.4, 4.2), (1.24, 1.09, 0.97, 1.13), strict=True
        )
    ]  # fmt: skip
    fields: dict[str, Any] = {
        "quarter": "2026Q3", "salon": "", "min_clients": 5, "stylists": rows,
        "team": {
            "visits": 412, "clients": 287, "stylists": len(codes),
            "goal": {"observed": 266, "expected": 261.4, "n": 412},
            "promise": {"quoted": 2.1, "needed": 2.4, "within": 71, "n": 98},
            "condition_loss": {"observed": 0.41, "expected": 0.44, "n": 371},
            "data_quality": {"looks": 0.58, "rounded_to": 5.0, "no_stop": 0.04, "no_quote": 0.31,
                             "no_condition": 0.1},
            "overdispersion": {"ratio": 1.3, "between": 0.031},
            "rate_sd": {"stylist": 0.08, "quarter": 0.04}, "fade_measure": "level",
        },
        "funnel": pd.DataFrame(
            {"n": n, "target": 0.64, "low_95": limits[:, 0], "high_95": limits[:, 1],
             "low_998": limits[:, 2], "high_998": limits[:, 3]}
        ),
        "chart": pd.DataFrame(
            {"stylist": np.repeat(shown, 40), "visit": np.tile(np.arange(1, 41), len(shown)),
             "mean": mean.ravel(), "limit": 0.987, "signal": np.abs(mean.ravel()) > 0.987}
        ),
        "run_length": 499.8,
        "promises": pd.DataFrame(
            {"quoted": [1.0, 2.0, 3.0, 4.0], "needed": [1.2, 2.3, 3.4, np.nan], "within": [25, 32, 14, 0],
             "n": [31, 44, 23, 0], "unsettled": [2, 9, 12, 3]}
        ),
        "trend": pd.DataFrame(
            {"quarter": quarters, "median": [2.0, 2.2, 2.1, 2.6, 2.0, 1.9, 2.1], "low": 1.7, "high": 2.8,
             "expected": [2.1, 2.2, 2.0, 2.6, 2.3, 2.2, 2.1], "visits": [301, 322, 340, 377, 365, 390, 412]}
        ),
        "habits": pd.DataFrame(habits),
        "narrowing": pd.DataFrame(
            {"habit": ["looks", "minutes", "rows"], "now": [0.58, 5.0, 0.9884],
             "narrower": [0.118, 0.021, 0.0058]}
        ),
        "rows": {"visits_in": 2159, "visits_set_aside": 25, "no_stop": 12},
        "calibration": {"coverage": 0.8, "holds": 0.812, "low": 0.771, "high": 0.848, "readings": 655,
                        "clients": 240, "of": "quarter"},
        "findings": FINDINGS, "compared": 61,
        "adjusted": tuple(list(ADJUSTED)[:-1]), "not_recorded": ("wrap of the head", *NEVER_RECORDED),
        "notes": ("Fade rests on 143 readings after washes.",),
    }  # fmt: skip
    return TeamReview(**(fields | changes))


def empty_review(codes: list[str], **changes: Any) -> TeamReview:
    """A review in which nothing could be worked out."""
    rows = pd.DataFrame(np.nan, index=range(len(codes)), columns=list(COLUMNS))
    rows = rows.assign(stylist=codes, suppressed=False)
    fields: dict[str, Any] = {
        "quarter": "2026Q3", "salon": "", "min_clients": 5, "stylists": rows,
        "team": dict.fromkeys(
            ("visits", "clients", "stylists", "goal", "promise", "condition_loss", "data_quality",
             "overdispersion", "rate_sd", "fade_measure")
        ),
        **{name: pd.DataFrame(columns=list(columns)) for name, columns in FRAMES.items()},
        "run_length": float("nan"), "rows": {"visits_in": 0, "visits_set_aside": 0, "no_stop": 0},
        "calibration": {"coverage": 0.8, "holds": None, "low": None, "high": None, "readings": 0,
                        "clients": 0, "of": "quarter", "note": "fewer than 40 readings"},
        "findings": (), "compared": 0, "adjusted": (), "not_recorded": (), "notes": (),
    }  # fmt: skip
    return TeamReview(**(fields | changes))


def stand_ins(text: str = "") -> dict[str, Picture]:
    """A small figure for each part, the same letters in all of them."""
    pictures = {}
    for part in PARTS:
        with look(5.6, 2.4) as figure:
            axes = figure.add_subplot()
            axes.plot([1, 2, 3], [2.0, 1.0, 3.0], marker="o")
            axes.set_title(text or part, parse_math=False)
        pictures[part] = Picture(figure, f"Figure of {part} {text}", f"In words: {part}, 1 to 3. {text}")
    return pictures
