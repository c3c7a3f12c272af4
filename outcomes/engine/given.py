"""Checks what a fit is given and puts it into one form; every complaint names what was found."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd
from scipy import linalg

from outcomes.engine.problem import BoolArray, FloatArray, Group, IntArray, Readings
from outcomes.engine.shapes import FAMILIES
from outcomes.engine.terms import OPEN
from outcomes.errors import InputError

LINKS = ("identity", "log")


def collect(
    lower: npt.ArrayLike,
    upper: npt.ArrayLike,
    design: pd.DataFrame,
    groups: Mapping[str, Any],
    *,
    link: str,
    exposure: npt.ArrayLike | None,
    shape: str | None,
    kind: Sequence[object] | npt.NDArray[Any] | None,
    alternatives: tuple[Any, ...] | None,
    additive: pd.DataFrame | None,
    additive_groups: Mapping[str, Any] | None,
    check_rank: bool = True,
) -> Readings:
    """Everything that `fit_interval_mixed` is given, checked.

    Parameters
    ----------
    lower, upper, design, groups, link, exposure, shape, kind, alternatives : as in a fit
    additive, additive_groups : as in a fit
        As for `fit_interval_mixed`.
    check_rank : bool
        Whether a rank-deficient design is refused.

    Returns
    -------
    Readings

    Raises
    ------
    InputError
        Bounds that are missing or crossed, lengths that differ, an unknown link or shape, a
        rank-deficient design (naming its columns), a group of one category.
    """
    for name, what in (("groups", groups), ("additive_groups", additive_groups or {})):
        if not isinstance(what, Mapping):
            raise InputError(f"{name} is a {type(what).__name__}; a mapping from name to codes is expected")
    low, high = _bounds(lower, upper)
    n = len(low)
    if link not in LINKS:
        raise InputError(f"link {link!r}; one of {', '.join(LINKS)} is expected")
    exposures = _exposure(exposure, shape, n)
    x = _matrix(design, n, "design")
    a = _matrix(additive, n, "additive") if additive is not None else np.zeros((n, 0))
    names = [str(c) for c in design.columns]
    additive_names = [] if additive is None else [f"additive:{c}" for c in additive.columns]
    for name in (*names, *additive_names):
        if (*names, *additive_names).count(name) > 1:
            raise InputError(f"two columns are called {name!r}; each needs a name of its own")
    row_unit, first, branch, log_weight = _units(alternatives, n)
    kinds, kind_code = _kinds(kind, n)
    made = [_group(name, codes, n, False) for name, codes in groups.items()]
    made += [_group(name, codes, n, True) for name, codes in (additive_groups or {}).items()]
    if len({g.name for g in made}) < len(made):
        raise InputError("a group and an additive group have one name; each needs a name of its own")
    _same_within_units(row_unit, first, (x, a, kind_code[:, None]), made)
    if check_rank:
        merged = link == "identity" and shape is None
        if merged:
            _full_rank(np.hstack([x, a]), names + additive_names)
        else:
            _full_rank(x, names)
            _full_rank(a, additive_names)
    exact = low == high
    order = np.lexsort((branch, row_unit))
    starts = np.diff(branch[order], prepend=-1) != 0
    return Readings(
        lower=np.where(np.isneginf(low), -OPEN, low)[order],
        upper=np.where(exact | np.isposinf(high), OPEN, high)[order],
        exact=exact[order],
        exposure=exposures[order],
        row_unit=row_unit[order],
        row_branch=np.cumsum(starts) - 1,
        row_log_weight=log_weight[order],
        kind=kind_code[first],
        kinds=kinds,
        design=x[first],
        additive=a[first],
        coefficient_names=tuple(names + additive_names),
        groups=tuple(_to_units(group, row_unit, first) for group in made),
        link=link,
        family=shape,
    )


def as_numbers(given: Any, name: str) -> FloatArray:
    """Numbers as an array.

    Parameters
    ----------
    given : array_like
    name : str
        What it is, for the complaint.

    Returns
    -------
    ndarray

    Raises
    ------
    InputError
        Something that isn't a number.
    """
    try:
        return np.asarray(given, dtype=np.float64)
    except (TypeError, ValueError) as cause:
        raise InputError(f"{name} holds something that isn't a number ({cause}); give numbers") from cause


def _bounds(lower: npt.ArrayLike, upper: npt.ArrayLike) -> tuple[FloatArray, FloatArray]:
    low, high = as_numbers(lower, "lower"), as_numbers(upper, "upper")
    if low.ndim != 1 or low.shape != high.shape:
        raise InputError(
            f"lower has shape {low.shape} and upper {high.shape}; two arrays of one length are expected"
        )
    if len(low) == 0:
        raise InputError("no readings; at least one is expected")
    for name, values in (("lower", low), ("upper", high)):
        bad = np.flatnonzero(np.isnan(values))
        if len(bad):
            raise InputError(f"{name} is missing (NaN) at {_places(bad)}; use -inf or inf for an open bound")
    for name, values in (("lower", low), ("upper", high)):
        huge = np.flatnonzero(np.isfinite(values) & (np.abs(values) >= OPEN))
        if len(huge):
            raise InputError(f"{name} {values[huge[0]]:g} at {_places(huge)}; give readings in larger units")
    crossed = np.flatnonzero(low > high)
    if len(crossed):
        i = crossed[0]
        raise InputError(
            f"lower {low[i]:g} above upper {high[i]:g} at {_places(crossed)}; lower <= upper is expected"
        )
    wrong = np.flatnonzero(np.isposinf(low) | np.isneginf(high))
    if len(wrong):
        raise InputError(f"an interval that holds no number at {_places(wrong)}; check the signs of inf")
    return low, high


def _places(index: IntArray) -> str:
    shown = ", ".join(str(i) for i in index[:3])
    more = f" and {len(index) - 3} more" if len(index) > 3 else ""
    return f"position {shown}{more}"


def _exposure(exposure: npt.ArrayLike | None, shape: str | None, n: int) -> FloatArray:
    if (exposure is None) != (shape is None):
        raise InputError("exposure and shape go together; give both or neither")
    if exposure is None:
        return np.ones(n)
    if shape not in FAMILIES:
        raise InputError(f"shape {shape!r}; one of {', '.join(FAMILIES)} is expected")
    values = as_numbers(exposure, "exposure")
    if values.shape != (n,):
        raise InputError(f"exposure has shape {values.shape}; ({n},) is expected")
    bad = np.flatnonzero(~np.isfinite(values) | (values < 0))
    if len(bad):
        raise InputError(f"exposure {values[bad[0]]} at {_places(bad)}; numbers of 0 or more are expected")
    return values


def _matrix(frame: pd.DataFrame, n: int, name: str) -> FloatArray:
    if not isinstance(frame, pd.DataFrame):
        raise InputError(f"{name} is a {type(frame).__name__}; a DataFrame with named columns is expected")
    if not all(kind in "biuf" for kind in (getattr(dtype, "kind", "O") for dtype in frame.dtypes)):
        for column in frame.columns:  # named, where it isn't numbers
            as_numbers(frame[column].to_numpy(), f"{name} column {column!r}")
    values = as_numbers(frame.to_numpy(), name)
    if values.shape[0] != n:
        raise InputError(f"{name} has {values.shape[0]} rows; {n}, one a reading, are expected")
    bad = np.flatnonzero(~np.isfinite(values).all(axis=0))
    if len(bad):
        raise InputError(f"{name} column {frame.columns[bad[0]]!r} has missing or infinite values")
    return values


def _full_rank(matrix: FloatArray, names: list[str]) -> None:
    if matrix.shape[1] == 0:
        return
    length = np.sqrt((matrix * matrix).sum(axis=0))
    zero = np.flatnonzero(length == 0)
    if len(zero):
        raise InputError(f"design column {names[zero[0]]!r} is zero throughout; leave it out")
    root = linalg.qr(matrix / length, mode="r", pivoting=True)
    diagonal = np.abs(np.diagonal(root[0]))
    rank = int((diagonal > 1e-9 * diagonal[0]).sum())
    if rank == matrix.shape[1]:
        return
    pivots = root[1]
    kept, lost = pivots[:rank], pivots[rank:]
    weights = np.linalg.lstsq((matrix / length)[:, kept], (matrix / length)[:, lost[0]], rcond=None)[0]
    partners = [names[k] for k, w in zip(kept, weights, strict=True) if abs(w) > 1e-6]
    raise InputError(
        f"the design has {matrix.shape[1]} columns but rank {rank}: {names[lost[0]]!r} is a combination of "
        f"{', '.join(map(repr, partners))}; leave one of them out"
    )


def _units(alternatives: tuple[Any, ...] | None, n: int) -> tuple[IntArray, IntArray, IntArray, FloatArray]:
    """Unit of each row, a row of each unit, branch of each row, log weight of each row."""
    if alternatives is None:
        index = np.arange(n, dtype=np.int64)
        return index, index, index, np.zeros(n)
    if len(alternatives) not in (2, 3):
        raise InputError(
            f"alternatives have {len(alternatives)} parts; codes, weights and, where several rows hold "
            "together, branches are expected"
        )
    code, weight = alternatives[:2]
    codes, missing = _present(code)
    weights = np.where(missing, 1.0, np.asarray(weight, dtype=np.float64))
    if len(codes) != n or weights.shape != (n,):
        raise InputError(f"alternatives have {len(codes)} codes; {n} codes and weights are expected")
    if not (np.isfinite(weights) & (weights > 0)).all():
        raise InputError("the weight of an alternative isn't above 0; leave such a row out")
    label = np.where(missing, -1, pd.factorize(codes)[0])
    key = np.where(missing, label.max() + 1 + np.arange(n), label)
    # units in the order in which they first occur
    unit, uniques = pd.factorize(key)
    first = np.zeros(len(uniques), dtype=np.int64)
    first[unit[::-1]] = np.arange(n)[::-1]
    unit = np.asarray(unit, dtype=np.int64)
    branch = np.arange(n, dtype=np.int64)
    if len(alternatives) == 3:
        branch = _branches(unit, missing, weights, alternatives[2])
    return unit, first, branch, np.log(weights)


def _present(given: Any) -> tuple[pd.Series, BoolArray]:
    """Codes, and where there is none: a missing or a negative one."""
    codes = pd.Series(np.asarray(given))
    missing = codes.isna().to_numpy()
    if codes.dtype.kind in "iuf":
        missing = missing | np.asarray(codes.fillna(-1) < 0)
    return codes, missing


def _branches(unit: IntArray, missing: BoolArray, weights: FloatArray, given: Any) -> IntArray:
    """Rows of one unit that hold together have one number."""
    codes, without = _present(given)
    if len(codes) != len(unit):
        raise InputError(f"alternatives have {len(codes)} branches; {len(unit)} are expected")
    # a row without a branch stands for itself, as does one that is no alternative
    label = np.where(missing | without, len(unit) + np.arange(len(unit)), pd.factorize(codes)[0])
    branch = np.unique(np.c_[unit, label], axis=0, return_inverse=True)[1].reshape(-1)
    of_branch = np.zeros(int(branch.max()) + 1)
    of_branch[branch] = weights
    if (of_branch[branch] != weights).any():
        raise InputError("rows of one branch differ in weight; the weight is that of the branch as a whole")
    return np.asarray(branch, dtype=np.int64)


def _kinds(kind: Any, n: int) -> tuple[tuple[object, ...], IntArray]:
    if kind is None:
        return (None,), np.zeros(n, dtype=np.int64)
    code, labels = pd.factorize(pd.Series(np.asarray(kind, dtype=object)), sort=True)
    if len(code) != n:
        raise InputError(f"kind has {len(code)} codes; {n} are expected")
    if (code < 0).any():
        raise InputError("a reading has no kind; every reading needs one")
    return tuple(labels), np.asarray(code, dtype=np.int64)


def _group(name: str, given: Any, n: int, additive: bool) -> Group:
    """Rows here; turned into units afterwards."""
    codes, weights = given if isinstance(given, tuple) else (given, None)
    table = codes if isinstance(codes, pd.Series) else np.asarray(codes)
    if getattr(table, "ndim", 1) == 1:
        table = np.asarray(table)[:, None]
    if len(table) != n:
        raise InputError(f"group {name!r} has {len(table)} codes; {n} are expected")
    weight = np.ones(table.shape) if weights is None else np.asarray(weights, float).reshape(table.shape)
    flat, labels = pd.factorize(pd.Series(table.ravel()), sort=True)
    present = (flat >= 0) & (weight.ravel() != 0)
    rows = np.repeat(np.arange(n), table.shape[1])[present]
    code = flat[present]
    used, code = np.unique(code, return_inverse=True)
    if len(used) < 2:
        raise InputError(
            f"group {name!r} has {'one category' if len(used) else 'no category'}; at least 2 are needed to "
            "tell a spread. Leave it out"
        )
    return Group(
        name=name,
        labels=tuple(np.asarray(labels, dtype=object)[used]),
        unit=rows.astype(np.int64),
        code=code.astype(np.int64),
        weight=weight.ravel()[present],
        additive=additive,
    )


def _to_units(group: Group, row_unit: IntArray, first: IntArray) -> Group:
    is_first = np.zeros(len(row_unit), dtype=bool)
    is_first[first] = True
    keep = is_first[group.unit]
    return Group(
        name=group.name,
        labels=group.labels,
        unit=row_unit[group.unit[keep]],
        code=group.code[keep],
        weight=group.weight[keep],
        additive=group.additive,
    )


def _same_within_units(
    row_unit: IntArray, first: IntArray, matrices: tuple[FloatArray | IntArray, ...], groups: list[Group]
) -> None:
    """Alternatives are several readings of one thing: they may differ in bounds and exposure only."""
    if len(first) == len(row_unit):
        return
    owner = first[row_unit]
    same = all((matrix == matrix[owner]).all() for matrix in matrices)
    for group in groups:
        marks = np.zeros(len(row_unit))
        np.add.at(marks, group.unit, (group.code + 1.0) * np.sqrt(2.0) * group.weight)
        same = same and bool((marks == marks[owner]).all())
    if not same:
        raise InputError(
            "alternatives of one code differ in design, kind or groups; they must agree in these"
        )
