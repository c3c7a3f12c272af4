"""Learn from a log's visits which columns its design has: categories, knots, and what can be told apart."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from outcomes.errors import InputError
from outcomes.log.schema import column as schema_column
from outcomes.readings.aliases import alias_note, independent_columns
from outcomes.readings.covariates import LIFT, Covariate, Curve, Number, Ratio, Words
from outcomes.readings.design import Design
from outcomes.readings.given import (
    NOT_GIVEN,
    Columns,
    applies,
    given_numbers,
    given_words,
    needed_numbers,
)
from outcomes.readings.spline import CubicSpline, Linear
from outcomes.readings.terms import Categories, Flag, Intercept, LogRatio, PerUnit, Term

__all__ = ["FEW_VISITS", "learn_design"]

FEW_VISITS = 5
"""A category in fewer visits than this stays in (a prior holds it) and is named in the notes."""


def learn_design(
    columns: Columns,
    later_session: npt.ArrayLike | None = None,
    covariates: tuple[Covariate, ...] = LIFT,
) -> Design:
    """Learn categories, knots and which columns can be told apart from a log's visits.

    Parameters
    ----------
    columns : mapping of str to ndarray (n,)
        Canonical visit columns: words as object arrays of str or None, numbers as float with NaN.
    later_session : array_like of bool (n,), optional
        Whether each visit is a later session of its course; by default none is.
    covariates : tuple of Covariate
        What may enter, in the order in which columns that can't be told apart are kept.

    Returns
    -------
    Design
        Its matrix for these visits has full column rank.

    Raises
    ------
    InputError
        No visits; a needed column that's empty somewhere; a word that the log format doesn't have.
    """
    n = max([len(values) for values in columns.values()], default=0)
    later = np.zeros(n, dtype=bool) if later_session is None else np.asarray(later_session, dtype=bool)
    if not len(later):
        raise InputError(
            "visits: found none; expected at least one to learn a design from; give a log with visits"
        )
    terms: list[Term] = [Intercept()]
    notes: list[str] = []
    for covariate in covariates:
        if isinstance(covariate, Words):
            made = _learn_words(columns, covariate, len(later), notes)
        elif isinstance(covariate, Ratio):
            made = _learn_ratio(columns, covariate, len(later), notes)
        elif isinstance(covariate, Number):
            made = _learn_number(columns, covariate, len(later), notes)
        elif isinstance(covariate, Curve):
            made = _learn_curve(columns, covariate.column, len(later), notes)
        else:
            made = _learn_later(later, notes)
        terms += made
    whole = np.hstack([term.encode(columns, later) for term in terms])
    every = [name for term in terms for name in term.names]
    kept, lost = independent_columns(whole)
    notes += [alias_note(whole, every, kept, at) for at in lost]
    return Design(tuple(terms), tuple(every[at] for at in kept), tuple(notes))


def _learn_words(columns: Columns, covariate: Words, n: int, notes: list[str]) -> list[Term]:
    column, reference = covariate.column, covariate.reference
    said = applies(columns, covariate.zones, n)
    if not said.any():
        return []
    words, given = given_words(columns, column, n)
    allowed = schema_column(covariate.table, column).words
    allowed = (reference, *(word for word in allowed if word != reference))
    stray = given & said & ~np.isin(words.astype(str), allowed)
    if stray.any():
        found = str(words[stray][0])
        raise InputError(f"{column}: found {found!r}; expected one of {', '.join(allowed)}; correct the log")
    missing = int((said & ~given).sum())
    if covariate.needed and missing:
        raise InputError(f"{column}: found no value in {missing} visits; it's needed in each; give it")
    counts = {word: int(((words == word) & said).sum()) for word in allowed}
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
    if missing:
        others.append(NOT_GIVEN)
        counts[NOT_GIVEN] = missing
    if not others:
        notes.append(f"{column} is left out: every visit has {reference}.")
    for word in (reference, *others):
        if counts[word] < FEW_VISITS:
            notes.append(f"{column}[{word}] rests on {counts[word]} of {int(said.sum())} visits.")
    return [Categories(column, column, reference, tuple(others), covariate.zones)]


def _learn_ratio(columns: Columns, covariate: Ratio, n: int, notes: list[str]) -> list[Term]:
    name, column = covariate.name, covariate.column
    values = (needed_numbers if covariate.needed else given_numbers)(columns, column, n)
    varies, missing = _varies(values, name, notes)
    if varies is None:
        return []
    return [LogRatio(name, column, covariate.reference, varies, missing > 0)]


def _learn_number(columns: Columns, covariate: Number, n: int, notes: list[str]) -> list[Term]:
    said = applies(columns, covariate.zones, n)
    if not said.any():
        return []
    values = given_numbers(columns, covariate.column, n)[said]
    varies, missing = _varies(values, covariate.name, notes)
    if varies is None:
        return []
    return [
        PerUnit(covariate.name, covariate.column, covariate.reference, varies, missing > 0, covariate.zones)
    ]


def _varies(values: npt.NDArray[np.float64], name: str, notes: list[str]) -> tuple[bool | None, int]:
    """Whether given numbers differ, None where there are none; and how many rows give none."""
    given = values[~np.isnan(values)]
    missing = len(values) - len(given)
    if not len(given):
        notes.append(f"{name} is left out: no visit gives it.")
        return None, missing
    varies = bool(given.min() < given.max())
    if not varies:
        notes.append(f"{name} is left out: every visit that gives it has {given[0]:g}.")
    if 0 < missing < FEW_VISITS:
        notes.append(f"{name}[{NOT_GIVEN}] rests on {missing} of {len(values)} visits.")
    return varies, missing


def _learn_curve(columns: Columns, column: str, n: int, notes: list[str]) -> list[Term]:
    values = given_numbers(columns, column, n)
    if np.isnan(values).any():
        raise InputError(f"{column}: found no value in {int(np.isnan(values).sum())} visits; give it in each")
    # Knots at levels that occur: an interpolated quantile could put two of them between the same two levels.
    first, middle, last = (float(k) for k in np.quantile(values, [0.1, 0.5, 0.9], method="inverted_cdf"))
    if first < middle < last:
        return [CubicSpline(column, column, (first, middle, last))]
    if values.min() < values.max():
        said = column.replace("_", " ")
        notes.append(f"{column} enters as a straight line: too few different {said}s for a spline.")
        return [Linear(column, column, middle)]
    notes.append(f"{column} is left out: every visit starts at {middle:g}.")
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
