"""Do shades fade differently? Fade by root tone, level, shampoo or toner, with ratios that hold together."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from outcomes.answers.fading import (
    COVERAGE,
    MISSING_RATES,
    Band,
    beyond,
    judged,
    missing_of,
    mixed_band,
)
from outcomes.answers.inputs import read_number, read_washes, read_word
from outcomes.errors import InputError
from outcomes.predictive.contrasts import against, equivalence, pairs, simultaneous
from outcomes.predictive.distribution import Basis
from outcomes.predictive.fade import FadePredictive, FollowUp
from outcomes.predictive.saved import Fitted, SalonModel, as_fade
from outcomes.predictive.washes import FadeRates, fade_rates

__all__ = ["BY", "THRESHOLDS", "FadeAnswer", "Ratio", "ShadeRow", "fade", "place_by", "shade_words"]

FloatArray = npt.NDArray[np.float64]

BY = ("root_tone", "root_level", "shampoo", "toner_tone")
RATIO_COVERAGE = 0.95

THRESHOLDS: Mapping[str, tuple[str, float]] = {
    "level": ("washes_to_one_level", 1.0),
    "tone_left": ("washes_to_half_tone", math.log(2.0)),
    "delta_e": ("washes_to_difference_3", 3.0),
}
"""By measure: what washes are counted until, and its progress."""


@dataclass(frozen=True)
class Ratio:
    """How one shade's rate of fade stands to another's; all ratios of an answer hold together.

    Attributes
    ----------
    shade, reference : str
    value, low, high : float
        Its band is simultaneous: all of them hold at once 95 times in 100.
    equivalent : bool or None
        Whether both one-sided tests put the ratio within the margin; None without a margin.
    p_equivalence : float or None
        The larger of the two p values.
    """

    shade: str
    reference: str
    value: float
    low: float
    high: float
    equivalent: bool | None = None
    p_equivalence: float | None = None

    def to_dict(self) -> dict[str, Any]:
        """As JSON values."""
        found: dict[str, Any] = {
            "value": round(self.value, 4),
            "low": round(self.low, 4),
            "high": round(self.high, 4),
            "simultaneous": True,
        }
        if self.equivalent is not None and self.p_equivalence is not None:
            found |= {"equivalent": self.equivalent, "p_equivalence": round(self.p_equivalence, 6)}
        return found


@dataclass(frozen=True)
class ShadeRow:
    """One shade, as it fades on a new client's hair.

    Attributes
    ----------
    shade : str
    fade, per_wash : Band
        Progress after the washes asked about, and divided by them.
    ratio : Ratio
        Against the reference.
    until : Band
        Washes until the threshold of the measure.
    never : float
        Share of clients whose hair never gets there.
    clients, visits : int
        Read after washes.
    support : {"inside", "edge", "outside"}
    """

    shade: str
    fade: Band
    per_wash: Band
    ratio: Ratio
    until: Band
    never: float
    clients: int
    visits: int
    support: str


@dataclass(frozen=True)
class Dropout:
    """How far a row moves if the clients who were never read fade at another rate.

    Attributes
    ----------
    shade : str
    missing : float
        Share of clients who were never read.
    rate : float
        Factor on their rates.
    fade, until : Band
    never : float
    """

    shade: str
    missing: float
    rate: float
    fade: Band
    until: Band
    never: float


@dataclass(frozen=True)
class FadeAnswer:
    """Fade by shade.

    Attributes
    ----------
    measure, by : str
    washes : float
    reference : str
    rows : tuple of ShadeRow
    pairs : tuple of Ratio
        Every shade against every earlier one, where asked for.
    margin : float or None
        A ratio between 1 / (1 + margin) and 1 + margin counts as alike.
    dropout : tuple of Dropout
    notes : tuple of str
    basis : Basis
    coverage : float
        Of the bands of fade and washes.
    ratio_coverage : float
        Of all ratios together.
    """

    measure: str
    by: str
    washes: float
    reference: str
    rows: tuple[ShadeRow, ...]
    pairs: tuple[Ratio, ...]
    margin: float | None
    dropout: tuple[Dropout, ...]
    notes: tuple[str, ...]
    basis: Basis
    coverage: float = COVERAGE
    ratio_coverage: float = RATIO_COVERAGE

    def to_dict(self) -> dict[str, Any]:
        """The answer as JSON values."""
        until = THRESHOLDS[self.measure][0]
        rows = [
            {
                "shade": row.shade,
                "fade": row.fade.to_dict(),
                "per_wash": row.per_wash.to_dict(6),
                "ratio": row.ratio.to_dict(),
                until: {**row.until.to_dict(2), "never": round(row.never, 4)},
                "clients": row.clients,
                "visits": row.visits,
                "support": row.support,
            }
            for row in self.rows
        ]
        dropout = [
            {
                "shade": one.shade,
                "missing": round(one.missing, 4),
                "rate": one.rate,
                "fade": one.fade.to_dict(),
                until: {**one.until.to_dict(2), "never": round(one.never, 4)},
            }
            for one in self.dropout
        ]
        compared = [{"shade": r.shade, "reference": r.reference, **r.to_dict()} for r in self.pairs]
        return {
            "measure": self.measure,
            "by": self.by,
            "washes": self.washes,
            "reference": self.reference,
            "rows": rows,
            **({"pairs": compared} if self.pairs else {}),
            **({"margin": self.margin} if self.margin is not None else {}),
            "dropout": dropout,
            "coverage": self.coverage,
            "ratio_coverage": self.ratio_coverage,
            "notes": list(self.notes),
            "basis": self.basis.to_dict(),
        }


def shade_words(predictive: FadePredictive, by: str) -> tuple[str, ...]:
    """Words of a column that the log has read after washes, levels in order.

    Parameters
    ----------
    predictive : FadePredictive
    by : str
        One of `BY`.

    Returns
    -------
    tuple of str
    """
    words = list(predictive.follow_up.get(by, {}))
    if by == "root_level":
        return tuple(sorted(words, key=float))
    order = {word: i for i, word in enumerate(predictive.design.categories(by))}
    return tuple(sorted((word for word in words if word in order), key=lambda word: order[word]))


def fade(
    model: SalonModel | FadePredictive | Fitted,
    by: str = "root_tone",
    washes: float | str = 10,
    reference: str | float | None = None,
    *,
    measure: str | None = None,
    all_pairs: bool = False,
    margin: float | str | None = None,
    seed: int = 1,
) -> FadeAnswer:
    """How shades fade, how their rates compare, and how far clients who were never read could move it.

    Parameters
    ----------
    model : SalonModel, FadePredictive or fitted FadeModel
    by : {"root_tone", "root_level", "shampoo", "toner_tone"}
    washes : float
        1 to 200.
    reference : str or float, optional
        Shade that ratios are read against; by default the design's, and of levels the one read most.
    measure : {"level", "tone_left", "delta_e"}, optional
        By default level, and of toners the share of tone left.
    all_pairs : bool
        Whether every two shades are compared as well.
    margin : float, optional
        0.01 to 1, stated beforehand: rates that differ by less count as alike.
    seed : int
        The same seed gives the same answer.

    Returns
    -------
    FadeAnswer

    Raises
    ------
    InputError
        An unknown column, measure or reference; washes or margin out of range; a model that says nothing of
        it.

    References
    ----------
    Hothorn, T., Bretz, F. & Westfall, P. (2008). Simultaneous inference in general parametric models.
    Biometrical J. 50, 346-363. doi:10.1002/bimj.200810425.
    Schuirmann, D. J. (1987). A comparison of the two one-sided tests procedure and the power approach.
    J. Pharmacokinet. Biopharm. 15, 657-680. doi:10.1007/BF01068419.
    """
    by = read_word("by", by, BY)
    washes = read_washes("washes", washes)
    if margin is not None:
        margin = read_number("margin", margin, 0.01, 1.0)
    if measure is None:
        measure = "tone_left" if by == "toner_tone" else "level"
    measure = read_word("measure", measure, tuple(THRESHOLDS))
    predictive = as_fade(model, measure)
    place = place_by(predictive, by)
    words = shade_words(predictive, by)
    if len(words) < 2:
        raise InputError(f"by: the log has read {len(words)} different {by} after washes; two are needed")
    chosen = _reference(predictive, by, words, reference)
    shades = [{by: float(word) if by == "root_level" else word} for word in words]
    rates = fade_rates(predictive, place, shades, seed=seed)
    at = words.index(chosen)
    ratios = _ratios(rates, words, against(len(words), at), margin)
    followed = predictive.follow_up[by]
    rows = [
        _row(
            rates,
            i,
            word,
            ratios[word] if word != chosen else Ratio(word, chosen, 1.0, 1.0, 1.0),
            washes,
            followed[word],
        )
        for i, word in enumerate(words)
    ]
    compared = tuple(_compared(rates, words, pairs(len(words)), margin)) if all_pairs else ()
    dropout = [
        _dropout(rates, i, word, missing_of(predictive, by, word), factor, washes)
        for i, word in enumerate(words)
        for factor in MISSING_RATES
    ]
    notes = [*predictive.notes]
    if far := beyond(predictive, washes):
        notes.insert(0, far)
    return FadeAnswer(
        *(measure, by, washes, chosen, tuple(rows), compared, margin, tuple(dropout), tuple(notes)),
        predictive.basis,
    )


def place_by(predictive: FadePredictive, by: str) -> str:
    """Where hair is compared by a column: "roots" or "toned".

    Parameters
    ----------
    predictive : FadePredictive
    by : str
        One of `BY`.

    Returns
    -------
    str

    Raises
    ------
    InputError
        Nothing was read there by this measure.
    """
    if by == "toner_tone":
        place = "toned"
    elif by in ("root_tone", "root_level"):
        place = "roots"
    else:
        place = "roots" if predictive.measure == "level" else "toned"
    if place not in predictive.covariates:
        raise InputError(
            f"by: {by} can't be told by {predictive.measure}: nothing was read by it at the "
            f"{'roots' if place == 'roots' else 'lengths or ends'}; choose another measure"
        )
    return place


def _reference(predictive: FadePredictive, by: str, words: Sequence[str], asked: str | float | None) -> str:
    if asked is not None:
        said = f"{read_number('reference', asked):g}" if by == "root_level" else str(asked)
        return read_word("reference", said, words)
    if by == "root_level":
        followed = predictive.follow_up[by]
        return max(words, key=lambda word: followed[word].visits)
    return predictive.design.categories(by)[0]


def _row(rates: FadeRates, i: int, word: str, ratio: Ratio, washes: float, followed: FollowUp) -> ShadeRow:
    progress, until = (
        rates.progress(washes)[i],
        rates.washes_until(THRESHOLDS[rates.predictive.measure][1])[i],
    )
    return ShadeRow(
        word,
        Band.of(progress),
        Band.of(progress / washes),
        ratio,
        Band.of(until),
        float(np.isinf(until).mean()),
        followed.read,
        followed.visits,
        judged(followed.visits),
    )


def _ratios(
    rates: FadeRates, words: Sequence[str], contrasts: FloatArray, margin: float | None
) -> dict[str, Ratio]:
    return {ratio.shade: ratio for ratio in _compared(rates, words, contrasts, margin)}


def _compared(
    rates: FadeRates, words: Sequence[str], contrasts: FloatArray, margin: float | None
) -> list[Ratio]:
    """Ratios by rows of contrasts between shades, all within bands that hold together."""
    predictive = rates.predictive
    found = simultaneous(predictive.estimates, predictive.covariance, contrasts @ rates.rows, RATIO_COVERAGE)
    ratios = []
    for row, value, se, low, high in zip(
        contrasts, found.value, found.se, found.low, found.high, strict=True
    ):
        shade, other = words[int(np.argmax(row))], words[int(np.argmin(row))]
        alike: tuple[bool | None, float | None] = (None, None)
        if margin is not None:
            verdict = equivalence(value, se, math.log1p(margin))
            alike = verdict.equivalent, max(verdict.p_lower, verdict.p_upper)
        ratios.append(
            Ratio(shade, other, float(np.exp(value)), float(np.exp(low)), float(np.exp(high)), *alike)
        )
    return ratios


def _dropout(rates: FadeRates, i: int, word: str, missing: float, factor: float, washes: float) -> Dropout:
    threshold = THRESHOLDS[rates.predictive.measure][1]
    until, slower = rates.washes_until(threshold)[i], rates.washes_until(threshold, factor)[i]
    never = (1.0 - missing) * np.isinf(until).mean() + missing * np.isinf(slower).mean()
    return Dropout(
        word,
        missing,
        factor,
        mixed_band(rates.progress(washes)[i], rates.progress(washes, factor)[i], missing),
        mixed_band(until, slower, missing),
        float(never),
    )
