"""Whether a log covers a plan of sessions, and whether what is told of a client can be."""

from __future__ import annotations

from outcomes.answers.question import Question
from outcomes.predictive.known import KnownRate
from outcomes.predictive.lift import LiftPredictive
from outcomes.predictive.past import Past
from outcomes.predictive.plans import NEW, stand_in

__all__ = ["can_be", "support_of_question"]

FEW_COURSES = 400  # of equal weight: a chance then has a standard error of 0.025 at most
NO_COURSES = 100  # 0.05
HARDLY = "what is told of earlier sessions can hardly be of such hair; check levels, minutes, developer"
NOT_CONVERGED = "the fit did not converge"
RARE = "sessions like these are so rare that chances are good to a few in 100 only"
STARTER = "starter values of the trade (common practice, no source) stand in for a log that is small or empty"


def can_be(rate: KnownRate | None) -> bool:
    """Whether what was told of a client can be of such hair; if not, the forecast is that of a new client.

    Parameters
    ----------
    rate : KnownRate or None
        None: nothing was told.

    Returns
    -------
    bool
    """
    return rate is None or rate.courses >= NO_COURSES


def support_of_question(
    predictive: LiftPredictive,
    question: Question,
    needed: int,
    past: Past | None = None,
    rate: KnownRate | None = None,
) -> tuple[str, tuple[str, ...]]:
    """Whether the log covers a plan that needs so many sessions, and what speaks against it.

    Parameters
    ----------
    predictive : LiftPredictive
    question : Question
    needed : int
        Median number of sessions, those of the course that were included.
    past : Past, optional
        Earlier sessions of a known client.
    rate : KnownRate, optional
        That client's.

    Returns
    -------
    word : {"inside", "edge", "outside"}
    notes : tuple of str
        One for everything that isn't inside.
    """
    numbers = {
        "start_level": question.start,
        "goal_level": question.goal,
        "gain": question.goal - question.start,
        "peroxide_pct": question.peroxide,
        "minutes": question.minutes,
    }
    words = {"hair": question.hair, "heat": question.heat}
    if question.stylist not in (None, NEW):
        words["stylist"] = str(question.stylist)
    support, found = predictive.support.assess(numbers, words, needed, usual=predictive.basis.starter)
    notes = list(found)
    for column in ("hair", "heat"):
        other = stand_in(predictive.design, column, words[column])
        if other != words[column]:
            notes.append(f"{column} {words[column]} is worked out as {other}, the nearest that was logged")
    if any(note.startswith(NOT_CONVERGED) for note in predictive.notes):
        support = "outside"
        notes.append("the fit of this log did not converge, so its numbers can't be relied on")
    if predictive.basis.starter:
        support = "edge" if support == "inside" else support
        notes.append(STARTER)
    if question.stylist == NEW and len(predictive.stylists) == 1:
        support = "edge" if support == "inside" else support
        notes.append("with a single stylist in the log, how much stylists differ isn't known")
    if earlier := _never_logged(predictive, past):
        support = "edge" if support == "inside" else support
        notes += earlier
    if not can_be(rate):
        support = "outside"
        notes.append(HARDLY)
    elif rate is not None and rate.courses < FEW_COURSES:
        support = "edge" if support == "inside" else support
        notes.append(RARE)
    return support, tuple(notes)


def _never_logged(predictive: LiftPredictive, past: Past | None) -> list[str]:
    """What the log doesn't cover of earlier sessions: the client's rate goes beyond it there."""
    found = []
    for number, visit in enumerate(past.visits if past is not None else (), start=1):
        numbers = {"start_level": visit.start, "peroxide_pct": visit.peroxide, "minutes": visit.rinse}
        words = {"heat": visit.heat} if visit.hair is None else {"hair": visit.hair, "heat": visit.heat}
        word, notes = predictive.support.assess(numbers, words, usual=predictive.basis.starter)
        found += [f"earlier session {number}: {note}" for note in notes if word == "outside"]
    return found
