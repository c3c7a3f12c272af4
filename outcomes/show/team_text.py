"""A team's quarter as plain text for a terminal: what to talk about, and a line for each stylist."""

from __future__ import annotations

import unicodedata
from typing import Any

import numpy as np

from outcomes.answers.wording import count
from outcomes.review.team_review import TeamReview
from outcomes.show.plan_text import wrapped

__all__ = ["NOTHING", "NOT_COMPARED", "NO_VERDICT", "team_text"]

NOTHING = "Nothing stands out beyond chance this quarter, which is how most quarters are."

NOT_COMPARED = "Nothing could be compared this quarter."

NO_VERDICT = (
    "This is practice to look into together, never a verdict on a person: not for pay, not for discipline."
)

_CODE = 12  # characters of a stylist's code
_HEADS = ("visits", "clients", "rate", "90 % band", "alone", "reached", "expected")
_WIDTHS = (6, 7, 5, 12, 5, 7, 8)


def team_text(review: TeamReview) -> str:
    """What to talk about, then every stylist.

    Parameters
    ----------
    review : TeamReview

    Returns
    -------
    str
        Several lines.
    """
    team = review.team
    of = f", salon {review.salon}" if review.salon else ""
    told = "" if team["visits"] is None else f": {count(team['visits'], 'visit')} of "
    clients = "" if team["visits"] is None else count(team["clients"], "client")
    lines = [f"{review.quarter}{of}{told}{clients}, {count(team['stylists'], 'stylist')}", ""]
    lines += [f"  ! {one.sentence}" for one in review.findings]
    if not review.findings:
        lines.append(f"  {NOTHING if review.compared else NOT_COMPARED}")
    lines += ["", *_table(review), "", *_below(review), ""]
    lines += [f"  {NO_VERDICT}"]
    return "\n".join(wrapped(line) if len(line) > 80 else line for line in lines)


def _table(review: TeamReview) -> list[str]:
    heads = "  ".join(head.rjust(width) for head, width in zip(_HEADS, _WIDTHS, strict=True))
    lines = [f"  {'stylist':<{_CODE}}  {heads}"]
    for row in review.stylists.to_dict("records"):
        code = _printable(row["stylist"])
        if row["suppressed"]:
            lines.append(f"  {code}  not shown, to keep few clients from being told apart")
            continue
        cells = (
            f"{row['visits']:.0f}",
            f"{row['clients']:.0f}",
            _number(row["rate"], 2),
            "" if np.isnan(row["rate"]) else f"{row['rate_low']:.2f} to {row['rate_high']:.2f}",
            _number(row["rate_raw"], 2),
            _number(row["goal_observed"], 0),
            _number(row["goal_expected"], 1),
        )
        told = "  ".join(cell.rjust(width) for cell, width in zip(cells, _WIDTHS, strict=True))
        lines.append(f"  {code}  {told}")
    return lines


def _below(review: TeamReview) -> list[str]:
    lines = [
        "  rate: of lift, over the middle of the team's, all else alike, drawn towards it as far as few "
        "visits tell little",
        "  alone: the rate by the quarter's own visits alone",
        "  reached, expected: visits that reached their goal, and as many as were expected of such visits",
    ]
    held = review.calibration
    if held["holds"] is None:
        lines.append(f"  note: how often bands held isn't known: {held['note']}")
    else:
        when = "in this quarter" if held["of"] == "quarter" else "in the model's log"
        lines.append(
            f"  bands: of 80 % bands {100 * held['holds']:.0f} % held {when} "
            f"({100 * held['low']:.0f} to {100 * held['high']:.0f})"
        )
    if review.stylists["suppressed"].any():
        lines.append(
            f"  note: numbers of fewer than {review.min_clients} clients aren't shown; where that hides one "
            "stylist alone another is hidden too, or the totals would tell"
        )
    return lines + [f"  note: {note}" for note in review.notes]


def _number(value: Any, digits: int) -> str:
    return "" if np.isnan(value) else f"{value:.{digits}f}"


def _printable(code: str) -> str:
    """A code in its column, without what would move the terminal's cursor."""
    plain = "".join(" " if unicodedata.category(mark).startswith("C") else mark for mark in code)
    short = plain if len(plain) <= _CODE else plain[: _CODE - 1] + "…"
    return f"{short:<{_CODE}}"
