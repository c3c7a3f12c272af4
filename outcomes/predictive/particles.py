"""Particles of a client: sets of what isn't known, evenly spread at first, and chosen anew by weight."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from outcomes.predictive.distribution import DRAWS, Predictive
from outcomes.predictive.lattice import lattice
from outcomes.predictive.normal import normal_quantile
from outcomes.predictive.told import ToldVisits
from outcomes.predictive.unknowns import mixing_at

__all__ = ["Particles", "aimed", "resampled"]

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.intp]

_UNIFORM = ("away", "split", "draw", "start", "stylist", "product", "mixing", "reading")

_WIDE = 1.4  # factor on a t with 2 degrees of freedom, from which deviations are drawn
_FARTHEST = 40.0
_LEAST = 1e-12
_PEAK = 1.0 / math.sqrt(2.0 * math.pi)


@dataclass(frozen=True, eq=False)
class Particles:
    """n particles for each of m clients. All clients begin with the same n, so a particle is a number.

    Attributes
    ----------
    predictive : Predictive
    draw : ndarray of int (n,)
        Draw of the parameters of each of the n.
    z : mapping of str to ndarray (n,)
        Standard normal: "stylist" and "product" (for codes that the distribution doesn't know), "start" and
        "reading" (of the first visit), "split" (of a deviation between client and visit).
    away : ndarray (n,)
        Uniform; where in its distribution a first visit's deviation lies.
    mixing : ndarray (n,)
        sqrt(df / chi-squared) of a heavy tail, or 1.
    number : ndarray of int (m, n)
        Which of the n each client's particles are.
    client : ndarray (m, n)
        Deviations of log R of the client; 0 before the first visit.
    """

    predictive: Predictive
    draw: IntArray
    z: dict[str, FloatArray]
    away: FloatArray
    mixing: FloatArray
    number: IntArray
    client: FloatArray

    @classmethod
    def evenly(cls, predictive: Predictive, clients: int, n: int, seed: int) -> Particles:
        """Particles before anything is known.

        Parameters
        ----------
        predictive : Predictive
        clients : int
        n : int
            One of `lattice.SIZES`.
        seed : int

        Returns
        -------
        Particles
        """
        uniform = dict(zip(_UNIFORM, lattice(n, len(_UNIFORM), seed), strict=True))
        draws = predictive.n_draws
        return cls(
            predictive,
            np.minimum((uniform["draw"] * draws).astype(np.intp), draws - 1),
            {
                name: normal_quantile(uniform[name])
                for name in ("start", "stylist", "product", "reading", "split")
            },
            uniform["away"],
            mixing_at(predictive.recalibration.df, uniform["mixing"]),
            np.broadcast_to(np.arange(n), (clients, n)),
            np.zeros((clients, n)),
        )

    def split(self, z: FloatArray) -> tuple[Particles, FloatArray]:
        """Deviations of a first visit, shared out between client and visit.

        Parameters
        ----------
        z : ndarray (m, n)
            The sum of both, in units of its spread.

        Returns
        -------
        Particles
            With `client`.
        visit : ndarray (m, n)
        """
        of_client, of_visit = self.drawn("sd_client"), self.drawn("sd_visit")
        both = np.hypot(of_client, of_visit)
        share = of_client / np.maximum(both, _LEAST)
        client = share * (of_client * z + of_visit * self.z["split"][self.number])
        return replace(self, client=client), both * z - client

    def first(self, clients: int) -> Particles:
        """Those of the first so many clients.

        Parameters
        ----------
        clients : int

        Returns
        -------
        Particles
        """
        return replace(self, number=self.number[:clients], client=self.client[:clients])

    def chosen(self, places: IntArray) -> Particles:
        """Those at some places of each client.

        Parameters
        ----------
        places : ndarray of int (m, n)

        Returns
        -------
        Particles
        """
        return replace(
            self,
            number=np.take_along_axis(self.number, places, axis=1),
            client=np.take_along_axis(self.client, places, axis=1),
        )

    def drawn(self, name: str) -> FloatArray:
        """Values of one of `DRAWS`.

        Parameters
        ----------
        name : str

        Returns
        -------
        ndarray (m, n)
        """
        assert name in DRAWS
        return np.asarray(self.predictive.draws[name][self.draw][self.number], dtype=np.float64)

    @property
    def mixings(self) -> FloatArray:
        """`mixing` of each particle, (m, n)."""
        return self.mixing[self.number]

    def steady(self, told: ToldVisits, at: IntArray) -> tuple[FloatArray, FloatArray]:
        """log R of a visit of each client but for the client's and the visit's own deviations.

        Parameters
        ----------
        told : ToldVisits
        at : ndarray of int (m,)
            The visits.

        Returns
        -------
        log_rate : ndarray (m, n)
        centre : ndarray (m, 1)
            With mean parameters.
        """
        draws, draw, rows = self.predictive.draws, self.draw, told.rows[at]
        log_rate = rows @ draws["coefficients"][draw].T
        centre = (rows @ draws["coefficients"].mean(axis=0))[:, None]
        for name, code in (("stylist", told.stylist[at]), ("product", told.product[at])):
            known = np.flatnonzero(code >= 0)
            log_rate[known] += draws[name][draw].T[code[known]]
            centre[known] += draws[name].mean(axis=0)[code[known], None]
            log_rate[code == -2] += draws[f"sd_{name}"][draw] * self.z[name]
        return np.take_along_axis(log_rate, self.number, axis=1), centre


def aimed(uniform: FloatArray, aim: FloatArray, width: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Deviates from far and wide, every other one near where it's wanted, with the weights of normal ones.

    Hair that is far from the middle would otherwise be told by the one or two particles that happen to lie
    out there. All come from Student's t with 2 degrees of freedom, whose quantiles are in closed form.

    Parameters
    ----------
    uniform : ndarray (n,)
    aim, width : ndarray (m, n)
        Where they are wanted, and how near; NaN: nowhere in particular.

    Returns
    -------
    z, weight : ndarray (m, n)
        Weights are 1 on average.

    References
    ----------
    Hesterberg, T. (1995). Weighted average importance sampling and defensive mixture distributions.
    Technometrics 37, 185-194. doi:10.1080/00401706.1995.10484303.
    """
    t = (2.0 * uniform - 1.0) / np.sqrt(np.maximum(2.0 * uniform * (1.0 - uniform), 1e-12))
    aim, width = np.where(np.isnan(aim), 0.0, aim), np.where(np.isnan(aim), _WIDE, width)
    # numbers of a lattice are in no order that matters, so every other one is a fair half
    near = np.arange(len(uniform)) % 2 == 0
    z = np.clip(np.where(near, aim + width * t, _WIDE * t), -_FARTHEST, _FARTHEST)
    density = 0.5 / (_WIDE * (2.0 + (z / _WIDE) ** 2) ** 1.5)
    density += 0.5 / (width * (2.0 + ((z - aim) / width) ** 2) ** 1.5)
    return z, np.asarray(_PEAK * np.exp(-0.5 * z**2) / density, dtype=np.float64)


def resampled(weight: FloatArray, rng: np.random.Generator) -> IntArray:
    """Places of particles chosen in proportion to their weights, evenly (systematic resampling).

    Parameters
    ----------
    weight : ndarray (m, n)
        Not negative, some above 0 in every row.
    rng : Generator

    Returns
    -------
    ndarray of int (m, n)

    References
    ----------
    Kitagawa, G. (1996). Monte Carlo filter and smoother for non-Gaussian nonlinear state space models.
    J. Comput. Graph. Stat. 5, 1-25. doi:10.1080/10618600.1996.10474692.
    """
    m, n = weight.shape
    ends = np.cumsum(weight, axis=1)
    ends /= ends[:, -1:]
    # each row moved up by its number: one sorted array in which all rows are looked up at once
    row = np.arange(m)[:, None]
    wanted = (np.arange(n) + rng.random((m, 1))) / n
    found = np.searchsorted((ends[:, :-1] + row).ravel(), (wanted + row).ravel(), side="right")
    return np.asarray(np.clip(found.reshape(m, n) - row * (n - 1), 0, n - 1), dtype=np.intp)
