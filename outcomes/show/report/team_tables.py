"""What holds for the team as a whole, as small tables."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from outcomes.review.team_review import TeamReview
from outcomes.show.report.rounded import band, hundredths, mean, quarter_words, whole
from outcomes.show.report.table import Cell, Table, records, tabled

__all__ = ["team_tables"]


def team_tables(review: TeamReview) -> dict[str, Table]:
    """Tables by what they tell.

    Parameters
    ----------
    review : TeamReview

    Returns
    -------
    dict of str to Table
        "promises", "trend", "habits", "associations".
    """
    return {
        "promises": tabled(
            "By sessions quoted, means over settled courses",
            ("Quoted", "Needed", "Within quote", "Of courses", "Not settled"),
            [(mean(row["quoted"]).removesuffix(".0"), _promises(row)) for row in records(review.promises)],
            "",  # said of stylists
        ),
        "trend": tabled(
            "Sessions until the goal, quarter by quarter",
            ("Quarter", "Median", "Expected", "Visits"),
            [(quarter_words(row["quarter"]), _trend(row)) for row in records(review.trend)],
            "No quarter has enough visits to tell how many sessions a goal took.",
        ),
        "habits": tabled(
            "Habits of work: the two stylists furthest apart, at the same mix of cases",
            ("Habit", "Lowest", "Highest"),
            [(str(row["words"]), _ends(row)) for row in records(review.habits)],
            "Habits can't be compared in this quarter.",
        ),
        "associations": tabled(
            "What goes with reaching the goal, over all visits so far",
            ("Difference", "Odds of the goal", "Visits"),
            [(str(row["step_words"]), _association(row)) for row in records(review.habits)],
            "There are too few visits to tell what goes with reaching the goal.",
        ),
    }


def _promises(row: Mapping[str, Any]) -> tuple[Cell, ...]:
    return (
        Cell(mean(row["needed"])),
        Cell(whole(row["within"])),
        Cell(whole(row["n"])),
        Cell(whole(row["unsettled"])),
    )


def _trend(row: Mapping[str, Any]) -> tuple[Cell, ...]:
    return (
        Cell(hundredths(row["median"]), band(row["low"], row["high"], 2)),
        Cell(hundredths(row["expected"])),
        Cell(whole(row["visits"])),
    )


def _ends(row: Mapping[str, Any]) -> tuple[Cell, ...]:
    return _end(row, "lowest"), _end(row, "highest")


def _end(row: Mapping[str, Any], end: str) -> Cell:
    who = row[f"{end}_stylist"]
    value = mean(row[end])
    return Cell(value, who=who if isinstance(who, str) else "") if value else Cell("")


def _association(row: Mapping[str, Any]) -> tuple[Cell, ...]:
    odds = hundredths(row["odds_ratio"])
    return Cell(odds, band(row["low"], row["high"])), Cell(whole(row["n"]) if odds else "")
