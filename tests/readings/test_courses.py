"""Courses: by code where there is one, by client, zone, goal, gap and start where not."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from outcomes.log.read import VisitLog
from outcomes.readings.courses import assign_courses

Make = Callable[..., VisitLog]

FIRST = {"date": "2024-01-02", "start_level": 3.0, "goal_level": 9.0, "achieved_level": 6.0}
SECOND = {"date": "2024-02-13", "start_level": 6.0, "goal_level": 9.0, "achieved_level": 8.0}


def test_two_sessions_of_a_course(make_log: Make) -> None:
    courses = assign_courses(make_log([SECOND, FIRST]).visits)  # the order of rows doesn't matter
    assert courses["course"].tolist() == [0, 0]
    assert courses["session"].tolist() == [2, 1]
    assert courses["previous"].tolist() == [1, -1]
    assert courses["linked"].tolist() == [True, False]


@pytest.mark.parametrize(
    ("changed", "sessions"),
    [
        ({}, [1, 2]),
        ({"client": "C2"}, [1, 1]),
        ({"zone": "roots"}, [1, 1]),
        ({"goal_level": 10.0}, [1, 2]),  # goals within 1
        ({"goal_level": 7.5}, [1, 1]),
        ({"start_level": 4.5}, [1, 2]),  # start within 1.5 of the last result, 6
        ({"start_level": 4.0}, [1, 1]),
        ({"date": "2024-04-23"}, [1, 2]),  # 112 days are 16 weeks
        ({"date": "2024-04-24"}, [1, 1]),
    ],
)
def test_what_makes_a_new_course_without_codes(
    make_log: Make, changed: dict[str, object], sessions: list[int]
) -> None:
    courses = assign_courses(make_log([FIRST, {**SECOND, **changed}]).visits)
    assert courses["session"].tolist() == sessions
    assert (courses["previous"] >= 0).tolist() == [number > 1 for number in sessions]


def test_settings_move_the_limits(make_log: Make) -> None:
    visits = make_log([FIRST, {**SECOND, "start_level": 4.0, "goal_level": 7.5, "date": "2024-05-14"}]).visits
    courses = assign_courses(visits, gap_weeks=20, goal_within=1.5, start_within=2.0)
    assert courses["session"].tolist() == [1, 2]


def test_a_code_rules_over_gap_and_goal_but_a_far_start_is_not_linked(make_log: Make) -> None:
    late = {**SECOND, "date": "2025-02-13", "start_level": 3.5, "goal_level": 10.0, "course": "K1"}
    courses = assign_courses(make_log([{**FIRST, "course": "K1"}, late]).visits)
    assert courses["session"].tolist() == [1, 2]
    assert courses["linked"].tolist() == [False, False]


def test_different_codes_are_different_courses(make_log: Make) -> None:
    courses = assign_courses(make_log([{**FIRST, "course": "K1"}, {**SECOND, "course": "K2"}]).visits)
    assert courses["course"].nunique() == 2


def test_zones_of_one_visit_are_two_chains(make_log: Make) -> None:
    rows = [{**row, "zone": zone, "course": "K1"} for row in (FIRST, SECOND) for zone in ("roots", "lengths")]
    courses = assign_courses(make_log(rows).visits)
    assert courses["session"].tolist() == [1, 1, 2, 2]
    assert courses["previous"].tolist() == [-1, -1, 0, 1]


def test_within_one_date_visits_come_in_the_order_of_their_codes(make_log: Make) -> None:
    visits = make_log([{**row, "date": "2024-01-01", "course": "K1"} for row in (SECOND, FIRST)]).visits
    for codes, sessions in ((["V10", "V9"], [2, 1]), (["V9", "V10"], [1, 2])):
        assert assign_courses(visits.assign(visit=codes))["session"].tolist() == sessions


def test_ends_by_the_last_visit(make_log: Make) -> None:
    rows = [
        {"client": "reached by result", "achieved_level": 9.0, "date": "2024-01-02"},
        {"client": "reached at a look", "achieved_level": 8.5, "stop": "target", "date": "2024-01-02"},
        {"client": "stayed away", "date": "2024-01-02"},
        {"client": "may come back", "date": "2024-08-01"},
        {"client": "begun anew", "date": "2024-08-01", "start_level": 3.0},
        {"client": "begun anew", "date": "2024-09-01", "start_level": 2.0},
        {"client": "as stated", "date": "2024-09-01", "course_end": "given_up"},
    ]
    ends = assign_courses(make_log(rows).visits)["end"].tolist()
    assert ends == ["reached", "reached", "given_up", "open", "given_up", "open", "given_up"]


def test_the_end_stands_in_every_row_of_its_course(make_log: Make) -> None:
    rows = [{**FIRST, "course": "K1"}, {**SECOND, "course": "K1", "course_end": "reached"}]
    assert assign_courses(make_log(rows).visits)["end"].tolist() == ["reached", "reached"]


def test_no_visits_make_no_courses(make_log: Make) -> None:
    courses = assign_courses(make_log([]).visits)
    assert courses.shape == (0, 5)


@settings(max_examples=60, deadline=None)
@given(seed=st.integers(0, 2**32 - 1), n=st.integers(1, 40))
def test_chains_hold_together(seed: int, n: int) -> None:
    rng = np.random.default_rng(seed)
    frame = {
        "visit": [f"V{i}" for i in range(n)],
        "client": rng.choice(["C1", "C2", "C3"], n).astype(object),
        "zone": rng.choice(["roots", "lengths"], n).astype(object),
        "course": rng.choice(np.array(["K1", "K2", np.nan], dtype=object), n),
        "course_end": np.full(n, np.nan, dtype=object),
        "date": np.datetime64("2024-01-01", "ns") + rng.integers(0, 300, n).astype("timedelta64[D]"),
        "start_level": rng.choice([3.0, 4.0, 5.5], n),
        "goal_level": rng.choice([8.0, 9.0, 9.5], n),
        "achieved_level": rng.choice([4.0, 5.5, 9.0], n),
        "stop": rng.choice(["time", "target"], n).astype(object),
    }
    visits = pd.DataFrame(frame)
    courses = assign_courses(visits)
    assert sorted(courses["course"].unique()) == list(range(courses["course"].nunique()))
    later = courses[courses["previous"] >= 0]
    before = courses.loc[later["previous"]]
    assert (before["course"].to_numpy() == later["course"].to_numpy()).all()
    assert (before["session"].to_numpy() + 1 == later["session"].to_numpy()).all()
    assert (
        visits["date"].loc[later["previous"]].to_numpy() <= visits["date"].loc[later.index].to_numpy()
    ).all()
    assert not later["previous"].duplicated().any()
    assert (courses.loc[courses["previous"] < 0, "session"] == 1).all()
    assert not courses[["course", "end"]].drop_duplicates()["course"].duplicated().any()
    hair = visits[["client", "zone"]].assign(course=courses["course"]).drop_duplicates()
    assert not hair["course"].duplicated().any()
