"""In which order a client's visits of one date came: by their codes, which count up."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pandas as pd

__all__ = ["within_date"]


def within_date(visits: pd.DataFrame) -> npt.NDArray[np.int64]:
    """Place of each row's visit among those of its client that day.

    The shorter code comes first, and of codes as long the one that the alphabet has first: V9 before V10. A
    log that was anonymised knows months alone, so that its "day" is a month, and its codes count up.

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
    clients, dates = (pd.factorize(visits[name])[0] + 1 for name in ("client", "date"))
    days = pd.factorize(clients * (dates.max() + 1) + dates)[0]  # of one client each
    often = np.flatnonzero((np.bincount(days) > 1)[days])
    if not len(often):
        return place
    days = days[often]
    visit = visits["visit"].to_numpy(dtype=object)[often]
    codes, different = pd.factorize(visit, use_na_sentinel=False)
    lowest, highest = np.full(days.max() + 1, len(different)), np.zeros(days.max() + 1, dtype=np.int64)
    np.minimum.at(lowest, days, codes)
    np.maximum.at(highest, days, codes)
    tied = (lowest < highest)[days]
    if tied.any():
        at_tie = np.flatnonzero(np.bincount(codes[tied], minlength=len(different)))
        texts = different[at_tie].astype(str)
        ranks = np.zeros(len(different), dtype=np.int64)
        ranks[at_tie[np.lexsort((texts, np.char.str_len(texts)))]] = np.arange(len(at_tie))
        place[often[tied]] = ranks[codes[tied]]
    return place
