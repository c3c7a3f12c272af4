"""Distinct values behind a combination, by plain loops over rows."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from outcomes.protect.counting import combination_codes, distinct_behind, distinct_of


@pytest.fixture
def frame():
    rng = np.random.default_rng(4)
    words = np.array(["a", "b", None], dtype=object)
    return pd.DataFrame(
        {
            "word": rng.choice(words, 200),
            "level": rng.choice([3.0, 3.5, np.nan], 200),
            "client": rng.choice(np.array(["C1", "C2", "C3", np.nan], dtype=object), 200),
        }
    )


def test_as_counted_one_by_one(frame):
    rows = [tuple(None if pd.isna(x) else x for x in row) for row in frame.itertuples(index=False)]
    expected = [len({r[2] for r in rows if r[:2] == row[:2]}) for row in rows]
    assert distinct_behind(frame, ["word", "level"], "client").tolist() == expected
    assert len(set(combination_codes(frame, ["word", "level"]))) == len({r[:2] for r in rows})


def test_codes_without_rows_between_them():
    assert distinct_of(np.array([0, 2, 2, 2]), np.array([5, 1, 1, 0])).tolist() == [1, 0, 2]


def test_nothing(frame):
    none = frame.iloc[:0]
    assert len(distinct_behind(none, ["word"], "client")) == 0
