"""Median sessions by hand, and of a quarter that is put together from visits."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from outcomes.review.trend import grouped_median, sessions_trend


@pytest.mark.parametrize(
    ("worked", "reached", "median"),
    [
        ([10, 0, 0], [5, 0, 0], 1.5),  # half after one session
        ([10, 0, 0], [10, 0, 0], 1.0),  # all after one: the middle of its interval
        ([10, 8, 0], [2, 4, 0], 1.5 + (0.8 - 0.5) / 0.4),  # 80 % left after one, 40 % after two
        ([10, 9, 8], [1, 1, 1], np.nan),
    ],
)
def test_grouped_median(worked, reached, median):
    found = grouped_median(np.array([worked], dtype=float), np.array([reached], dtype=float))
    assert found == pytest.approx([median], nan_ok=True)


def test_a_quarter_stands_by_its_own_visits_and_open_courses_count_as_far_as_they_went():
    """First sessions 2 of 10, second ones 4 of 8 (of courses begun before): the case above."""
    visits = pd.DataFrame(
        {
            "quarter": pd.Period("2024Q2"),
            "client": [f"C{i}" for i in range(18)],
            "session": [1] * 10 + [2] * 8,
            "reached": [True] * 2 + [False] * 8 + [True] * 4 + [False] * 4,
            "chance": [0.2] * 10 + [0.5] * 8,
        }
    )
    (row,) = sessions_trend(visits, pd.Period("2024Q2"), 5).to_dict("records")
    assert row["median"] == pytest.approx(2.25)
    assert row["expected"] == pytest.approx(2.25)
    assert row["low"] < 2.25 < row["high"]
    assert row["visits"] == 18


def test_quarters_of_few_clients_and_those_after_are_left_out():
    visits = pd.DataFrame(
        {
            "quarter": [pd.Period("2024Q1")] * 4 + [pd.Period("2024Q2")] * 9 + [pd.Period("2024Q3")] * 9,
            "client": [f"C{i}" for i in range(22)],
            "session": 1,
            "reached": True,
            "chance": 0.8,
        }
    )
    found = sessions_trend(visits, pd.Period("2024Q2"), 5).set_index("quarter")
    assert list(found.index) == ["2024Q1", "2024Q2"]
    assert found.loc["2024Q1"].isna().all()
    assert found.loc["2024Q2", "median"] == 1.0


def test_a_band_without_an_upper_end():
    """Five of eight done after one session: drawn anew, fewer than half are in many a draw."""
    visits = pd.DataFrame(
        {
            "quarter": pd.Period("2024Q2"),
            "client": list("abcdefgh"),
            "session": 1,
            "reached": [True] * 5 + [False] * 3,
            "chance": 0.6,
        }
    )
    (row,) = sessions_trend(visits, pd.Period("2024Q2"), 5).to_dict("records")
    assert row["median"] == pytest.approx(0.5 + 0.5 / 0.625)
    assert row["low"] < row["median"]
    assert row["high"] == np.inf
