"""Which root shade still blends after the washes until the next visit?"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from outcomes.answers.fading import COVERAGE, MISSING_RATES, Band, beyond, missing_of, mixed_band
from outcomes.answers.inputs import read_level, read_washes, read_word
from outcomes.answers.shades import shade_words
from outcomes.answers.wording import CAUTIONS, chance, likely, percent
from outcomes.errors import InputError
from outcomes.predictive.distribution import Basis
from outcomes.predictive.fade import FadePredictive
from outcomes.predictive.saved import Fitted, SalonModel, as_fade
from outcomes.predictive.support import FEW
from outcomes.predictive.washes import FadeRates, fade_rates

__all__ = ["Candidate", "RootShadeAnswer", "if_missing", "root_shade"]

_ALIKE = 0.05
"""Of the chance to blend: closer ones count as alike."""

_RANK = ("inside", "edge", "outside")


@dataclass(frozen=True)
class Candidate:
    """A root shade, and what becomes of it.

    Attributes
    ----------
    root_level : float
    root_tone : str
    level_then : Band
        Level after the washes.
    blends : float
        Chance that it's then neither darker than the natural level nor lighter than the limit.
    missing : float
        Share of clients with this tone who were never read.
    moved : tuple of (float, Band, float)
        Factor on their rates; level and chance to blend if they fade so.
    support : {"inside", "edge", "outside"}
    visits : int
        Read after washes with this level and tone.
    """

    root_level: float
    root_tone: str
    level_then: Band
    blends: float
    missing: float
    moved: tuple[tuple[float, Band, float], ...]
    support: str
    visits: int

    def to_dict(self) -> dict[str, Any]:
        """As JSON values."""
        return {
            "root_level": self.root_level,
            "root_tone": self.root_tone,
            "level_then": self.level_then.to_dict(2),
            "blends": round(self.blends, 4),
            "dropout": [
                {
                    "missing": round(self.missing, 4),
                    "rate": factor,
                    "level_then": band.to_dict(2),
                    "blends": round(p, 4),
                }
                for factor, band, p in self.moved
            ],
            "support": self.support,
            "visits": self.visits,
        }


@dataclass(frozen=True)
class RootShadeAnswer:
    """Every candidate, and the one that blends most often.

    Attributes
    ----------
    natural, lengths, limit, washes : float
    tone, shampoo : str or None
        As asked; None: every tone of the log, and shampoos as the log's clients use them.
    candidates : tuple of Candidate
    choice : Candidate or None
    reason : str
        Why that one, or why none.
    notes : tuple of str
        About this answer.
    fit_notes : tuple of str
        What the fit has to say about itself.
    basis : Basis
    coverage : float
    """

    natural: float
    lengths: float
    limit: float
    washes: float
    tone: str | None
    shampoo: str | None
    candidates: tuple[Candidate, ...]
    choice: Candidate | None
    reason: str
    notes: tuple[str, ...]
    fit_notes: tuple[str, ...]
    basis: Basis
    coverage: float = COVERAGE

    @property
    def told(self) -> Candidate | None:
        """The choice, or else the candidate that blends most often; None where all are outside."""
        covered = [one for one in self.candidates if one.support != "outside"]
        return self.choice or max(covered, key=lambda one: one.blends, default=None)

    @property
    def sentence(self) -> str:
        """The answer to say out loud."""
        if self.choice is None:
            return f"No root shade can be named: {self.reason}."
        one = self.choice
        shade = "shade" if self.tone is None else f"{self.tone} shade"
        return (
            f"Level {one.root_level:g} {one.root_tone} still blends after {self.washes:g} washes: "
            f"{chance(one.blends)}. No lighter {shade} that the log covers blends as often."
        )

    def __str__(self) -> str:
        return self.sentence

    def to_dict(self) -> dict[str, Any]:
        """The answer as JSON values."""
        return {
            "inputs": {
                name: getattr(self, name)
                for name in ("natural", "lengths", "limit", "washes", "tone", "shampoo")
            },
            "candidates": [one.to_dict() for one in self.candidates],
            "choice": None if self.choice is None else self.choice.to_dict(),
            "reason": self.reason,
            "dropout": [] if (told := self.told) is None else told.to_dict()["dropout"],
            "coverage": self.coverage,
            "notes": [*self.notes, *self.fit_notes],
            "basis": self.basis.to_dict(),
            "cautions": list(CAUTIONS),
            "sentence": self.sentence,
        }


def root_shade(
    model: SalonModel | FadePredictive | Fitted,
    natural: float | str,
    lengths: float | str,
    washes: float | str,
    limit: float | str | None = None,
    *,
    tone: str | None = None,
    shampoo: str | None = None,
    seed: int = 1,
) -> RootShadeAnswer:
    """What becomes of every root shade between the natural level and the lengths.

    Parameters
    ----------
    model : SalonModel, FadePredictive or fitted FadeModel
    natural, lengths : float
        Levels of the regrowth and of the lengths, half steps.
    washes : float
        Until the next visit, 1 to 200.
    limit : float, optional
        Lightest level that still blends, above natural and up to lengths; halfway by default.
    tone : str, optional
        A root tone of the log; by default all of them.
    shampoo : str, optional
        By default in the shares of the log.
    seed : int
        The same seed gives the same answer.

    Returns
    -------
    RootShadeAnswer
        A candidate is inside where its level lies within the log's 1st to 99th percentile, its tone (and
        the shampoo asked for) was read in 20 visits or more, and that very shade in 5; at the edge within the
        log's range and 5 visits of the tone; else outside, and then never the choice.

    Raises
    ------
    InputError
        Levels off the half steps or in the wrong order; washes out of range; an unknown word; a model without
        fade by level.
    """
    natural, lengths = read_level("natural", natural), read_level("lengths", lengths)
    if natural >= lengths:
        raise InputError(
            f"natural: found level {natural:g}, and lengths of level {lengths:g}; expected lengths lighter "
            "than the natural level; correct one of them"
        )
    washes = read_washes("washes", washes)
    limit = math.ceil(natural + lengths) / 2.0 if limit is None else read_level("limit", limit)
    if not natural < limit <= lengths:
        raise InputError(
            f"limit: found level {limit:g}; expected {natural + 0.5:g} to {lengths:g}, above the natural "
            "level and up to the lengths; correct it"
        )
    predictive = as_fade(model, "level")
    tones = shade_words(predictive, "root_tone")
    asked = tones if tone is None else (read_word("tone", tone, tones),)
    if shampoo is not None:
        shampoo = read_word("shampoo", shampoo, shade_words(predictive, "shampoo"))
    levels = np.arange(natural, lengths + 0.25, 0.5)
    levels = levels[levels <= limit]
    given: dict[str, str | float | None] = {} if shampoo is None else {"shampoo": shampoo}
    pairs = [(float(level), word) for level in levels for word in asked]
    shades = [{"root_level": level, "root_tone": word, **given} for level, word in pairs]
    rates = fade_rates(predictive, "roots", shades, seed=seed)
    candidates = tuple(
        _candidate(rates.shade(i), level, word, washes, (natural, float(limit)), shampoo)
        for i, (level, word) in enumerate(pairs)
    )
    far = beyond(predictive, washes)
    choice, reason = _choice(candidates, far)
    return RootShadeAnswer(
        *(natural, lengths, float(limit), washes, tone, shampoo, candidates, choice, reason),
        *((far,) if far else (), predictive.notes, predictive.basis),
    )


def if_missing(one: Candidate) -> str:
    """What becomes of a candidate if the clients who were never read fade at another rate.

    Parameters
    ----------
    one : Candidate

    Returns
    -------
    str
    """
    slow, fast = (likely(p) for _, _, p in one.moved)
    return (
        f"{percent(one.missing)} of clients with {one.root_tone} roots were never read after washes. If they "
        f"fade a quarter more slowly, level {one.root_level:g} {one.root_tone} blends {slow} of the time; a "
        f"quarter faster, {fast}."
    )


def _candidate(
    rates: FadeRates,
    level: float,
    tone: str,
    washes: float,
    window: tuple[float, float],
    shampoo: str | None,
) -> Candidate:
    predictive = rates.predictive

    def then(factor: float) -> npt.NDArray[np.float64]:
        return np.asarray(np.minimum(level + rates.progress(washes, factor)[0], predictive.top))

    def blends(level_then: npt.NDArray[np.float64]) -> float:
        return float(((level_then >= window[0]) & (level_then <= window[1])).mean())

    support = predictive.support
    visits = support.categories["shade"].get(f"{level:g} {tone}", 0)
    words = {"root_tone": tone} | ({} if shampoo is None else {"shampoo": shampoo})
    rank = max(_RANK.index(support.assess({"root_level": level}, words)[0]), int(visits < FEW))
    read = then(1.0)
    own, missing = blends(read), missing_of(predictive, "root_tone", tone)
    moved = []
    for factor in MISSING_RATES:
        unread = then(factor)
        chance_then = (1.0 - missing) * own + missing * blends(unread)
        moved.append((factor, mixed_band(read, unread, missing), chance_then))
    return Candidate(
        level,
        tone,
        Band.of(read),
        own,
        missing,
        tuple(moved),
        _RANK[rank],
        visits,
    )


def _choice(candidates: tuple[Candidate, ...], far: str) -> tuple[Candidate | None, str]:
    covered = [one for one in candidates if one.support != "outside"]
    if far:
        return None, far
    if not covered:
        return None, "the log covers none of these shades"
    best = max(one.blends for one in covered)
    if best < 0.5:
        return None, f"none of them blends more often than not (best: {chance(best)})"
    alike = [one for one in covered if one.blends >= best - _ALIKE]
    lightest = max(one.root_level for one in alike)
    chosen = max((one for one in alike if one.root_level == lightest), key=lambda one: one.blends)
    return chosen, "the lightest of those that blend as often as any (within 5 in 100)"
