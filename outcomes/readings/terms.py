"""The kinds of term a design is made of: each turns visit columns into numbers as it learned to from a log.

Numpy and the standard library only: a saved model encodes a plan at the chair without loading pandas.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import asdict, dataclass
from typing import Any, ClassVar

import numpy as np
import numpy.typing as npt

from outcomes.errors import InputError, ModelFileError
from outcomes.readings.given import (
    NOT_GIVEN,
    Columns,
    FloatArray,
    applies,
    given_numbers,
    given_words,
    needed_numbers,
)
from outcomes.readings.spline import CubicSpline, Linear

__all__ = [
    "Categories",
    "Flag",
    "Intercept",
    "LogRatio",
    "PerUnit",
    "Term",
    "term_from_dict",
    "term_to_dict",
]


@dataclass(frozen=True)
class Intercept:
    """The constant: one column of ones.

    Attributes
    ----------
    name, column : str
        Of the term, and the visit column it reads; none.
    """

    kind: ClassVar[str] = "intercept"
    name: str = "intercept"
    column: str = ""

    @property
    def names(self) -> tuple[str, ...]:
        """Names of the columns this term makes."""
        return (self.name,)

    def encode(self, columns: Columns, later_session: npt.NDArray[np.bool_]) -> FloatArray:
        """Columns of this term.

        Parameters
        ----------
        columns : mapping of str to ndarray (n,)
            Not read.
        later_session : ndarray of bool (n,)

        Returns
        -------
        ndarray (n, 1)
        """
        return np.ones((len(later_session), 1))


@dataclass(frozen=True)
class Flag:
    """Whether a visit is a later session of its course: 0 or 1.

    Attributes
    ----------
    name, column : str
        Of the term, and what it reads.
    """

    kind: ClassVar[str] = "flag"
    name: str = "later_session"
    column: str = "later_session"

    @property
    def names(self) -> tuple[str, ...]:
        """Names of the columns this term makes."""
        return (self.name,)

    def encode(self, columns: Columns, later_session: npt.NDArray[np.bool_]) -> FloatArray:
        """Columns of this term.

        Parameters
        ----------
        columns : mapping of str to ndarray (n,)
            Not read.
        later_session : ndarray of bool (n,)

        Returns
        -------
        ndarray (n, 1)
        """
        return later_session.astype(np.float64)[:, None]


@dataclass(frozen=True)
class LogRatio:
    """log(value / reference), 0 where a log leaves the value out, beside an indicator of that.

    Attributes
    ----------
    name, column : str
        Of the term, and the visit column it reads.
    reference : float
        Above 0.
    varies : bool
        False where all given values are alike: then only the indicator is left, if any.
    some_missing : bool
        Whether some visits of the log left the value out.
    """

    kind: ClassVar[str] = "log_ratio"
    name: str
    column: str
    reference: float
    varies: bool
    some_missing: bool

    @property
    def names(self) -> tuple[str, ...]:
        """Names of the columns this term makes."""
        return _number_names(self)

    def encode(self, columns: Columns, later_session: npt.NDArray[np.bool_]) -> FloatArray:
        """Columns of this term.

        Parameters
        ----------
        columns : mapping of str to ndarray (n,)
        later_session : ndarray of bool (n,)

        Returns
        -------
        ndarray (n, 0 to 2)

        Raises
        ------
        InputError
            A value at or below 0, or none where the log always gave one.
        """
        n = len(later_session)
        read = needed_numbers if self.varies and not self.some_missing else given_numbers
        values = read(columns, self.column, n)
        if (values <= 0).any():
            found = float(values[values <= 0][0])
            raise InputError(f"{self.column}: found {found:g}; expected a number above 0; correct it")
        return _number_columns(self, np.log(values / self.reference))


@dataclass(frozen=True)
class PerUnit:
    """value - reference, 0 where a log leaves the value out, beside an indicator of that.

    Attributes
    ----------
    name, column : str
        Of the term, and the visit column it reads.
    reference : float
    varies, some_missing : bool
        As in `LogRatio`.
    zones : tuple of str
        Where the column says something; elsewhere a row counts as the reference. Empty: everywhere.
    """

    kind: ClassVar[str] = "per_unit"
    name: str
    column: str
    reference: float
    varies: bool
    some_missing: bool
    zones: tuple[str, ...] = ()

    @property
    def names(self) -> tuple[str, ...]:
        """Names of the columns this term makes."""
        return _number_names(self)

    def encode(self, columns: Columns, later_session: npt.NDArray[np.bool_]) -> FloatArray:
        """Columns of this term.

        Parameters
        ----------
        columns : mapping of str to ndarray (n,)
        later_session : ndarray of bool (n,)

        Returns
        -------
        ndarray (n, 0 to 2)

        Raises
        ------
        InputError
            No value where the log always gave one.
        """
        n = len(later_session)
        said = applies(columns, self.zones, n)
        values = np.where(said, given_numbers(columns, self.column, n), self.reference)
        if self.varies and not self.some_missing:
            values = needed_numbers({self.column: values}, self.column, n)
        return _number_columns(self, values - self.reference)


def _number_names(term: LogRatio | PerUnit) -> tuple[str, ...]:
    value = (term.name,) if term.varies else ()
    return (*value, f"{term.name}[{NOT_GIVEN}]") if term.some_missing else value


def _number_columns(term: LogRatio | PerUnit, distance: FloatArray) -> FloatArray:
    """Distance from the reference, 0 where it's NaN, and an indicator of that; each if the log taught it."""
    missing = np.isnan(distance)
    made = [np.where(missing, 0.0, distance)] if term.varies else []
    if term.some_missing:
        made.append(missing.astype(np.float64))
    return np.column_stack(made) if made else np.empty((len(distance), 0))


