"""The start level as a smooth term: a natural cubic spline, or a straight line where levels are few."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

import numpy as np
import numpy.typing as npt

from outcomes.readings.given import Columns, FloatArray, needed_numbers

__all__ = ["CubicSpline", "Linear"]


@dataclass(frozen=True)
class Linear:
    """value - centre, where too few different values are there for a spline.

    Attributes
    ----------
    name, column : str
        Of the term, and the visit column it reads.
    centre : float
    """

    kind: ClassVar[str] = "linear"
    name: str
    column: str
    centre: float

    @property
    def names(self) -> tuple[str, ...]:
        """Names of the columns this term makes."""
        return (f"{self.name}[1]",)

    def encode(self, columns: Columns, later_session: npt.NDArray[np.bool_]) -> FloatArray:
        """Columns of this term.

        Parameters
        ----------
        columns : mapping of str to ndarray (n,)
        later_session : ndarray of bool (n,)

        Returns
        -------
        ndarray (n, 1)

        Raises
        ------
        InputError
            A row without a value.
        """
        values = needed_numbers(columns, self.column, len(later_session))
        return (values - self.centre)[:, None]


@dataclass(frozen=True)
class CubicSpline:
    """Natural cubic spline with three knots: two columns, both 0 at the middle one, straight beyond the ends.

    Attributes
    ----------
    name, column : str
        Of the term, and the visit column it reads.
    knots : (float, float, float)
        k1, k2, k3, ascending.

    Notes
    -----
    The first column is value - k2. The second is the truncated-power form of the restricted cubic spline,
    ((s-k1)+^3 - (s-k2)+^3 (k3-k1)/(k3-k2) + (s-k3)+^3 (k2-k1)/(k3-k2)) / (k3-k1)^2, less its value at k2, so
    both are in the units of the value and a coefficient reads as a change for one level.
    """

    kind: ClassVar[str] = "cubic_spline"
    name: str
    column: str
    knots: tuple[float, float, float]

    @property
    def names(self) -> tuple[str, ...]:
        """Names of the columns this term makes."""
        return (f"{self.name}[1]", f"{self.name}[2]")

    def _bend(self, values: FloatArray) -> FloatArray:
        first, middle, last = self.knots
        cubes = [np.maximum(values - knot, 0.0) ** 3 for knot in self.knots]
        bend = cubes[0] - cubes[1] * (last - first) / (last - middle)
        bend += cubes[2] * (middle - first) / (last - middle)
        return np.asarray(bend / (last - first) ** 2, dtype=np.float64)

    def encode(self, columns: Columns, later_session: npt.NDArray[np.bool_]) -> FloatArray:
        """Columns of this term.

        Parameters
        ----------
        columns : mapping of str to ndarray (n,)
        later_session : ndarray of bool (n,)

        Returns
        -------
        ndarray (n, 2)

        Raises
        ------
        InputError
            A row without a value.
        """
        values = needed_numbers(columns, self.column, len(later_session))
        middle = self.knots[1]
        return np.column_stack([values - middle, self._bend(values) - self._bend(np.array([middle]))])
