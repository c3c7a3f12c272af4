"""How light does hair get, minute by minute? The level under the foil in a first session."""

from __future__ import annotations

from dataclasses import asdict, dataclass

import numpy as np
import numpy.typing as npt

from outcomes.answers.plan_support import support_of_question
from outcomes.answers.question import Question, ask, plans_of
from outcomes.answers.sessions_answer import COVERAGE
from outcomes.answers.wording import CAUTIONS
from outcomes.predictive.chair import open_courses
from outcomes.predictive.distribution import Basis
from outcomes.predictive.lift import LiftPredictive
from outcomes.predictive.rates import rate_tables
from outcomes.predictive.saved import Fitted, SalonModel, as_predictive
from outcomes.predictive.unknowns import draw_unknowns

__all__ = ["LiftCurveAnswer", "lift_curve"]

POINTS = 181  # so that the steep beginning is drawn as a curve
COURSES = 4096  # standard error of an end of the band below 0.02 levels
"""One of `outcomes.predictive.lattice.SIZES`."""


@dataclass(frozen=True, eq=False)
class LiftCurveAnswer:
    """The level of a new client's hair while lightener works, were it left on.

    Attributes
    ----------
    question : Question
        Its goal is drawn as a line; the curve doesn't depend on it.
    minutes : ndarray (181,)
        0 to the longest time intended.
    median, low, high : ndarray (181,)
        Level (not rounded to half steps) and ends of the band.
    coverage : float
    support : {"inside", "edge", "outside"}
    support_notes : tuple of str
    basis : Basis
    """

    question: Question
    minutes: npt.NDArray[np.float64]
    median: npt.NDArray[np.float64]
    low: npt.NDArray[np.float64]
    high: npt.NDArray[np.float64]
    coverage: float
    support: str
    support_notes: tuple[str, ...]
    basis: Basis

    def __str__(self) -> str:
        if self.support == "outside":
            reach = "what is usual in the trade" if self.basis.starter else "what the log covers"
            return f"This plan is outside {reach}, so no level can be named."
        return (
            f"After {self.minutes[-1]:g} minutes: level {self.median[-1]:.1f}; "
            f"8 in 10 clients like this lie between {self.low[-1]:.1f} and {self.high[-1]:.1f}."
        )

    def to_dict(self) -> dict[str, object]:
        """The answer as JSON values."""
        bands = {name: np.round(getattr(self, name), 4).tolist() for name in ("median", "low", "high")}
        return {
            "inputs": asdict(self.question),
            "minutes": self.minutes.tolist(),
            **bands,
            "coverage": self.coverage,
            "support": self.support,
            "support_notes": list(self.support_notes),
            "basis": self.basis.to_dict(),
            "cautions": list(CAUTIONS),
            "sentence": str(self),
        }


def lift_curve(
    model: SalonModel | LiftPredictive | Fitted,
    start: float | str,
    goal: float | str,
    hair: str,
    peroxide: float | str,
    heat: str,
    minutes: float | str,
    stylist: str | None = None,
    *,
    seed: int = 1,
) -> LiftCurveAnswer:
    """Level against minutes for one plan: middle and band over clients like this.

    Parameters
    ----------
    model, start, goal, hair, peroxide, heat, minutes, stylist, seed : as in `outcomes.sessions`

    Returns
    -------
    LiftCurveAnswer

    Raises
    ------
    InputError
        A value that can't be used; says which and what to do.
    """
    predictive = as_predictive(model)
    question = ask(predictive, start, goal, hair, peroxide, heat, minutes, stylist)
    tables = rate_tables(predictive, (question.peroxide,))
    unknowns = draw_unknowns(predictive, tables, COURSES, 1, seed)
    chair = open_courses(predictive, tables, plans_of([question]), unknowns).first_session(unknowns)
    times = np.linspace(0.0, question.minutes, POINTS)
    levels = np.empty((POINTS, COURSES))
    levels[0] = chair.level
    for i, time in enumerate(times[1:], start=1):
        gained = chair.rate * predictive.progress(np.full(COURSES, time), chair.theta, chair.saturating)
        levels[i] = np.minimum(chair.level + gained, predictive.top)
    tail = 0.5 * (1.0 - COVERAGE)
    low, median, high = np.quantile(levels, [tail, 0.5, 1.0 - tail], axis=1)
    support, notes = support_of_question(predictive, question, 1)
    return LiftCurveAnswer(question, times, median, low, high, COVERAGE, support, notes, predictive.basis)
