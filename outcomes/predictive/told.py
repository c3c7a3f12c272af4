"""What a log tells of visits that are to be followed: plain arrays, one row a visit or a reading."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

__all__ = ["ToldVisits", "Unwritten"]

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.intp]
BoolArray = npt.NDArray[np.bool_]


@dataclass(frozen=True, eq=False)
class Unwritten:
    """Looks below the goal that nobody wrote down, r rows in order of visit and way.

    Attributes
    ----------
    first, count : ndarray of int (V,)
        Position of a visit's first row, and how many it has.
    way : ndarray of int (r,)
        Rows of one way were all taken; numbers of different visits differ.
    minutes, upper, weight : ndarray (r,)
        Minutes of the look; levels gained that it was below (infinite: there was no look); chance of its
        way, adding up to 1 over the ways of a visit.
    """

    first: IntArray
    count: IntArray
    way: IntArray
    minutes: FloatArray
    upper: FloatArray
    weight: FloatArray


@dataclass(frozen=True, eq=False)
class ToldVisits:
    """V visits of C clients, in order of client and then of time, and their n readings in order of time.

    Of lift a visit is a session, and a reading a look or the result; of fade it's the hair of one visit and
    zone, read after washes.

    Attributes
    ----------
    first_visit, n_visits : ndarray of int (C,)
        Position of a client's first visit, and how many they have.
    rows : ndarray (V, p)
        Encoded covariates.
    start : ndarray (V,)
        Level written before.
    rinse : ndarray (V,)
        Minutes at the rinse; washes at the last reading.
    stylist, product : ndarray of int (V,)
        Index into the codes of the distribution; -1 for no product given, -2 for a code it doesn't know.
    previous : ndarray of int (V,)
        Visit whose result was copied as this one's start; -1 where the start was read anew.
    first_reading, n_readings : ndarray of int (V,)
    minutes : ndarray (n,)
        Or washes.
    is_look : ndarray of bool (n,)
        At wet hair, under product; else at rinsed hair.
    lower, upper : ndarray (n,)
        Bounds of the progress since the start as written; infinite where open.
    unwritten : Unwritten or None
    """

    first_visit: IntArray
    n_visits: IntArray
    rows: FloatArray
    start: FloatArray
    rinse: FloatArray
    stylist: IntArray
    product: IntArray
    previous: IntArray
    first_reading: IntArray
    n_readings: IntArray
    minutes: FloatArray
    is_look: BoolArray
    lower: FloatArray
    upper: FloatArray
    unwritten: Unwritten | None = None

    def of_clients(self, clients: IntArray, visits: int | None = None) -> ToldVisits:
        """Some clients alone; visits and readings keep their places.

        Parameters
        ----------
        clients : ndarray of int
        visits : int, optional
            Most visits a client.

        Returns
        -------
        ToldVisits
        """
        n_visits = self.n_visits[clients]
        if visits is not None:
            n_visits = np.minimum(n_visits, visits)
        return replace(self, first_visit=self.first_visit[clients], n_visits=n_visits)
