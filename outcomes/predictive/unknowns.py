"""What a question leaves open, one set of values a course: parameters, people, looks, readings."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from outcomes.predictive.lattice import DIMENSIONS, lattice
from outcomes.predictive.lift import LiftPredictive
from outcomes.predictive.normal import normal_quantile
from outcomes.predictive.rates import RateTables

__all__ = ["MOST_PAST", "Unknowns", "cross_with_draws", "draw_unknowns", "mixing_at"]

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.intp]


MOST_PAST = 12
"""Visits of a client before; of more the latest count."""


@dataclass(frozen=True, eq=False)
class Unknowns:
    """Values for n courses, the same for every plan, so that plans differ by what they are alone.

    Attributes
    ----------
    draw : ndarray of int (n,)
        Which draw of the parameters.
    client, stylist_z, start : ndarray (n,)
        Standard normal.
    stylist, product : ndarray (n,)
        Uniform; turned into a code by shares.
    mixing : ndarray (n,)
        sqrt(df / chi-squared) of a heavy tail, or 1.
    later_hair : ndarray (n,)
        Uniform.
    covariates : mapping of column to ndarray (n,)
        Uniform.
    visit : ndarray (sessions, n)
        Standard normal.
    gap, condition, reading : ndarray (sessions, n)
        Uniform.
    past_start, past_visit : ndarray (past visits, n)
        Standard normal.
    whose : ndarray (n,)
        Uniform; chooses among courses by what earlier visits say of them. Empty without any.
    blocks : int
        The courses are so many blocks of the same length, and choosing stays within a block.
    """

    draw: IntArray
    client: FloatArray
    stylist: FloatArray
    stylist_z: FloatArray
    start: FloatArray
    product: FloatArray
    mixing: FloatArray
    later_hair: FloatArray
    covariates: Mapping[str, FloatArray]
    visit: FloatArray
    gap: FloatArray
    condition: FloatArray
    reading: FloatArray
    past_start: FloatArray
    past_visit: FloatArray
    whose: FloatArray
    blocks: int = 1

    def worn_by(self, chosen: IntArray) -> Unknowns:
        """The same luck for other people and parameters.

        Parameters
        ----------
        chosen : ndarray of int (n,)
            The course from which each takes parameters, stylist, product, covariates and tail.

        Returns
        -------
        Unknowns
        """
        names = ("draw", "stylist", "stylist_z", "product", "mixing", "later_hair")
        return replace(
            self,
            **{name: getattr(self, name)[chosen] for name in names},
            covariates={column: values[chosen] for column, values in self.covariates.items()},
        )


def draw_unknowns(
    predictive: LiftPredictive, tables: RateTables, n: int, sessions: int, seed: int, past: int = 0
) -> Unknowns:
    """Evenly spread values for n courses of up to so many sessions.

    Parameters
    ----------
    predictive : LiftPredictive
    tables : RateTables
        Names the covariates.
    n : int
        One of `lattice.SIZES`.
    sessions : int
        1 to 12.
    seed : int
        The same seed gives the same values.
    past : int
        Visits of the client before, 0 to `MOST_PAST`. What they had is taken from the lattice's end: in an
        answer that follows 12 sessions the last of those share it, and hardly anybody comes so far.

    Returns
    -------
    Unknowns

    Raises
    ------
    InputError
        As `lattice`.
    """
    columns = tuple(tables.covariates)
    # What moves an answer most comes first: the lattice spreads its first dimensions best.
    first = ("client", "visit 0", "draw", "stylist", "start", "gap 0", "visit 1", "gap 1", "product")
    rest = [*columns, "condition 0", "later_hair", "mixing"]
    rest += [f"{name} {k}" for k in range(sessions) for name in ("visit", "gap", "condition", "reading")]
    names = list(dict.fromkeys([*first, *rest]))
    uniform = dict(zip(names, lattice(n, len(names), seed), strict=True))

    behind = lattice(n, DIMENSIONS, seed)[::-1][: 2 * past + 1] if past else np.zeros((1, 0))

    def each_session(name: str) -> FloatArray:
        return np.array([uniform[f"{name} {k}"] for k in range(sessions)])

    draws = predictive.n_draws
    return Unknowns(
        draw=np.minimum((uniform["draw"] * draws).astype(np.intp), draws - 1),
        client=normal_quantile(uniform["client"]),
        stylist=uniform["stylist"],
        stylist_z=normal_quantile(uniform["stylist"]),
        start=normal_quantile(uniform["start"]),
        product=uniform["product"],
        mixing=mixing_at(predictive.recalibration.df, uniform["mixing"]),
        later_hair=uniform["later_hair"],
        covariates={column: uniform[column] for column in columns},
        visit=normal_quantile(each_session("visit")),
        gap=each_session("gap"),
        condition=each_session("condition"),
        reading=each_session("reading"),
        past_start=normal_quantile(behind[1::2]),
        past_visit=normal_quantile(behind[2::2]),
        whose=behind[0],
    )


def cross_with_draws(unknowns: Unknowns, n_draws: int) -> Unknowns:
    """Every one of the first `n_draws` draws with every course, for what differs between draws alone.

    Parameters
    ----------
    unknowns : Unknowns
        For n courses.
    n_draws : int

    Returns
    -------
    Unknowns
        For n_draws * n courses, those of one draw together.
    """
    n = len(unknowns.draw)

    def tiled(values: FloatArray) -> FloatArray:
        return np.tile(values, n_draws)

    return Unknowns(
        draw=np.repeat(np.arange(n_draws), n),
        client=tiled(unknowns.client),
        stylist=tiled(unknowns.stylist),
        stylist_z=tiled(unknowns.stylist_z),
        start=tiled(unknowns.start),
        product=tiled(unknowns.product),
        mixing=tiled(unknowns.mixing),
        later_hair=tiled(unknowns.later_hair),
        covariates={column: tiled(values) for column, values in unknowns.covariates.items()},
        visit=tiled(unknowns.visit),
        gap=tiled(unknowns.gap),
        condition=tiled(unknowns.condition),
        reading=tiled(unknowns.reading),
        past_start=tiled(unknowns.past_start),
        past_visit=tiled(unknowns.past_visit),
        whose=tiled(unknowns.whose),
        blocks=n_draws,
    )


def mixing_at(df: float | None, uniform: FloatArray) -> FloatArray:
    """sqrt(df / chi-squared) at these chances, from the chi-squared density integrated over log x.

    Parameters
    ----------
    df : float or None
        None: 1 everywhere.
    uniform : ndarray (n,)

    Returns
    -------
    ndarray (n,)
    """
    if df is None:
        return np.ones(len(uniform))
    log_x = np.linspace(np.log(df) - 30.0 / np.sqrt(df), np.log(df) + 8.0 / np.sqrt(df) + 1.0, 4001)
    density = np.exp(0.5 * df * (log_x - np.log(df)) - 0.5 * (np.exp(log_x) - df))
    below = np.concatenate([[0.0], np.cumsum(0.5 * (density[1:] + density[:-1]))])
    return np.asarray(np.sqrt(df / np.exp(np.interp(uniform, below / below[-1], log_x))), dtype=np.float64)
