"""Sentences of a team's page: who isn't shown, how figures are read, how far it all can be trusted."""

from __future__ import annotations

from collections.abc import Mapping
from math import exp
from typing import Any

from outcomes.answers.wording import count
from outcomes.review.narrowing import WORTH_SAYING
from outcomes.review.team_review import TeamReview
from outcomes.show.report.rounded import is_lacking, share, share_band, whole

__all__ = [
    "GUIDES",
    "calibration_sentence",
    "hidden_sentence",
    "rows_sentence",
    "spread_sentence",
    "writing_sentence",
]

GUIDES: Mapping[str, str] = {
    "rates": "A line that crosses 1 belongs to a stylist whose lift can't be told from the middle "
    "of the team.",
    "goal": "Points outside the outer lines are further off than chance takes 998 in 1,000; those between "
    "the lines differ by what chance makes of so few visits.",
    "chart": "A line that stays between the limits is a stylist who works as before; a mark beyond them "
    "says that something changed at about that visit.",
    "promises": "Where a mark lies above the line, more sessions were needed than quoted.",
    "trend": "Where both kinds of mark move together, cases changed; where they part, the work did, or "
    "something that isn't written down.",
}
"""One sentence to read each figure by."""


def hidden_sentence(review: TeamReview) -> str:
    """Whose numbers aren't shown and why.

    Parameters
    ----------
    review : TeamReview

    Returns
    -------
    str
    """
    least = review.min_clients
    return (
        f"Fewer than {least} clients: not shown. Where that hides one stylist only, or too few clients "
        "together, the stylist with the next fewest is hidden too, so that a total doesn't give the "
        "first away."
    )


def spread_sentence(review: TeamReview) -> str:
    """How far stylists' true rates lie apart; empty where it isn't known.

    Parameters
    ----------
    review : TeamReview

    Returns
    -------
    str
    """
    sds: Mapping[str, Any] = review.team.get("rate_sd") or {}
    stylist, quarter = (sds.get(name, float("nan")) for name in ("stylist", "quarter"))
    if is_lacking(stylist):
        return ""
    said = f"Over the whole log, lift rates of stylists differ by about {share(exp(stylist) - 1.0)} (one sd)"
    if is_lacking(quarter):
        return f"{said}."
    return f"{said}, and each one's from quarter to quarter by about {share(exp(quarter) - 1.0)}."


def rows_sentence(review: TeamReview) -> str:
    """Rows of the whole log that were used and set aside.

    Parameters
    ----------
    review : TeamReview

    Returns
    -------
    str
    """
    given, aside, no_stop = (review.rows[name] for name in ("visits_in", "visits_set_aside", "no_stop"))
    said = f"Of {count(given, 'row')} of visits in the whole log, {whole(given - aside)} were used"
    if not aside:
        return f"{said} and none set aside."
    why = f", {whole(no_stop)} of them for want of a stop reason" if no_stop else ""
    return f"{said} and {whole(aside)} set aside{why}."


def writing_sentence(review: TeamReview) -> tuple[str, str]:
    """The one change in how visits are written that would narrow bands most.

    Parameters
    ----------
    review : TeamReview

    Returns
    -------
    tuple of str
        What to do (empty where nothing is worth it), and what it would do.
    """
    frame = review.narrowing
    if not len(frame) or is_lacking(frame["narrower"].iloc[0]):
        return "", "What a change in how visits are written would do can't be worked out for this quarter."
    habit, now, narrower = (frame[name].iloc[0] for name in ("habit", "now", "narrower"))
    if narrower < WORTH_SAYING:
        return "", (
            f"No change in how visits are written would narrow bands by {share(WORTH_SAYING)} or more."
        )
    to_do, state = {
        "looks": ("Write each look down", f"Looks are written for {share(now)} of visits now"),
        "minutes": ("Write minutes as they are, not rounded", f"They're rounded to {whole(now)} now"),
        "rows": ("Mend rows that are set aside", f"{share(now)} of rows are used now"),
    }[habit]
    effect = f"The change would narrow the bands of lift rates by {share(narrower)}, more than any other."
    return to_do, f"{state}. {effect}"


def calibration_sentence(review: TeamReview) -> str:
    """Whether bands held as often as they say.

    Parameters
    ----------
    review : TeamReview

    Returns
    -------
    str
    """
    found = review.calibration
    holds = found.get("holds")
    if is_lacking(holds):
        note = found.get("note") or "too few readings"
        return f"Whether bands held as often as they say couldn't be checked: {note}."
    wanted, low, high = found["coverage"], found["low"], found["high"]
    where = "in this quarter" if found["of"] == "quarter" else "when the model was checked"
    rests = count(int(found["clients"]), "client")
    if not is_lacking(found["readings"]):
        rests = f"{count(int(found['readings']), 'reading')} of {rests}"
    said = f"Of {share(wanted)} bands, {share(holds)} held {where} ({share_band(low, high)}; {rests})."
    if low <= wanted <= high:
        return f"{said} That is as often as they should."
    if holds < wanted:
        return f"{said} That is less often than they should: take every band here as too narrow."
    return f"{said} That is more often than they should: bands here are wider than they need be."
