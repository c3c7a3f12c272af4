"""Columns of the three tables of a visit log, in their order, as this simulator writes them."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import pandas as pd

VISIT_COLUMNS = (
    "visit", "client", "stylist", "salon", "date", "zone", "hair", "texture", "start_level", "goal_level",
    "product", "peroxide_pct", "mix_ratio", "wrap", "heat", "minutes", "planned_minutes", "look_every",
    "applications", "looks", "achieved_level", "stop", "condition_before", "condition_after", "warmth",
    "evenness", "colour_history", "course", "course_end", "chair_minutes", "quoted_sessions", "patch_test",
    "strand_test", "root_level", "root_tone", "toner_tone", "toner_minutes", "toner_ratio", "start_L",
    "achieved_L",
)  # fmt: skip
CHECK_COLUMNS = ("visit", "zone", "minutes", "level", "read_on")
WASH_COLUMNS = ("visit", "zone", "washes", "level", "tone_left", "L", "a", "b", "shampoo")

COLORIMETER = ("start_L", "achieved_L")
"""Of visits; the invented salons have no colorimeter."""

COLUMNS: Mapping[str, tuple[str, ...]] = {
    "visits": VISIT_COLUMNS,
    "checks": CHECK_COLUMNS,
    "washes": WASH_COLUMNS,
}
TEXT_COLUMNS = frozenset(
    {
        "visit", "client", "stylist", "salon", "zone", "hair", "texture", "product", "wrap", "heat", "stop",
        "warmth", "colour_history", "course", "course_end", "patch_test", "strand_test", "root_tone",
        "toner_tone", "read_on", "shampoo",
    }
)  # fmt: skip


def as_table(name: str, columns: Mapping[str, object]) -> pd.DataFrame:
    """Frame with every canonical column of a table: text as object, numbers as float64, dates as dates.

    Parameters
    ----------
    name : str
        "visits", "checks" or "washes".
    columns : mapping
        Values by column name; a column that isn't given is all missing.

    Returns
    -------
    DataFrame
        Index 0..n-1.
    """
    n = max((len(np.atleast_1d(np.asarray(v, dtype=object))) for v in columns.values()), default=0)
    table: dict[str, pd.Series] = {}
    for column in COLUMNS[name]:
        values = columns.get(column)
        if column == "date":
            table[column] = pd.Series(pd.DatetimeIndex(np.asarray(values, dtype="datetime64[ns]")))
        elif column in TEXT_COLUMNS:
            table[column] = pd.Series(np.full(n, np.nan) if values is None else values, dtype=object)
        else:
            table[column] = pd.Series(np.full(n, np.nan) if values is None else values, dtype=np.float64)
    return pd.DataFrame(table)
