"""Promise against result, course by course."""

from __future__ import annotations

import numpy as np
import pandas as pd

from outcomes.review.promise import kept_promises, promised_courses

Q = pd.Period("2026Q3")


def course(number, stylist, sessions, quoted, end, last="2026-08-01"):
    """Rows of one course, a month apart, the quote in its first."""
    dates = pd.to_datetime(last) - pd.to_timedelta(30 * np.arange(sessions)[::-1], unit="D")
    return pd.DataFrame(
        {
            "course": number,
            "session": np.arange(1, sessions + 1),
            "stylist": [stylist] + ["other"] * (sessions - 1),
            "client": f"C{number}",
            "date": dates,
            "quoted_sessions": [quoted] + [np.nan] * (sessions - 1),
            "end": end,
        }
    )


VISITS = pd.concat(
    [
        course(1, "S1", 2, 2, "reached"),
        course(2, "S1", 3, 2, "reached"),
        course(3, "S1", 1, 2, "given_up"),  # left before anybody could tell
        course(4, "S1", 3, 2, "open"),  # not done, and already more than promised
        course(5, "S2", 1, 1, "reached"),
        course(6, "S2", 1, 3, "open"),
        course(7, "S2", 1, np.nan, "reached"),  # nothing was promised
        course(8, "S2", 1, 1, "reached", last="2026-06-30"),  # another quarter
    ],
    ignore_index=True,
)


def test_courses_of_the_quarter():
    found = promised_courses(VISITS.sample(frac=1.0, random_state=1), Q)
    assert found["course"].tolist() == [1, 2, 3, 4, 5, 6]
    assert found["stylist"].tolist() == ["S1"] * 4 + ["S2"] * 2  # who quoted, whoever went on
    assert found["settled"].tolist() == [True, True, False, True, True, False]
    assert found["within"].tolist() == [True, False, False, False, True, False]


def test_by_stylist():
    rows = kept_promises(promised_courses(VISITS, Q), "stylist").set_index("stylist")
    assert rows.loc["S1", ["within", "n", "unsettled"]].tolist() == [1, 3, 1]
    assert rows.loc["S1", "quoted"] == 2.0
    assert rows.loc["S1", "needed"] == (2 + 3 + 3) / 3
    assert rows.loc["S2", ["within", "n", "unsettled"]].tolist() == [1, 1, 1]


def test_by_what_was_quoted():
    rows = kept_promises(promised_courses(VISITS, Q), "quoted")
    assert rows["quoted"].tolist() == [1.0, 2.0, 3.0]
    assert rows["n"].tolist() == [1, 3, 0]
    assert rows["unsettled"].tolist() == [0, 1, 1]
    assert np.isnan(rows["needed"][2])


def test_nobody_promised_anything():
    none = promised_courses(VISITS.assign(quoted_sessions=np.nan), Q)
    assert len(none) == 0
    assert len(kept_promises(none, "stylist")) == len(kept_promises(none, "quoted")) == 0
