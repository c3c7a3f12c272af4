"""Do shades fade differently? Fade by root tone, level, shampoo or toner, with ratios that hold together."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from outcomes.answers.fade_answer import (
    ALIKE_COVERAGE,
    RATIO_COVERAGE,
    THRESHOLDS,
    Alike,
    Dropout,
    FadeAnswer,
    Ratio,
    ShadeRow,
)
from outcomes.answers.fading import (
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
from outcomes.predictive.fade import FadePredictive, FollowUp
from outcomes.predictive.normal import normal_quantile
from outcomes.predictive.saved import Fitted, SalonModel, as_fade
from outcomes.predictive.washes import FadeRates, fade_rates

__all__ = ["BY", "fade", "place_by", "shade_words"]

FloatArray = npt.NDArray[np.float64]

ALIKE_REACH = float(normal_quantile(0.5 + 0.5 * ALIKE_COVERAGE))
"""Standard errors to either end of the band that decides whether two are alike."""

BY = ("root_tone", "root_level", "shampoo", "toner_tone")


def shade_words(predictive: FadePredictive, by: str) -> tuple[str, ...]:
    """Words of a column that the log has read after washes and can tell apart, levels in order.

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
    # a word whose column can't be told apart from others has no effect of its own
    told = [
        word
        for place, word in enumerate(predictive.design.categories(by))
        if place == 0 or f"{by}[{word}]" in predictive.design.names
    ]
    return tuple(word for word in told if word in words)


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
            rates.shade(i),
            word,
            ratios[word] if word != chosen else Ratio(word, chosen, 1.0, 1.0, 1.0),
            washes,
            followed[word],
        )
        for i, word in enumerate(words)
    ]
    compared = tuple(_compared(rates, words, pairs(len(words)), margin)) if all_pairs else ()
    dropout = [
        _dropout(rates.shade(i), word, missing_of(predictive, by, word), factor, washes)
        for i, word in enumerate(words)
        for factor in MISSING_RATES
    ]
    notes = []
    # the latest of all washes that are told, never (None) included
    told = [washes, *(row.until.high for row in rows)]
    latest = None if None in told else max(end for end in told if end is not None)
    if far := beyond(predictive, latest):
        notes.append(far)
    return FadeAnswer(
        *(measure, by, washes, chosen, tuple(rows), compared, margin, tuple(dropout), tuple(notes)),
        *(predictive.notes, predictive.basis),
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


def _row(rates: FadeRates, word: str, ratio: Ratio, washes: float, followed: FollowUp) -> ShadeRow:
    progress, until = (
        rates.progress(washes)[0],
        rates.washes_until(THRESHOLDS[rates.predictive.measure][1])[0],
    )
    support = judged(followed.visits)
    bands = [Band.of(values) for values in (progress, progress / washes, until)]
    if support == "outside":
        bands = [band.without_middle() for band in bands]
    return ShadeRow(
        word,
        bands[0],
        bands[1],
        ratio,
        bands[2],
        float(np.isinf(until).mean()),
        followed.read,
        followed.visits,
        support,
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
        alike = None
        if margin is not None:
            verdict = equivalence(value, se, math.log1p(margin))
            ends = (float(np.exp(value + sign * ALIKE_REACH * se)) for sign in (-1, 1))
            alike = Alike(verdict.equivalent, max(verdict.p_lower, verdict.p_upper), *ends)
        ratios.append(
            Ratio(shade, other, float(np.exp(value)), float(np.exp(low)), float(np.exp(high)), alike)
        )
    return ratios


def _dropout(rates: FadeRates, word: str, missing: float, factor: float, washes: float) -> Dropout:
    threshold = THRESHOLDS[rates.predictive.measure][1]
    until, slower = rates.washes_until(threshold)[0], rates.washes_until(threshold, factor)[0]
    never = (1.0 - missing) * np.isinf(until).mean() + missing * np.isinf(slower).mean()
    return Dropout(
        word,
        missing,
        factor,
        mixed_band(rates.progress(washes)[0], rates.progress(washes, factor)[0], missing),
        mixed_band(until, slower, missing),
        float(never),
    )
