"""When does it need a refresh? Washes, and weeks at a client's wash habit, until fade passes a threshold."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from outcomes.answers.fading import COVERAGE, MISSING_RATES, Band, beyond, missing_of, mixed_band
from outcomes.answers.inputs import read_level, read_number, read_word
from outcomes.answers.shades import shade_words
from outcomes.answers.wording import CAUTIONS
from outcomes.errors import InputError
from outcomes.predictive.distribution import Basis
from outcomes.predictive.fade import FadePredictive
from outcomes.predictive.saved import Fitted, SalonModel, as_fade
from outcomes.predictive.washes import fade_rates

__all__ = ["ZONES", "RefreshAnswer", "if_missing", "refresh"]

FloatArray = npt.NDArray[np.float64]

ZONES = ("roots", "lengths")
_MOST_A_WEEK = 14.0
_POINTS = 60


@dataclass(frozen=True)
class RefreshAnswer:
    """Washes and weeks until fade passes a threshold.

    Attributes
    ----------
    zone : {"roots", "lengths"}
    fade : float
        Levels at the roots; % of the tone gone at the lengths.
    washes_per_week : float
    given : mapping of column to value
        The shade asked about.
    washes, weeks : Band
    never : float
        Chance that it never fades so far.
    reached : tuple of (float, float)
        Washes, and the share of clients whose hair has faded so far by then.
    longest : float
        Washes that the log followed hair for, at most.
    support : {"inside", "edge", "outside"}
        How well the log covers the shade.
    within_log : bool
        Whether the shade isn't outside, and the whole band lies within the washes that the log followed.
    dropout : tuple of (rate, Band, never)
        Washes if clients who were never read fade at another rate.
    missing : float
        Their share.
    notes : tuple of str
        About this answer.
    fit_notes : tuple of str
        What the fit has to say about itself.
    basis : Basis
    coverage : float
    """

    zone: str
    fade: float
    washes_per_week: float
    given: dict[str, str | float]
    washes: Band
    weeks: Band
    never: float
    reached: tuple[tuple[float, float], ...]
    longest: float
    support: str
    within_log: bool
    dropout: tuple[tuple[float, Band, float], ...]
    missing: float
    notes: tuple[str, ...]
    fit_notes: tuple[str, ...]
    basis: Basis
    coverage: float = COVERAGE

    @property
    def gone(self) -> str:
        """How far it's faded by then, in words."""
        if self.zone == "roots":
            return f"{self.fade:g} level{'s' * (self.fade != 1)}"
        return f"{self.fade:g} % of the tone"

    @property
    def sentence(self) -> str:
        """The answer to say out loud."""
        if self.support == "outside":
            return f"Outside the log: when such hair has faded by {self.gone} can't be said from it."
        if self.washes.median is None:
            return f"More often than not it never fades by {self.gone}."
        low, high = self.washes.low, self.washes.high
        span = f"from about {_whole(low)} on" if high is None else f"between {_whole(low)} and {_whole(high)}"
        said = (
            f"bout {_whole(self.washes.median)} washes until it has faded by {self.gone}, "
            f"for 8 in 10 clients {span}; that's {_weeks(self.weeks.median)} "
            f"at {self.washes_per_week:g} a week."
        )
        if self.within_log:
            return f"A{said}"
        if self.washes.median > self.longest:
            return f"The log followed hair for {self.longest:g} washes only; carried on from there, a{said}"
        return f"A{said} Not all of that was seen in the log."

    def __str__(self) -> str:
        return self.sentence

    def to_dict(self) -> dict[str, Any]:
        """The answer as JSON values."""
        return {
            "inputs": {
                "zone": self.zone,
                "fade": self.fade,
                "washes_per_week": self.washes_per_week,
                **self.given,
            },
            "washes": self.washes.to_dict(2),
            "weeks": self.weeks.to_dict(2),
            "never": round(self.never, 4),
            "support": self.support,
            "within_log": self.within_log,
            "dropout": [
                {
                    "missing": round(self.missing, 4),
                    "rate": rate,
                    "washes": band.to_dict(2),
                    "never": round(p, 4),
                }
                for rate, band, p in self.dropout
            ],
            "coverage": self.coverage,
            "notes": [*self.notes, *self.fit_notes],
            "basis": self.basis.to_dict(),
            "cautions": list(CAUTIONS),
            "sentence": self.sentence,
        }


