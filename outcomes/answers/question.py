"""A question at the consultation, checked: start, goal, hair, developer, heat, longest time, whose hands."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from difflib import get_close_matches

import numpy as np

from outcomes.answers.inputs import read_level, read_number, read_word
from outcomes.errors import InputError
from outcomes.log.schema import PERCENT_PER_VOLUME, PEROXIDE_LIMIT
from outcomes.predictive.lift import LiftPredictive
from outcomes.predictive.plans import HAIR, HEAT, NEW, Plans
from outcomes.predictive.saved import Fitted, SalonModel, as_predictive

__all__ = ["LONGEST", "SHORTEST", "Question", "ask", "plans_of", "read_strength", "read_stylist"]

WEAKEST = 1.5  # %, as in the visit log
VOLUMES = (20.0, 30.0, 40.0)  # above 12; others that high are a slip, no strength that is sold
SHORTEST, LONGEST = 1.0, 180.0  # minutes
_LISTED = 30  # codes that an error still lists


@dataclass(frozen=True)
class Question:
    """Level `start` to level `goal`, worked in this way in every session.

    Attributes
    ----------
    start, goal : float
        Levels, half steps.
    hair : {"natural", "coloured", "lightened"}
    peroxide : float
        Developer strength, %.
    heat : {"none", "low", "medium", "high"}
    minutes : float
        Longest processing time intended.
    stylist : str or None
        A code of the log, "new", or None for one of the log's stylists in proportion to their visits.
    """

    start: float
    goal: float
    hair: str
    peroxide: float
    heat: str
    minutes: float
    stylist: str | None = None


def ask(
    model: SalonModel | LiftPredictive | Fitted,
    start: float | str,
    goal: float | str,
    hair: str,
    peroxide: float | str,
    heat: str,
    minutes: float | str,
    stylist: str | None = None,
) -> Question:
    """The question, if it's one that can be answered.

    Parameters
    ----------
    model : SalonModel, LiftPredictive or fitted LiftModel
        Whose scale and stylists the question is checked against.
    start, goal : float or str
        Levels, half steps.
    hair : {"natural", "coloured", "lightened"}
    peroxide : float or str
        Developer strength: a number of %, "6 %" or "20 vol".
    heat : {"none", "low", "medium", "high"}
    minutes : float or str
        Longest processing time intended.
    stylist : str, optional
        A code of the log, or "new".

    Returns
    -------
    Question

    Raises
    ------
    InputError
        A level off the grid or off the scale, a goal at or below the start, developer above 12 % (or below
        1.5), minutes outside 1 to 180, a word that isn't allowed, a stylist whom the log doesn't know.
    """
    start, goal = (read_level(name, value) for name, value in (("start", start), ("goal", goal)))
    if goal <= start:
        raise InputError(
            f"goal: found level {goal:g} at or below the start, level {start:g}; expected a lighter level; "
            "raise the goal or correct the start"
        )
    strength = read_strength(peroxide)
    longest = read_number("minutes", minutes)
    if not SHORTEST <= longest <= LONGEST:
        raise InputError(
            f"minutes: found {longest:g}; expected 1 to 180; give the longest processing time you intend"
        )
    return Question(
        start,
        goal,
        read_word("hair", hair, HAIR),
        strength,
        read_word("heat", heat, HEAT),
        longest,
        read_stylist(as_predictive(model), stylist),
    )


def plans_of(questions: Sequence[Question]) -> Plans:
    """The questions as columns, to be simulated together.

    Parameters
    ----------
    questions : sequence of Question

    Returns
    -------
    Plans
        In the order of the questions.
    """
    return Plans(
        np.array([q.start for q in questions]),
        np.array([q.goal for q in questions]),
        tuple(q.hair for q in questions),
        np.array([q.peroxide for q in questions]),
        tuple(q.heat for q in questions),
        np.array([q.minutes for q in questions]),
        tuple(q.stylist for q in questions),
    )


def read_strength(value: float | str) -> float:
    """Developer in %, written as a number, as "6 %" or as "20 vol".

    Parameters
    ----------
    value : float or str

    Returns
    -------
    float

    Raises
    ------
    InputError
        Above 12 % or below 1.5 %; no number.
    """
    strength = _percent(value)
    if strength > PEROXIDE_LIMIT:
        volume = f"; where it is volume, write {strength:g} vol" if strength in VOLUMES else ""
        raise InputError(
            f"peroxide: found {strength:g} %; expected at most 12 % (40 volume), the limit for hair in "
            f"Regulation (EC) No 1223/2009, Annex III{volume or '; correct it'}"
        )
    if strength < WEAKEST:
        raise InputError(
            f"peroxide: found {strength:g} %; expected 1.5 to 12 %; give the developer's strength in %"
        )
    return strength


def _percent(value: float | str) -> float:
    text = str(value).strip().lower()
    volume = re.fullmatch(r"(?:vol\.?\s*)?([\d.,]+)\s*-?\s*(?:v|vol|vols|volume|volumes)?\.?", text)
    if volume and "v" in text:
        return round(read_number("peroxide", volume[1]) * PERCENT_PER_VOLUME, 2)
    return read_number("peroxide", text.removesuffix("%").rstrip() if isinstance(value, str) else value)


def read_stylist(predictive: LiftPredictive, value: str | None) -> str | None:
    """A stylist whom the log knows.

    Parameters
    ----------
    predictive : LiftPredictive
    value : str or None
        A code of the log, "new", or None for one of the log's stylists in proportion to their visits.

    Returns
    -------
    str or None

    Raises
    ------
    InputError
        Another code.
    """
    if value is None or not str(value).strip():
        return None
    code = str(value).strip()
    if code in predictive.stylists:
        return code
    if code.lower() == NEW:
        return NEW
    near = get_close_matches(code, predictive.stylists, n=1, cutoff=0.5)
    hint = f"did you mean {near[0]}? Otherwise leave it out" if near else "leave it out"
    known = predictive.stylists
    listed = ", ".join(known) if len(known) <= _LISTED else f"the log's {len(known)} codes"
    raise InputError(
        f"stylist: found {code!r}; expected one of {listed}, or new; {hint} for an answer for the whole team"
    )
