"""Covariates of a visit as named numeric columns, encoded as a log taught them.

Numpy and the standard library only: a saved model encodes a plan at the chair without loading pandas.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from outcomes.errors import InputError, ModelFileError
from outcomes.readings.given import Columns, FloatArray
from outcomes.readings.terms import Categories, Term, term_from_dict, term_to_dict

__all__ = ["Design"]


@dataclass(frozen=True)
class Design:
    """Named columns of the linear predictor, with the knots and categories that a log taught.

    Attributes
    ----------
    terms : tuple of Term
        Each with its name, kind, visit column and what it learned.
    names : tuple of str
        Names of the p columns kept, in order.
    notes : tuple of str
        What was left out or rests on few visits, and why.
    """

    terms: tuple[Term, ...]
    names: tuple[str, ...]
    notes: tuple[str, ...]

    @property
    def columns(self) -> tuple[str, ...]:
        """Visit columns that `encode` reads, "later_session" apart."""
        return tuple(term.column for term in self.terms if term.column not in ("", "later_session"))

    def categories(self, column: str) -> tuple[str, ...]:
        """Categories the log had in a column of words, reference first ("not given" last); () for others.

        Parameters
        ----------
        column : str

        Returns
        -------
        tuple of str
        """
        found = [term for term in self.terms if isinstance(term, Categories) and term.column == column]
        return (found[0].reference, *found[0].categories) if found else ()

    def encode(self, columns: Columns, later_session: npt.ArrayLike | None = None) -> FloatArray:
        """Design matrix of some visits.

        Parameters
        ----------
        columns : mapping of str to ndarray (n,)
            Canonical visit columns: words as object arrays of str or None, numbers as float with NaN.
            A column that isn't there counts as not given.
        later_session : array_like of bool (n,), optional
            Whether each visit is a later session of its course; by default none is.

        Returns
        -------
        ndarray (n, p)
            Columns in the order of `names`.

        Raises
        ------
        InputError
            A category that the log never had; no value where the log always gave one; a ratio at or below 0.
        """
        if later_session is None:
            later_session = np.zeros(max([len(values) for values in columns.values()], default=1), dtype=bool)
        later = np.atleast_1d(np.asarray(later_session, dtype=bool))
        for column in self.columns:
            if column in columns and len(columns[column]) != len(later):
                raise InputError(
                    f"{column}: found {len(columns[column])} values; expected {len(later)}, one for each "
                    "row; give columns of one length"
                )
        whole = np.hstack([term.encode(columns, later) for term in self.terms])
        return whole[:, _positions(self.terms, self.names)]

    def to_dict(self) -> dict[str, Any]:
        """Plain JSON values from which `from_dict` makes the same design."""
        return {
            "names": list(self.names),
            "terms": [term_to_dict(term) for term in self.terms],
            "notes": list(self.notes),
        }

    @classmethod
    def from_dict(cls, stored: Mapping[str, Any]) -> Design:
        """The design that `to_dict` wrote.

        Parameters
        ----------
        stored : mapping

        Returns
        -------
        Design

        Raises
        ------
        ModelFileError
            A field that's missing, or columns that the terms don't make.
        """
        try:
            terms = tuple(term_from_dict(term) for term in stored["terms"])
            names, notes = tuple(stored["names"]), tuple(stored["notes"])
        except (KeyError, TypeError, AttributeError) as cause:
            raise ModelFileError(f"design: found no usable field {cause}; fit the log again") from cause
        unknown = sorted(set(names) - {name for term in terms for name in term.names})
        if unknown:
            raise ModelFileError(f"design: no term makes the columns {', '.join(unknown)}; fit the log again")
        return cls(terms, names, notes)


def _positions(terms: tuple[Term, ...], names: tuple[str, ...]) -> list[int]:
    every = [name for term in terms for name in term.names]
    return [every.index(name) for name in names]
