"""Results of each stylist as small tables, one for each question."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from outcomes.answers.wording import FADE_NAMES, likely
from outcomes.review.team_review import TeamReview
from outcomes.show.report.rounded import band, hundredths, is_lacking, mean, share, share_band, whole
from outcomes.show.report.table import Cell, Row, Table, records, tabled

__all__ = ["stylist_tables", "who_worked"]

HIDDEN = "not shown"


def who_worked(review: TeamReview) -> Table:
    """Visits and clients of each stylist, and whose numbers aren't shown.

    Parameters
    ----------
    review : TeamReview

    Returns
    -------
    Table
    """
    rows = tuple(
        Row(
            str(row["stylist"]),
            (Cell(HIDDEN), Cell(HIDDEN))
            if row["suppressed"]
            else (Cell(whole(row["visits"])), Cell(whole(row["clients"]))),
        )
        for row in records(review.stylists)
    )
    return Table(
        "Visits and clients of the quarter",
        ("Stylist", "Visits", "Clients"),
        rows,
        absent="No visits are logged in this quarter.",
    )


def stylist_tables(review: TeamReview) -> dict[str, Table]:
    """Tables by question; stylists whose numbers aren't shown are left out of them.

    Parameters
    ----------
    review : TeamReview

    Returns
    -------
    dict of str to Table
        "rate", "standing", "goal", "promise", "loss", "fade", "written".
    """
    shown = [row for row in records(review.stylists) if not row["suppressed"]]

    def each(cells: Callable[[Mapping[str, Any]], tuple[Cell, ...]]) -> list[tuple[str, tuple[Cell, ...]]]:
        return [(str(row["stylist"]), cells(row)) for row in shown]

    team = review.team
    fade_by = FADE_NAMES.get(str(team.get("fade_measure")), "")
    return {
        "rate": tabled(
            "Lift rate, over the middle of the team",
            ("Stylist", "By own visits", "Drawn to the team", "Against the quarter before"),
            each(_rate),
            "No lift rate of a stylist can be told in this quarter.",
        ),
        "standing": tabled(
            "Chances to be among the team's fastest and slowest",
            ("Stylist", "Fastest third", "Slowest third"),
            each(_standing),
            "Who is among the fastest and slowest can't be told in this quarter.",
            is_worded=True,
        ),
        "goal": tabled(
            "Visits that reached their goal",
            ("Stylist", "Reached", "Expected", "Of visits", "Share, all with the same cases"),
            each(_goal),
            "Whether visits reached their goal can't be told in this quarter.",
            _of(team.get("goal"), ("observed", whole), ("expected", mean), ("n", whole), None),
        ),
        "promise": tabled(
            "Sessions quoted and needed, means over settled courses",
            ("Stylist", "Quoted", "Needed", "Within quote", "Of courses"),
            each(_promise),
            "No settled course of this quarter has a number of sessions that was quoted.",
            _of(team.get("promise"), ("quoted", mean), ("needed", mean), ("within", whole), ("n", whole)),
        ),
        "loss": tabled(
            "Condition lost in a visit, points of 1 to 5",
            ("Stylist", "Lost", "Expected", "Of visits"),
            each(_loss),
            "Condition before and after is written for too few visits to tell what is lost.",
            _of(team.get("condition_loss"), ("observed", hundredths), ("expected", hundredths), ("n", whole)),
        ),
        "fade": tabled(
            f"Fade rate{f' by {fade_by}' if fade_by else ''}, over the middle of the team",
            ("Stylist", "Fade rate"),
            each(_fade),
            "No fade of a stylist's work can be told: too few readings after washes.",
        ),
        "written": tabled(
            "Shares of visits, as they were written down",
            ("Stylist", "With looks", "Minutes rounded", "Stopped for other", "No quote", "No condition"),
            each(_written),
            "There are no visits of a stylist to look at.",
            _written(team["data_quality"]) if team.get("data_quality") else None,
        ),
    }


def _rate(row: Mapping[str, Any]) -> tuple[Cell, ...]:
    return (
        Cell(hundredths(row["rate_raw"])),
        Cell(hundredths(row["rate"]), band(row["rate_low"], row["rate_high"])),
        Cell(hundredths(row["change"]), band(row["change_low"], row["change_high"])),
    )


def _standing(row: Mapping[str, Any]) -> tuple[Cell, ...]:
    return _chance(row["best_third"]), _chance(row["lowest_third"])


def _chance(p: Any) -> Cell:
    return Cell("" if is_lacking(p) else likely(p))


def _goal(row: Mapping[str, Any]) -> tuple[Cell, ...]:
    return (
        Cell(whole(row["goal_observed"])),
        Cell(mean(row["goal_expected"])),
        Cell(whole(row["goal_n"])),
        Cell(share(row["goal_share"]), share_band(row["goal_share_low"], row["goal_share_high"])),
    )


def _promise(row: Mapping[str, Any]) -> tuple[Cell, ...]:
    return (
        Cell(mean(row["promise_quoted"])),
        Cell(mean(row["promise_needed"])),
        Cell(whole(row["promise_within"])),
        Cell(whole(row["promise_n"])),
    )


def _loss(row: Mapping[str, Any]) -> tuple[Cell, ...]:
    return (
        Cell(hundredths(row["loss_observed"])),
        Cell(hundredths(row["loss_expected"])),
        Cell(whole(row["loss_n"])),
    )


def _fade(row: Mapping[str, Any]) -> tuple[Cell, ...]:
    return (Cell(hundredths(row["fade"]), band(row["fade_low"], row["fade_high"])),)


def _written(row: Mapping[str, Any]) -> tuple[Cell, ...]:
    step = row["rounded_to"]
    rounded = "" if is_lacking(step) else f"to {step:.0f}" if step else "no"
    return (
        Cell(share(row["looks"])),
        Cell(rounded),
        Cell(share(row["no_stop"])),
        Cell(share(row["no_quote"])),
        Cell(share(row["no_condition"])),
    )


def _of(found: Any, *columns: tuple[str, Any] | None) -> tuple[Cell, ...] | None:
    """The team's own row; None where it's lacking or suppressed."""
    if found is None:
        return None
    return tuple(Cell("") if column is None else Cell(column[1](found.get(column[0]))) for column in columns)
