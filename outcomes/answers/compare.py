"""Ways of working a goal side by side: what each comes to, and how often one takes fewer sessions.

All of them are worked on the same simulated clients on the same days, so they differ by what they are alone.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import combinations
from typing import Any

import numpy as np
import numpy.typing as npt

from outcomes.answers.inputs import read_number, read_word
from outcomes.answers.question import LONGEST, SHORTEST, Question, plans_of, read_strength
from outcomes.answers.sessions import MOST_SESSIONS, answer_all
from outcomes.answers.sessions_answer import SessionsAnswer
from outcomes.answers.wording import CAUTIONS
from outcomes.errors import InputError
from outcomes.predictive.lift import LiftPredictive
from outcomes.predictive.past import Past
from outcomes.predictive.plans import HEAT
from outcomes.predictive.saved import Fitted, SalonModel, as_predictive
from outcomes.predictive.simulate import course_by_course

__all__ = ["CompareAnswer", "Option", "Pair", "compare", "read_options"]

FloatArray = npt.NDArray[np.float64]

COURSES = 16384
MOST_OPTIONS = 8
KEYS = ("peroxide", "heat", "minutes")
NO_ADVICE = (
    "What was logged side by side is no advice: stronger developer, more heat and more time cost hair and "
    "skin, and the maker's instructions set their limits."
)


@dataclass(frozen=True)
class Option:
    """One way of working.

    Attributes
    ----------
    name : str
        What sets it apart, in words.
    answer : SessionsAnswer
    stopped : float
        Chance that hair condition ends the session to come before its time.
    """

    name: str
    answer: SessionsAnswer
    stopped: float


@dataclass(frozen=True)
class Pair:
    """Two ways of working, of which the log covers both.

    Attributes
    ----------
    first, second : str
        Names of the options.
    fewer, equal, more : float
        Chance that the first takes fewer sessions than the second, as many, more. Where both take more than
        12 it isn't known; they count as equal.
    """

    first: str
    second: str
    fewer: float
    equal: float
    more: float


@dataclass(frozen=True)
class CompareAnswer:
    """Options in the order in which they were asked for, and every pair of them.

    Attributes
    ----------
    options : tuple of Option
        The first is the plan itself.
    pairs : tuple of Pair
        Without options that are outside what the log covers.
    """

    options: tuple[Option, ...]
    pairs: tuple[Pair, ...]

    def __str__(self) -> str:
        return "\n".join(f"{one.name}: {one.answer}" for one in self.options)

    def to_dict(self) -> dict[str, Any]:
        """The answer as JSON values."""
        options = [
            {
                "name": one.name,
                **one.answer.to_dict(),
                "stopped_for_condition": None if one.answer.support == "outside" else round(one.stopped, 6),
            }
            for one in self.options
        ]
        for option in options:
            del option["cautions"]
        pairs = [
            {
                "first": pair.first,
                "second": pair.second,
                **{name: round(getattr(pair, name), 6) for name in ("fewer", "equal", "more")},
            }
            for pair in self.pairs
        ]
        return {"options": options, "pairs": pairs, "note": NO_ADVICE, "cautions": list(CAUTIONS)}


def read_options(question: Question, texts: str | Sequence[str]) -> tuple[tuple[str, Question], ...]:
    """The plan itself and its changes, from texts such as "peroxide=6,heat=medium".

    Parameters
    ----------
    question : Question
    texts : sequence of str, or a single one
        What differs: peroxide, heat, minutes.

    Returns
    -------
    tuple of (name, Question)
        The plan first; names say what differs between them.

    Raises
    ------
    InputError
        A text that isn't of that form, a value that can't be used, the same plan twice, more than 7 of them.
    """
    texts = [texts] if isinstance(texts, str) else texts
    if len(texts) >= MOST_OPTIONS:
        raise InputError(
            f"compare: found {len(texts)} options; expected {MOST_OPTIONS - 1} at most; leave some out"
        )
    questions = [question, *(_changed(question, text) for text in texts)]
    differs = [key for key in KEYS if len({getattr(one, key) for one in questions}) > 1]
    names = [_named(one, differs) for one in questions]
    for number, name in enumerate(names):
        if name in names[:number]:
            raise InputError(
                f"compare: found the same plan twice: {texts[number - 1]!r}; leave one of them out"
            )
    return tuple(zip(names, questions, strict=True))


def compare(
    model: SalonModel | LiftPredictive | Fitted,
    options: Sequence[tuple[str, Question]],
    *,
    past: Past | None = None,
    limit: int = 6,
    seed: int = 1,
) -> CompareAnswer:
    """Work the same clients in several ways.

    Parameters
    ----------
    model : SalonModel, LiftPredictive or fitted LiftModel
    options : sequence of (name, Question)
        From `read_options`, whose question comes from `outcomes.ask`.
    past : Past, optional
        Of the client whom all are about.
    limit, seed : int
        As in `outcomes.sessions`.

    Returns
    -------
    CompareAnswer

    Raises
    ------
    InputError
        As `outcomes.sessions`.
    """
    predictive = as_predictive(model)
    questions = [question for _, question in options]
    answers = answer_all(predictive, questions, past=past, limit=limit, seed=seed)
    plans = plans_of(questions)
    # followed as far as anybody goes, so that it doesn't hang on the limit who takes more sessions
    chances, weight = course_by_course(predictive, plans, COURSES, seed, limit=MOST_SESSIONS, past=past)
    later = past is not None and past.continues
    found = tuple(
        Option(name, answer, _stopped(predictive, question, later))
        for (name, question), answer in zip(options, answers, strict=True)
    )
    pairs = tuple(
        Pair(found[a].name, found[b].name, *_shares(chances[a], chances[b], weight[a]))
        for a, b in combinations(range(len(found)), 2)
        if "outside" not in (found[a].answer.support, found[b].answer.support)
    )
    return CompareAnswer(found, pairs)


def _shares(first: FloatArray, second: FloatArray, weight: FloatArray) -> tuple[float, float, float]:
    """Chances that the first takes fewer sessions, as many, and more."""
    before = np.cumsum(first, axis=1) - first
    after = np.cumsum(second, axis=1) - second
    more = float(np.average((second * (1.0 - before - first)).sum(axis=1), weights=weight))
    fewer = float(np.average((first * (1.0 - after - second)).sum(axis=1), weights=weight))
    fewer, more = max(fewer, 0.0), max(more, 0.0)
    return fewer, 1.0 - fewer - more, more


def _stopped(predictive: LiftPredictive, question: Question, later: bool) -> float:
    shares = predictive.later_hair[question.hair] if later else {question.hair: 1.0}
    chance = predictive.hazard.cumulative(
        question.minutes,
        np.full(len(shares), question.peroxide),
        np.full(len(shares), question.heat, dtype=object),
        np.array(list(shares), dtype=object),
        later,
    )
    return float(np.array(list(shares.values())) @ chance[:, -1])


def _changed(question: Question, text: str) -> Question:
    changes: dict[str, float | str] = {}
    for part in text.split(","):
        key, sign, value = (piece.strip() for piece in part.partition("="))
        if not sign or key not in KEYS or not value or key in changes:
            raise InputError(
                f"compare: found {part.strip()!r}; expected {', '.join(KEYS)}, once each at most, as in "
                "peroxide=6,heat=medium"
            )
        changes[key] = _read(key, value)
    return replace(question, **changes)  # type: ignore[arg-type]


def _read(key: str, value: str) -> float | str:
    if key == "peroxide":
        return read_strength(value)
    if key == "heat":
        return read_word("heat", value, HEAT)
    return read_number("minutes", value, SHORTEST, LONGEST)


def _named(question: Question, differs: Sequence[str]) -> str:
    heat = "no heat" if question.heat == "none" else f"{question.heat} heat"
    said: Mapping[str, str] = {
        "peroxide": f"{question.peroxide:g} %",
        "heat": heat,
        "minutes": f"{question.minutes:g} minute{'' if question.minutes == 1 else 's'}",
    }
    return ", ".join(said[key] for key in differs) or said["peroxide"]
