"""Fade of new clients' hair: rates drawn once, and what they come to after any number of washes.

Two shades that are asked about together are worn by the same simulated clients, so they differ by what they
are alone.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import numpy.typing as npt

from outcomes.errors import InputError
from outcomes.predictive.distribution import rate
from outcomes.predictive.fade import FadePredictive
from outcomes.predictive.lattice import lattice
from outcomes.predictive.normal import normal_quantile
from outcomes.predictive.unknowns import mixing_at

__all__ = ["CLIENTS", "FadeRates", "encode_shade", "fade_rates", "place_of"]

FloatArray = npt.NDArray[np.float64]
Given = Mapping[str, str | float | None]

CLIENTS = 4096
"""Simulated; one of `lattice.SIZES`."""

_FIRST = ("client", "draw", "visit", "stylist", "product", "mixing")
_NUMBERS = ("root_level", "condition_after")


@dataclass(frozen=True, eq=False)
class FadeRates:
    """Rates of n clients' hair for k shades.

    Attributes
    ----------
    predictive : FadePredictive
    log_rate : ndarray (k, n)
        log of the progress in one reference of washes.
    rows : ndarray (k, p)
        What each shade adds to the encoded row of the first: their contrasts are those of the coefficients.
    theta : ndarray (n,)
    saturating : ndarray of bool (n,)
    """

    predictive: FadePredictive
    log_rate: FloatArray
    rows: FloatArray
    theta: FloatArray
    saturating: npt.NDArray[np.bool_]

    def shade(self, i: int) -> FadeRates:
        """The same clients wearing one shade alone.

        Parameters
        ----------
        i : int
            0 to k - 1.

        Returns
        -------
        FadeRates
            With k = 1.
        """
        return replace(self, log_rate=self.log_rate[i : i + 1], rows=self.rows[i : i + 1])

    def progress(self, washes: float, factor: float = 1.0) -> FloatArray:
        """Progress after so many washes.

        Parameters
        ----------
        washes : float
            0 or more.
        factor : float
            On every rate.

        Returns
        -------
        ndarray (k, n)
            Levels, -log(share left), or CIEDE2000.
        """
        at = np.full(len(self.theta), float(washes))
        share = self.predictive.progress(at, self.theta, self.saturating)
        return np.asarray(factor * rate(self.log_rate) * share, dtype=np.float64)

    def washes_until(self, threshold: float, factor: float = 1.0) -> FloatArray:
        """Washes until progress first passes a threshold; infinite where it never does.

        Parameters
        ----------
        threshold : float
            Above 0, as `progress`.
        factor : float
            On every rate.

        Returns
        -------
        ndarray (k, n)

        Notes
        -----
        With share = threshold / R: a power passes it at share^(1/theta) references, a saturating curve at
        -theta log(1 - share (1 - exp(-1/theta))), and never where its ceiling lies below.
        """
        share = threshold / (factor * rate(self.log_rate))
        with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
            power = share ** (1.0 / self.theta)
            left = 1.0 + share * np.expm1(-1.0 / self.theta)
            curved = np.where(left > 0, -self.theta * np.log(left), np.inf)
        return np.asarray(self.predictive.reference * np.where(self.saturating, curved, power))


def place_of(zone: str) -> str:
    """Whether a zone wears a root shade ("roots") or a toner ("toned").

    Parameters
    ----------
    zone : str

    Returns
    -------
    str
    """
    return "roots" if zone == "roots" else "toned"


def fade_rates(
    predictive: FadePredictive, place: str, shades: Sequence[Given], *, n: int = CLIENTS, seed: int = 1
) -> FadeRates:
    """Rates of new clients, with one of the log's stylists, for each of some shades.

    Parameters
    ----------
    predictive : FadePredictive
    place : {"roots", "toned"}
    shades : sequence of mapping of column to value (k)
        What is asked about, the same columns in each: root_level, root_tone, toner_tone, shampoo, zone.
        Columns left out are averaged over the log's visits there.
    n : int
        Clients; one of `lattice.SIZES`.
    seed : int
        The same seed gives the same clients.

    Returns
    -------
    FadeRates

    Raises
    ------
    InputError
        A place that the log doesn't tell of; a word that it never had.
    """
    if place not in predictive.covariates:
        raise InputError(f"no hair was read after washes at the {place}; log readings there, and fit again")
    shares = predictive.covariates[place]
    open_columns = [column for column in shares if column not in shades[0]]
    names = (*_FIRST, *open_columns)
    uniform = dict(zip(names, lattice(n, len(names), seed), strict=True))
    draws, draw = (
        predictive.draws,
        np.minimum((uniform["draw"] * predictive.n_draws).astype(int), predictive.n_draws - 1),
    )
    drawn: dict[str, npt.NDArray[Any]] = {}
    for column in open_columns:
        values = [value for value, _ in shares[column]]
        chosen = _pick(np.array([share for _, share in shares[column]]), uniform[column])
        drawn[column] = _column(column, [values[i] for i in chosen])
    base = _encoded(predictive, drawn, shades[0], n)
    encoded = np.array([_encoded(predictive, drawn, shade, 1)[0] for shade in shades])
    deltas = encoded - encoded[0]  # terms add up, so any client tells
    coefficients = draws["coefficients"]
    mean = coefficients.mean(axis=0)
    log_rate = np.einsum("np,np->n", base, coefficients[draw]) + deltas @ coefficients[draw].T
    centre = (base @ mean) + (deltas @ mean)[:, None]
    stylist = _pick(predictive.stylist_visits.astype(np.float64), uniform["stylist"])
    log_rate += draws["stylist"][draw, stylist]
    centre = centre + draws["stylist"].mean(axis=0)[stylist]
    if place == "roots":
        for row, shade in enumerate(shades):
            own, middle = _shade_effect(predictive, drawn, shade, draw, uniform["product"])
            log_rate[row] += own
            centre[row] += middle
    log_rate += draws["sd_client"][draw] * normal_quantile(uniform["client"])
    log_rate += draws["sd_visit"][draw] * normal_quantile(uniform["visit"])
    recalibration = predictive.recalibration
    if recalibration.changes_rates:
        mixing = mixing_at(recalibration.df, uniform["mixing"])
        log_rate = recalibration.rates(centre, log_rate, mixing)
    return FadeRates(predictive, log_rate, deltas, draws["shape"][draw], draws["saturating"][draw] > 0)


def _pick(weights: FloatArray, uniform: FloatArray) -> npt.NDArray[np.intp]:
    ends = np.cumsum(weights)
    return np.minimum(np.searchsorted(ends / ends[-1], uniform, side="right"), len(weights) - 1)


def _column(name: str, values: Sequence[str | float | None]) -> npt.NDArray[Any]:
    if name in _NUMBERS:
        return np.array([np.nan if value is None else value for value in values], dtype=np.float64)
    words = np.empty(len(values), dtype=object)
    words[:] = list(values)
    return words


def encode_shade(predictive: FadePredictive, given: Given) -> FloatArray:
    """One row of the design.

    Parameters
    ----------
    predictive : FadePredictive
    given : mapping of column to value
        Columns left out count as not given.

    Returns
    -------
    ndarray (p,)
    """
    return np.asarray(_encoded(predictive, {}, given, 1)[0], dtype=np.float64)


def _encoded(
    predictive: FadePredictive, drawn: Mapping[str, npt.NDArray[Any]], shade: Given, n: int
) -> FloatArray:
    columns = {name: values[:n] for name, values in drawn.items()}
    columns |= {name: _column(name, [value] * n) for name, value in shade.items()}
    return predictive.design.encode(columns)


def _shade_effect(
    predictive: FadePredictive,
    drawn: Mapping[str, npt.NDArray[Any]],
    shade: Given,
    draw: npt.NDArray[np.intp],
    uniform: FloatArray,
) -> tuple[FloatArray, FloatArray]:
    """Effect of the very shade beyond that of its level and tone, and its middle, (n,) each."""
    draws, n = predictive.draws, len(draw)
    own, middle = draws["sd_product"][draw] * normal_quantile(uniform), np.zeros(n)
    if not predictive.products:
        return own, middle
    place = {code: i for i, code in enumerate(predictive.products)}
    codes = np.full(n, -1)
    if "root_level" in shade and "root_tone" in shade:
        codes[:] = place.get(_code(shade["root_level"], shade["root_tone"]), -1)
    else:
        level, tone = (
            [shade[column]] * n if column in shade else drawn.get(column, np.full(n, None)).tolist()
            for column in ("root_level", "root_tone")
        )
        if level[0] is not None:
            codes[:] = [place.get(_code(*pair), -1) for pair in zip(level, tone, strict=True)]
    known = np.flatnonzero(codes >= 0)
    own[known] = draws["product"][draw[known], codes[known]]
    middle[known] = draws["product"].mean(axis=0)[codes[known]]
    return own, middle


def _code(level: str | float | None, tone: str | float | None) -> str:
    """A root shade as the log's codes name it."""
    return f"{level:g} {tone or ''}".strip()
