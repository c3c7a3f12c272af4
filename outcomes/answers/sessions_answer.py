"""The frozen answer about sessions: its numbers, its JSON, its sentence."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass, field
from itertools import accumulate, pairwise
from typing import Any

from outcomes.answers.question import Question
from outcomes.answers.wording import CAUTIONS, outside_sentence, sessions_sentence
from outcomes.predictive.distribution import Basis
from outcomes.predictive.known import KnownRate
from outcomes.predictive.past import Past

__all__ = ["COVERAGE", "KnownSessionsAnswer", "LevelBand", "SessionsAnswer", "client_as_json"]

COVERAGE = 0.8


@dataclass(frozen=True)
class LevelBand:
    """A level read after a session.

    Attributes
    ----------
    session : int
        1, 2, ...
    median, low, high : float
        Middle and ends of the band, levels.
    holds : float
        Share of results within it, both ends included: in recording steps more than the band must hold.
    """

    session: int
    median: float
    low: float
    high: float
    holds: float

    @property
    def span(self) -> str:
        """The band in words."""
        return f"{self.low:g}" if self.low == self.high else f"{self.low:g} to {self.high:g}"


@dataclass(frozen=True)
class SessionsAnswer:
    """Chances of every number of sessions, and what they rest on.

    Attributes
    ----------
    question : Question
    limit, seed : int
    averaged : mapping of column to mapping of value to share
        What the question doesn't give, in the shares of the log's visits with this hair.
    sessions : tuple of float (limit + 1)
        Chance of being done in exactly 1, 2, ..., limit sessions; then of not being done within them.
    median : int or None
        Fewest sessions within which half of such courses are done; None beyond the limit, or outside the log.
    band_low, band_high : int or None
        Band in whole sessions; None beyond the limit.
    band_coverage : float
    today, today_low, today_high : float
        Chance of reading the goal today; its band is the doubt about the parameters.
    levels : tuple of LevelBand
        Level read after each session; who is done keeps the level.
    support : {"inside", "edge", "outside"}
    support_notes : tuple of str
    basis : Basis
    look_minutes : (float, float) or None
        Minutes between which four in five intervals from look to look lie; None: nobody looks before the
        rinse.
    looks_assumed : bool
        Whether these are usual minutes because the log has none.
    condition_drops : (float or None, float or None)
        Mean loss of strand condition (of 5 points) in a first and in a later session.
    coverage : float
        Of all bands but the sessions' own.
    """

    question: Question
    limit: int
    seed: int
    averaged: Mapping[str, Mapping[str, float]]
    sessions: tuple[float, ...]
    median: int | None
    band_low: int | None
    band_high: int | None
    band_coverage: float
    today: float
    today_low: float
    today_high: float
    levels: tuple[LevelBand, ...]
    support: str
    support_notes: tuple[str, ...]
    basis: Basis
    look_minutes: tuple[float, float] | None
    looks_assumed: bool
    condition_drops: tuple[float | None, float | None]
    coverage: float = COVERAGE

    @property
    def sentence(self) -> str:
        """The answer to say out loud; without any number where the plan is outside the log."""
        if self.support == "outside":
            return outside_sentence(is_starter=self.basis.starter)
        return sessions_sentence(
            *(self.sessions, self.median, self.band_low, self.band_high),
            is_edge=self.support == "edge",
            is_starter=self.basis.starter,
            is_known=self.is_known,
        )

    @property
    def is_known(self) -> bool:
        """Whether the client's earlier sessions are known."""
        return False

    @property
    def is_later(self) -> bool:
        """Whether the next session goes on with a course that was begun."""
        return False

    def __str__(self) -> str:
        return self.sentence

    def to_dict(self) -> dict[str, Any]:
        """The answer as JSON values."""
        shares = {column: {v: round(s, 4) for v, s in of.items()} for column, of in self.averaged.items()}
        # Rounded as running totals, so that what is written still adds up to 1.
        total = [0.0, *(round(done, 6) for done in accumulate(self.sessions[:-1])), 1.0]
        names = [*(str(k) for k in range(1, self.limit + 1)), "more"]
        chances = {name: round(b - a, 6) for name, (a, b) in zip(names, pairwise(total), strict=True)}
        return {
            "inputs": {**asdict(self.question), "limit": self.limit, "seed": self.seed, "averaged": shares},
            "sessions": chances,
            "median": self.median,
            "band": {"coverage": self.band_coverage, "low": self.band_low, "high": self.band_high},
            "reach_today": {
                "probability": round(self.today, 6),
                "low": round(self.today_low, 6),
                "high": round(self.today_high, 6),
            },
            "levels": [{**asdict(level), "holds": round(level.holds, 6)} for level in self.levels],
            "coverage": self.coverage,
            "support": self.support,
            "support_notes": list(self.support_notes),
            "basis": self.basis.to_dict(),
            "cautions": list(CAUTIONS),
            "sentence": self.sentence,
        }


@dataclass(frozen=True)
class KnownSessionsAnswer(SessionsAnswer):
    """The same for a client whose earlier sessions are known; sessions are those still to come.

    Attributes
    ----------
    past : Past
    rate : KnownRate or None
        None: what was told can hardly be, and tells nothing.
    """

    past: Past = field(kw_only=True)
    rate: KnownRate | None = field(kw_only=True)

    @property
    def is_known(self) -> bool:
        """Whether the client's earlier sessions are known."""
        return True

    @property
    def is_later(self) -> bool:
        """Whether the next session goes on with a course that was begun."""
        return self.past.of_course > 0

    def to_dict(self) -> dict[str, Any]:
        """The answer as JSON values."""
        found = super().to_dict()
        found["inputs"]["past"] = [visit.to_dict() for visit in self.past.visits]
        found["inputs"]["same_course"] = self.past.continues
        return {**found, "client": client_as_json(self.past, self.rate)}


def client_as_json(past: Past, rate: KnownRate | None) -> dict[str, Any] | None:
    """The client's own rate as JSON values.

    Parameters
    ----------
    past : Past
    rate : KnownRate or None

    Returns
    -------
    dict or None
    """
    if rate is None:
        return None
    ratio = {name: round(getattr(rate, name), 4) for name in ("ratio", "low", "high")}
    given = {column: value for column, value in past.given.items() if value is not None}
    told = {"visits": rate.visits, "coverage": rate.coverage, **ratio}
    return {**told, **({"given": given} if given else {})}