@dataclass(frozen=True)
class Categories:
    """One 0/1 column for each category other than the reference.

    With no other category the term makes no column, and still refuses a category that the log never had.

    Attributes
    ----------
    name, column : str
        Of the term, and the visit column it reads.
    reference : str
    categories : tuple of str
        The others.
    zones : tuple of str
        Where the column says something; elsewhere a row counts as the reference. Empty: everywhere.
    """

    kind: ClassVar[str] = "categories"
    name: str
    column: str
    reference: str
    categories: tuple[str, ...]
    zones: tuple[str, ...] = ()

    @property
    def names(self) -> tuple[str, ...]:
        """Names of the columns this term makes."""
        return tuple(f"{self.name}[{category}]" for category in self.categories)

    def encode(self, columns: Columns, later_session: npt.NDArray[np.bool_]) -> FloatArray:
        """Columns of this term.

        Parameters
        ----------
        columns : mapping of str to ndarray (n,)
        later_session : ndarray of bool (n,)

        Returns
        -------
        ndarray (n, number of categories other than the reference)

        Raises
        ------
        InputError
            A category that the log never had, or none where the log always gave one.
        """
        n = len(later_session)
        words, given = given_words(columns, self.column, n)
        elsewhere = ~applies(columns, self.zones, n)
        words, given = np.where(elsewhere, self.reference, words), given | elsewhere
        seen = (self.reference, *self.categories)
        if self.categories and NOT_GIVEN not in seen and not given.all():
            raise InputError(
                f"{self.column}: found no value, and the log always gives one; expected one of "
                f"{', '.join(seen)}; give it, or average over the log's shares"
            )
        made = np.zeros((n, len(self.categories)))
        known = (words == self.reference) | ~given
        for at, category in enumerate(self.categories):
            here = ~given if category == NOT_GIVEN else words == category
            made[:, at] = here
            known = known | here
        if not known.all():
            raise InputError(
                f"{self.column}: found {str(words[~known][0])!r}, which the log it was learned from never "
                f"has; expected {' or '.join(word for word in seen if word != NOT_GIVEN)}; choose one, "
                "or fit a log that has it"
            )
        return made


Term = Intercept | Flag | LogRatio | PerUnit | Categories | Linear | CubicSpline

_KINDS: dict[str, Callable[..., Term]] = {
    kind.kind: kind for kind in (Intercept, Flag, LogRatio, PerUnit, Categories, Linear, CubicSpline)
}


def term_to_dict(term: Term) -> dict[str, Any]:
    """A term as plain JSON values.

    Parameters
    ----------
    term : Term

    Returns
    -------
    dict
    """
    return {"kind": term.kind, **asdict(term)}


def term_from_dict(stored: Mapping[str, Any]) -> Term:
    """The term that `term_to_dict` wrote.

    Parameters
    ----------
    stored : mapping

    Returns
    -------
    Term

    Raises
    ------
    ModelFileError
        An unknown kind, or fields that aren't those of that kind.
    """
    fields = {key: tuple(value) if isinstance(value, list) else value for key, value in stored.items()}
    kind = fields.pop("kind", None)
    if kind not in _KINDS:
        raise ModelFileError(
            f"design term: found kind {kind!r}; expected one of {', '.join(_KINDS)}; fit the log again"
        )
    try:
        return _KINDS[kind](**fields)
    except TypeError as cause:
        raise ModelFileError(f"design term {kind!r}: {cause}; fit the log again") from cause
