"""Days written as what has passed since 1970, in seconds or finer, as programs and to_json write dates."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime

__all__ = ["day_of_epoch"]

# seconds have nine or ten digits from 1973 on, each finer unit three more
_EPOCH = re.compile(r"(\d{9,10}|\d{12,13}|\d{15,16}|\d{18,19})(?:[.,]\d+)?")
_ROUGH = re.compile(r"(\d)[.,](\d{4,18})e\+?(\d\d)", re.IGNORECASE)  # 1.7103744e+12
_LAST_YEAR = 2099


def day_of_epoch(text: str) -> date | None:
    """The day of a number that stands under a heading for dates.

    Parameters
    ----------
    text : str
        A whole cell: seconds since 1970 (1710374400), or thousandths, millionths or billionths of them.

    Returns
    -------
    date or None
        None too for midnight of a month's first day, which is what anonymising leaves.
    """
    if rough := _ROUGH.fullmatch(text):
        whole = int(rough[3]) + 1
        text = (rough[1] + rough[2]).ljust(whole, "0")[:whole]
    found = _EPOCH.fullmatch(text)
    if found is None:
        return None
    seconds, rest = divmod(int(found[1]), 1000 ** ((len(found[1]) - 9) // 3))
    moment = datetime.fromtimestamp(seconds, UTC)
    if moment.year > _LAST_YEAR:
        return None
    is_month = moment.day == 1 and not rest and seconds % 86_400 == 0
    return None if is_month else moment.date()
