"""Covariates of a visit as named numeric columns: learned once from a log, encoded ever after the same way.

Numpy and the standard library only: a saved model encodes a plan at the chair without loading pandas.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from outcomes.errors import InputError, ModelFileError
from outcomes.readings.aliases import alias_note, independent_columns
from outcomes.readings.given import NOT_GIVEN, Columns, FloatArray, given_numbers, given_words, needed_numbers
from outcomes.readings.spline import CubicSpline, Linear
from outcomes.readings.terms import (
    Categories,
    Flag,
    Intercept,
    LogRatio,
    Term,
    term_from_dict,
    term_to_dict,
)

__all__ = ["Design", "learn_design"]

FEW_VISITS = 5
"""A category in fewer visits than this stays in (a prior holds it) and is named in the notes."""

# (column, reference, all its words in the order of their columns, needed in every visit)
_WORDS: dict[str, tuple[str, tuple[str, ...], bool]] = {
    "heat": ("none", ("none", "low", "medium", "high"), True),
    "hair": ("natural", ("natural", "coloured", "lightened"), True),
    "texture": ("medium", ("medium", "fine", "coarse"), False),
    "zone": ("lengths", ("lengths", "roots", "ends", "all"), False),
    "wrap": ("foil", ("foil", "open", "film"), False),
    "colour_history": ("none", ("none", "one", "several"), False),
}

# (column -> name of the term, reference value, needed in every visit)
_RATIOS: dict[str, tuple[str, float, bool]] = {
    "peroxide_pct": ("peroxide", 6.0, True),
    "mix_ratio": ("mix_ratio", 2.0, False),
    "applications": ("applications", 1.0, False),
}

# Of columns that can't be told apart the one that stands first here is kept.
_ORDER = (
    "peroxide_pct",
    "heat",
    "hair",
    "texture",
    "start_level",
    "later_session",
    "zone",
    "wrap",
    "mix_ratio",
    "colour_history",
    "applications",
)


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

    def encode(self, columns: Columns, later_session: npt.ArrayLike) -> FloatArray:
        """Design matrix of some visits.

        Parameters
        ----------
        columns : mapping of str to ndarray (n,)
            Canonical visit columns: words as object arrays of str or None, numbers as float with NaN.
            A column that isn't there counts as not given.
        later_session : array_like of bool (n,)
            Whether each visit is a later session of its course.

        Returns
        -------
        ndarray (n, p)
            Columns in the order of `names`.

        Raises
        ------
        InputError
            A category that the log never had; no value where the log always gave one; a ratio at or below 0.
        """
        later = np.atleast_1d(np.asarray(later_session, dtype=bool))
        for column in self.columns:
            if column in columns and len(columns[column]) != len(later):
                raise InputError(
                    f"{column}: found {len(columns[column])} values; expected {len(later)}, one for each row "
                    "of later_session; give columns of one length"
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


def learn_design(columns: Columns, later_session: npt.ArrayLike) -> Design:
    """Learn categories, knots and which columns can be told apart from a log's visits.

    Parameters
    ----------
    columns : mapping of str to ndarray (n,)
        Canonical visit columns: words as object arrays of str or None, numbers as float with NaN.
    later_session : array_like of bool (n,)
        Whether each visit is a later session of its course.

    Returns
    -------
    Design
        Its matrix for these visits has full column rank.

    Raises
    ------
    InputError
        No visits; a needed column that's empty somewhere; a word that the log format doesn't have.
    """
    later = np.asarray(later_session, dtype=bool)
    if not len(later):
        raise InputError(
            "visits: found none; expected at least one to learn a design from; give a log with visits"
        )
    terms: list[Term] = [Intercept()]
    notes: list[str] = []
    for column in _ORDER:
        if column in _WORDS:
            made = _learn_words(columns, column, len(later), notes)
        elif column in _RATIOS:
            made = _learn_ratio(columns, column, len(later), notes)
        elif column == "start_level":
            made = _learn_start(columns, len(later), notes)
        else:
            made = _learn_later(later, notes)
        terms += made
    whole = np.hstack([term.encode(columns, later) for term in terms])
    every = [name for term in terms for name in term.names]
    kept, lost = independent_columns(whole)
    notes += [alias_note(whole, every, kept, at) for at in lost]
    return Design(tuple(terms), tuple(every[at] for at in kept), tuple(notes))


def _positions(terms: tuple[Term, ...], names: tuple[str, ...]) -> list[int]:
    every = [name for term in terms for name in term.names]
    return [every.index(name) for name in names]


def _learn_words(columns: Columns, column: str, n: int, notes: list[str]) -> list[Term]:
    reference, allowed, needed = _WORDS[column]
    words, given = given_words(columns, column, n)
    counts = {word: int((words == word).sum()) for word in allowed}
    if sum(counts.values()) < int(given.sum()):
        stray = str(words[given & ~np.isin(words.astype(str), allowed)][0])
        raise InputError(f"{column}: found {stray!r}; expected one of {', '.join(allowed)}; correct the log")
    if needed and not given.all():
        raise InputError(
            f"{column}: found no value in {int((~given).sum())} visits; it's needed in each; give it"
        )
    seen = [word for word in allowed if counts[word]]
    if not seen:
        notes.append(f"{column} is left out: no visit gives it.")
        return []
    if reference not in seen:
        # Effects need something to be read against: the commonest category stands in.
        stand_in = max(seen, key=lambda word: counts[word])
        notes.append(f"{column} is read against {stand_in}: no visit has {reference}.")
        reference = stand_in
    others = [word for word in seen if word != reference]
    if not given.all():
        others.append(NOT_GIVEN)
        counts[NOT_GIVEN] = int((~given).sum())
    if not others:
        notes.append(f"{column} is left out: every visit has {reference}.")
    for word in (reference, *others):
        if counts[word] < FEW_VISITS:
            notes.append(f"{column}[{word}] rests on {counts[word]} of {n} visits.")
    return [Categories(column, column, reference, tuple(others))]


def _learn_ratio(columns: Columns, column: str, n: int, notes: list[str]) -> list[Term]:
    name, reference, needed = _RATIOS[column]
    values = (needed_numbers if needed else given_numbers)(columns, column, n)
    given = values[~np.isnan(values)]
    if not len(given):
        notes.append(f"{name} is left out: no visit gives it.")
        return []
    varies = bool(given.min() < given.max())
    if not varies:
        notes.append(f"{name} is left out: every visit that gives it has {given[0]:g}.")
    if 0 < n - len(given) < FEW_VISITS:
        notes.append(f"{name}[{NOT_GIVEN}] rests on {n - len(given)} of {n} visits.")
    return [LogRatio(name, column, reference, varies, len(given) < n)]


def _learn_start(columns: Columns, n: int, notes: list[str]) -> list[Term]:
    values = given_numbers(columns, "start_level", n)
    if np.isnan(values).any():
        raise InputError(
            f"start_level: found no value in {int(np.isnan(values).sum())} visits; give it in each"
        )
    # Knots at levels that occur: an interpolated quantile could put two of them between the same two levels.
    first, middle, last = (float(k) for k in np.quantile(values, [0.1, 0.5, 0.9], method="inverted_cdf"))
    if first < middle < last:
        return [CubicSpline("start_level", "start_level", (first, middle, last))]
    if values.min() < values.max():
        notes.append("start_level enters as a straight line: too few different start levels for a spline.")
        return [Linear("start_level", "start_level", middle)]
    notes.append(f"start_level is left out: every visit starts at {middle:g}.")
    return []


def _learn_later(later: npt.NDArray[np.bool_], notes: list[str]) -> list[Term]:
    if later.all() or not later.any():
        notes.append(
            f"later_session is left out: {'every' if later.all() else 'no'} visit is a later session."
        )
        return []
    few = int(min(later.sum(), (~later).sum()))
    if few < FEW_VISITS:
        notes.append(f"later_session rests on {few} of {len(later)} visits.")
    return [Flag()]
