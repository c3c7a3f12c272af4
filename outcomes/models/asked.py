"""A frame of visits that a fitted model is asked about: checked, and as rows of its design."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pandas as pd

from outcomes.errors import InputError
from outcomes.log.schema import PEROXIDE_LIMIT
from outcomes.readings.covariates import LIFT, design_columns
from outcomes.readings.design import Design

__all__ = ["asked_rows"]

FloatArray = npt.NDArray[np.float64]

# what a visit log takes too
_RANGES = {"start_level": (1.0, 10.0), "minutes": (1.0, 180.0), "peroxide_pct": (1.5, PEROXIDE_LIMIT)}
_DESIGN = tuple(of.column for of in LIFT if of.column != "later_session")


def asked_rows(design: Design, frame: pd.DataFrame) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Rows of the design, start levels and minutes.

    Parameters
    ----------
    design : Design
    frame : DataFrame (n)
        Canonical visit columns: `start_level`, `minutes`, and what the design reads; `later_session` (False
        where absent).

    Returns
    -------
    rows : ndarray (n, p)
    start, minutes : ndarray (n,)
        Levels; minutes.

    Raises
    ------
    InputError
        A missing column, a number out of range, an unknown word.
    """
    needed = dict.fromkeys(("start_level", "minutes", *design.columns))
    lacking = [name for name in needed if name not in frame.columns and name != "later_session"]
    if lacking:
        raise InputError(f"the frame lacks {', '.join(lacking)}; the design reads these columns")
    filled = frame.reindex(columns=[*frame.columns, *(set(_DESIGN) - set(frame.columns))])
    later = np.zeros(len(frame), dtype=bool)
    if "later_session" in frame.columns:
        given = frame["later_session"].to_numpy()
        if not np.isin(given, [False, True]).all():
            raise InputError("later_session holds other values than True and False")
        later = given.astype(bool)
    for name, (low, high) in _RANGES.items():
        if name in frame.columns:
            values = pd.to_numeric(frame[name], errors="coerce").to_numpy(dtype=np.float64)
            bad = ~((values >= low) & (values <= high))
            if bad.any():
                raise InputError(
                    f"{name} {frame[name].iloc[int(np.argmax(bad))]!r}; {low:g} to {high:g} is expected"
                )
    rows = design.encode(design_columns(filled), later)
    start, minutes = (frame[name].to_numpy(dtype=np.float64) for name in ("start_level", "minutes"))
    return rows, start, minutes
