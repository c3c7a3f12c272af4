"""Which columns of a visit enter log R and how: a table for lift, and one for each measure of fade.

Words and their order come from the log's one table. Of columns that can't be told apart the one that stands
first here is kept.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

__all__ = [
    "FADE",
    "LIFT",
    "Covariate",
    "Curve",
    "LaterSession",
    "Number",
    "Ratio",
    "Words",
    "design_columns",
]


@dataclass(frozen=True)
class Words:
    """A column of words: one effect for each other than the reference.

    Attributes
    ----------
    column, reference : str
    needed : bool
        In every row.
    zones : tuple of str
        Where it says something; elsewhere it counts as the reference. Empty: everywhere.
    table : str
        Of the log.
    """

    column: str
    reference: str
    needed: bool = False
    zones: tuple[str, ...] = ()
    table: str = "visits"


@dataclass(frozen=True)
class Ratio:
    """A number above 0 whose power multiplies the rate.

    Attributes
    ----------
    column, name : str
        Of the log, and of the term.
    reference : float
    needed : bool
    """

    column: str
    name: str
    reference: float
    needed: bool = False


@dataclass(frozen=True)
class Number:
    """A number with one ratio for each unit.

    Attributes
    ----------
    column, name : str
        Of the log, and of the term.
    reference : float
    zones : tuple of str
        As in `Words`.
    """

    column: str
    name: str
    reference: float
    zones: tuple[str, ...] = ()


@dataclass(frozen=True)
class Curve:
    """A number in every row, as a smooth curve.

    Attributes
    ----------
    column : str
    """

    column: str


@dataclass(frozen=True)
class LaterSession:
    """Whether a visit is a later session of its course.

    Attributes
    ----------
    column : str
    """

    column: str = "later_session"


Covariate = Words | Ratio | Number | Curve | LaterSession

LIFT: tuple[Covariate, ...] = (
    Ratio("peroxide_pct", "peroxide", 6.0, needed=True),
    Words("heat", "none", needed=True),
    Words("hair", "natural", needed=True),
    Words("texture", "medium"),
    Curve("start_level"),
    LaterSession(),
    Words("zone", "lengths"),
    Words("wrap", "foil"),
    Ratio("mix_ratio", "mix_ratio", 2.0),
    Words("colour_history", "none"),
    Ratio("applications", "applications", 1.0),
)

_ROOTS, _TONED = ("roots",), ("lengths", "ends", "all")

_WASHED: tuple[Covariate, ...] = (
    Words("shampoo", "plain", table="washes"),
    Words("hair", "natural", needed=True),
    Number("condition_after", "condition", 4.0),
)

_WHEREVER: tuple[Covariate, ...] = (
    Words("zone", "lengths"),
    Words("toner_tone", "neutral", zones=_TONED),
    Number("root_level", "root_level", 6.0, zones=_ROOTS),
    Words("root_tone", "neutral", zones=_ROOTS),
    *_WASHED,
)

FADE: dict[str, tuple[Covariate, ...]] = {
    "level": (Number("root_level", "root_level", 6.0), Words("root_tone", "neutral"), *_WASHED),
    "tone_left": _WHEREVER,
    "delta_e": _WHEREVER,
}
"""By measure. Root shades are told of at the roots alone, toners elsewhere."""


def design_columns(
    visits: pd.DataFrame, covariates: tuple[Covariate, ...] = LIFT
) -> dict[str, npt.NDArray[Any]]:
    """Columns of a visits frame as `learn_design` and `Design.encode` take them.

    Parameters
    ----------
    visits : DataFrame (n rows)
    covariates : tuple of Covariate

    Returns
    -------
    dict of str to ndarray (n,)
        Words as objects, None where none is given; numbers as floats.
    """
    found: dict[str, npt.NDArray[Any]] = {}
    for covariate in covariates:
        if isinstance(covariate, LaterSession):
            continue
        values = visits[covariate.column]
        if isinstance(covariate, Words):
            values = values.astype(object).where(values.notna(), None)
            found[covariate.column] = values.to_numpy(dtype=object)
        else:
            found[covariate.column] = values.to_numpy(dtype=np.float64)
    return found
