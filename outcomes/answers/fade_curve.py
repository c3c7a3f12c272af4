"""How shades fade, wash by wash: middle and band of new clients over the washes that the log followed."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from outcomes.answers.fade_answer import THRESHOLDS
from outcomes.answers.fading import COVERAGE, judged, missing_of
from outcomes.answers.inputs import read_word
from outcomes.answers.shades import BY, place_by, shade_words
from outcomes.predictive.distribution import Basis
from outcomes.predictive.fade import FadePredictive
from outcomes.predictive.saved import Fitted, SalonModel, as_fade
from outcomes.predictive.washes import fade_rates

__all__ = ["FadeCurve", "FadeCurves", "fade_curves"]

FloatArray = npt.NDArray[np.float64]

_POINTS = 40


@dataclass(frozen=True, eq=False)
class FadeCurve:
    """One shade.

    Attributes
    ----------
    shade : str
    median, low, high : ndarray (w,)
        Progress: levels, -log(share left), or CIEDE2000.
    visits : int
        Read after washes.
    support : {"inside", "edge", "outside"}
    """

    shade: str
    median: FloatArray
    low: FloatArray
    high: FloatArray
    visits: int
    support: str


@dataclass(frozen=True, eq=False)
class FadeCurves:
    """Curves of all shades of a column.

    Attributes
    ----------
    measure, by : str
    washes : ndarray (w,)
        Up to those within which 99 in 100 readings of the log lie.
    curves : tuple of FadeCurve
    missing : float
        Share of clients who were never read after washes.
    basis : Basis
    coverage : float
    """

    measure: str
    by: str
    washes: FloatArray
    curves: tuple[FadeCurve, ...]
    missing: float
    basis: Basis
    coverage: float = COVERAGE


def fade_curves(
    model: SalonModel | FadePredictive | Fitted,
    by: str = "root_tone",
    *,
    measure: str | None = None,
    seed: int = 1,
) -> FadeCurves:
    """Curves of every shade of a column, on new clients' hair.

    Parameters
    ----------
    model : SalonModel, FadePredictive or fitted FadeModel
    by : {"root_tone", "root_level", "shampoo", "toner_tone"}
    measure : {"level", "tone_left", "delta_e"}, optional
        By default level, and of toners the share of tone left.
    seed : int
        The same seed gives the same curves.

    Returns
    -------
    FadeCurves

    Raises
    ------
    InputError
        An unknown column or measure; a model that says nothing of it.
    """
    by = read_word("by", by, BY)
    measure = measure or ("tone_left" if by == "toner_tone" else "level")
    predictive = as_fade(model, read_word("measure", measure, tuple(THRESHOLDS)))
    words = shade_words(predictive, by)
    shades = [{by: float(word) if by == "root_level" else word} for word in words]
    rates = fade_rates(predictive, place_by(predictive, by), shades, seed=seed)
    washes = np.linspace(0.0, predictive.support.numbers["washes"][2], _POINTS + 1)
    tail = 0.5 * (1.0 - COVERAGE)
    bands = np.array([np.quantile(rates.progress(at), [tail, 0.5, 1.0 - tail], axis=1) for at in washes])
    curves = []
    for i, word in enumerate(words):
        visits = predictive.follow_up[by][word].visits
        low, median, high = bands[:, :, i].T
        curves.append(FadeCurve(word, median, low, high, visits, judged(visits)))
    return FadeCurves(measure, by, washes, tuple(curves), missing_of(predictive), predictive.basis)
