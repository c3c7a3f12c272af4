"""In which order a client's visits of one date came: by their codes, which count up."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pandas as pd

__all__ = ["within_date"]

_WIDEST = 20  # digits; longer runs are compared from the left


def within_date(visits: pd.DataFrame) -> npt.NDArray[np.int64]:
    """Place of each row's visit among those of its client that day.

    A number within a code counts as a number: V9 before V10. A log that was anonymised knows months alone, so
    that its "day" is a month, and its codes are made to count up.

    Parameters
    ----------
    visits : DataFrame (n rows)
        `visit`, `client`, `date`.

    Returns
    -------
    ndarray of int (n,)
        Grows from visit to visit within a client's date; rows of one visit share it; 0 where the client has
        no other visit that day.
    """
    place = np.zeros(len(visits), dtype=np.int64)
    if not len(visits):
        return place
    keys = visits[["client", "date", "visit"]].reset_index(drop=True)
    once = keys.drop_duplicates()
    tied = once[once.duplicated(["client", "date"], keep=False)]
    if not len(tied):
        return place
    codes = pd.Index(tied["visit"].astype(object).unique())
    padded = pd.Series(codes).str.replace(r"\d+", lambda digits: digits.group().zfill(_WIDEST), regex=True)
    rank = pd.Series(pd.factorize(padded.astype(object) + "\0" + codes.to_numpy(), sort=True)[0], index=codes)
    at_tie = pd.MultiIndex.from_frame(keys).isin(pd.MultiIndex.from_frame(tied))
    place[at_tie] = rank.loc[keys["visit"][at_tie]].to_numpy()
    return place