def refresh(
    model: SalonModel | FadePredictive | Fitted,
    zone: str,
    fade: float | str,
    washes_per_week: float | str,
    *,
    root_level: float | str | None = None,
    root_tone: str | None = None,
    toner_tone: str | None = None,
    shampoo: str | None = None,
    seed: int = 1,
) -> RefreshAnswer:
    """Washes and weeks until a root shade or toner has faded by so much, on a new client's hair.

    Parameters
    ----------
    model : SalonModel, FadePredictive or fitted FadeModel
    zone : {"roots", "lengths"}
        Roots wear the root shade, lengths and ends the toner.
    fade : float
        Levels drifted to lighter at the roots, 0.5 to 9; share of the tone gone at the lengths, 5 to 95 %.
    washes_per_week : float
        Above 0, at most 14.
    root_level, root_tone : optional
        At the roots.
    toner_tone : optional
        At the lengths.
    shampoo : optional
        What isn't given is averaged over the log's visits.
    seed : int
        The same seed gives the same answer.

    Returns
    -------
    RefreshAnswer

    Raises
    ------
    InputError
        An unknown word, a number out of range, a shade of the other zone; a model that says nothing of it.
    """
    zone = read_word("zone", zone, ZONES)
    roots = zone == "roots"
    amount = (
        read_number("fade", fade, 0.5, 9, "levels")
        if roots
        else read_number("fade", fade, 5, 95, "% of the tone")
    )
    per_week = read_number("washes_per_week", washes_per_week, 0.1, _MOST_A_WEEK)
    predictive = as_fade(model, "level" if roots else "tone_left")
    other = toner_tone if roots else root_tone if root_tone is not None else root_level
    if other is not None:
        wears = "the root shade: give root_level and root_tone" if roots else "the toner: give toner_tone"
        raise InputError(f"zone: {zone} wear {wears}; leave the other out")
    given: dict[str, str | float] = {}
    if roots and root_level is not None:
        level = given["root_level"] = read_level("root_level", root_level)
        if level + amount > predictive.top:
            raise InputError(
                f"fade: found {amount:g} from level {level:g}; expected {predictive.top - level:g} at most, "
                f"since level {predictive.top:g} is the end of the scale; correct one of them"
            )
    for name, word in (("root_tone", root_tone), ("toner_tone", toner_tone), ("shampoo", shampoo)):
        if word is not None:
            given[name] = read_word(name, word, shade_words(predictive, name))
    threshold = amount if roots else -math.log1p(-amount / 100.0)
    place = "roots" if roots else "toned"
    zones = [value for value, _ in predictive.covariates.get(place, {}).get("zone", ())]
    asked = given if roots or zone not in zones else {**given, "zone": zone}
    rates = fade_rates(predictive, place, [asked], seed=seed)
    until = rates.washes_until(threshold)[0]
    tone = "root_tone" if roots else "toner_tone"
    missing = missing_of(predictive, tone, str(given[tone])) if tone in given else missing_of(predictive)
    dropout = []
    for factor in MISSING_RATES:
        changed = rates.washes_until(threshold, factor)[0]
        never = (1.0 - missing) * np.isinf(until).mean() + missing * np.isinf(changed).mean()
        dropout.append((factor, mixed_band(until, changed, missing), float(never)))
    washes = Band.of(until)
    longest = predictive.support.numbers["washes"][3]
    far = beyond(predictive, washes.high)
    support, why = _support(predictive, given)
    weeks = Band.of(until / per_week)
    if support == "outside":
        washes, weeks = washes.without_middle(), weeks.without_middle()
        dropout = [(factor, band.without_middle(), never) for factor, band, never in dropout]
    notes = (*((far,) if far else ()), *why)
    return RefreshAnswer(
        zone=zone,
        fade=amount,
        washes_per_week=per_week,
        given=given,
        washes=washes,
        weeks=weeks,
        never=float(np.isinf(until).mean()),
        reached=_reached(until, washes, longest),
        longest=longest,
        support=support,
        within_log=not far and support != "outside",
        dropout=tuple(dropout),
        missing=missing,
        notes=notes,
        fit_notes=predictive.notes,
        basis=predictive.basis,
    )


def if_missing(answer: RefreshAnswer) -> str:
    """A sentence: when half are there if the clients who were never read fade at another rate.

    Parameters
    ----------
    answer : RefreshAnswer

    Returns
    -------
    str
    """
    slow, fast = (
        "more than half never get there"
        if band.median is None
        else f"half are there after {band.median:.0f} washes"
        for _, band, _ in answer.dropout
    )
    return f"If they fade a quarter more slowly, {slow}; a quarter faster, {fast}."


def _reached(until: FloatArray, washes: Band, longest: float) -> tuple[tuple[float, float], ...]:
    """Up to a little beyond the band, or the log."""
    last = 1.15 * (washes.high or max(longest, washes.median or 0.0))
    at = np.linspace(0.0, last, _POINTS + 1)
    shares = np.searchsorted(np.sort(until), at, side="right") / len(until)
    return tuple(zip(at.tolist(), shares.tolist(), strict=True))


def _support(predictive: FadePredictive, given: dict[str, str | float]) -> tuple[str, tuple[str, ...]]:
    """How well the log covers what is given, and a sentence for everything that few visits cover."""
    numbers = {name: float(value) for name, value in given.items() if name == "root_level"}
    words = {name: str(value) for name, value in given.items() if name != "root_level"}
    return predictive.support.assess(numbers, words)


def _whole(washes: float | None) -> str:
    """As people say it: in tens beyond a hundred."""
    if washes is None:
        return "?"
    return f"{10 * round(washes / 10) if washes > 100 else max(round(washes), 1)}"


def _weeks(weeks: float | None) -> str:
    if weeks is None:
        return "beyond any number of weeks"
    whole = max(round(weeks), 1)
    return f"about {whole} week{'s' * (whole != 1)}"
