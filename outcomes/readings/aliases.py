"""Columns that can't be told apart: which to keep, in a stated order, and a sentence about each that goes."""

from __future__ import annotations

import numpy as np

from outcomes.readings.given import FloatArray

__all__ = ["alias_note", "independent_columns"]

ALIAS_TOLERANCE = 1e-7
"""Share of a column's length that must be new, or the column counts as a combination of earlier ones."""


def independent_columns(whole: FloatArray) -> tuple[list[int], list[int]]:
    """Choose columns from first to last, losing those that are combinations of earlier ones.

    Parameters
    ----------
    whole : ndarray (n, p)
        All columns, the ones to keep first in front.

    Returns
    -------
    kept, lost : list of int
        Positions of columns, each in order.
    """
    basis = np.empty((whole.shape[0], 0))
    kept: list[int] = []
    lost: list[int] = []
    for at in range(whole.shape[1]):
        length = float(np.linalg.norm(whole[:, at]))
        rest = whole[:, at] / (length or 1.0)
        for _ in range(2):  # once loses figures where a column is nearly a combination of earlier ones
            rest = rest - basis @ (basis.T @ rest)
        left = float(np.linalg.norm(rest))
        if length and left > ALIAS_TOLERANCE:
            kept.append(at)
            basis = np.column_stack([basis, rest / left])
        else:
            lost.append(at)
    return kept, lost


def alias_note(whole: FloatArray, every: list[str], kept: list[int], at: int) -> str:
    """Sentence that names a lost column and the kept ones it can't be told apart from.

    Parameters
    ----------
    whole : ndarray (n, p)
    every : list of str (p)
        Names of the columns.
    kept : list of int
        From `independent_columns`.
    at : int
        Position of the lost one.

    Returns
    -------
    str
    """
    shares = np.linalg.lstsq(whole[:, kept], whole[:, at], rcond=None)[0]
    others = [every[k] for k, share in zip(kept, shares, strict=True) if abs(share) > 1e-6]
    named = [name for name in others if name != "intercept"] or others
    return (
        f"{every[at]} is left out: it can't be told apart from {' and '.join(named)} in this log (aliased)."
    )
