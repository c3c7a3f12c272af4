"""Tables whose columns keep their type."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import pandas as pd

__all__ = ["frame_of"]


def frame_of(values: Mapping[str, np.ndarray], index: np.ndarray) -> pd.DataFrame:
    """Columns that keep their dtype; text stays object, whichever string type this pandas would choose.

    Parameters
    ----------
    values : mapping of str to ndarray (n,)
    index : ndarray of int (n,)

    Returns
    -------
    DataFrame
    """
    shared = pd.Index(index)  # one for all: pandas needn't compare them
    return pd.DataFrame(
        {name: pd.Series(data, index=shared, dtype=data.dtype, copy=False) for name, data in values.items()},
        copy=False,
    )
