"""Chair minutes besides processing once a visit, pauses once a pair of visits, and nothing of few."""

import numpy as np
import pandas as pd
import pytest

from outcomes.models.visit_times import visit_times
from outcomes.readings.courses import assign_courses


def log_of(courses, chair=(120.0, 90.0), weeks=6, zones=("roots",), minutes=(45.0, 20.0)):
    """Courses of two sessions each: the first takes `chair[0]` minutes, `minutes[0]` processing."""
    rows = []
    for course in range(courses):
        for session in range(2):
            for zone in zones:
                rows.append(
                    {
                        "client": f"C{course}",
                        "visit": f"V{course}-{session}",
                        "zone": zone,
                        "course": f"K{course}",
                        "date": pd.Timestamp("2024-01-02")
                        + pd.Timedelta(weeks=weeks * session, days=course % 5),
                        "start_level": 3.0 + 3 * session,
                        "goal_level": 9.0,
                        "achieved_level": 6.0 + 3 * session,
                        "stop": "time",
                        "course_end": None,
                        "minutes": minutes[session],
                        "chair_minutes": chair[session],
                    }
                )
    visits = pd.DataFrame(rows)
    found = assign_courses(visits)
    return visits.assign(**{name: found[name] for name in found})


def test_first_and_later_visits_by_themselves():
    times = visit_times(log_of(25))
    assert not times.together
    assert (times.first.count, times.later.count, times.weeks.count) == (25, 25, 25)
    assert np.flatnonzero(times.first.shares).tolist() == [15]  # 120 - 45 minutes in steps of 5
    assert np.flatnonzero(times.later.shares).tolist() == [14]
    assert np.flatnonzero(times.weeks.shares).tolist() == [6]


def test_several_zones_are_one_visit():
    one, two = visit_times(log_of(25)), visit_times(log_of(25, zones=("roots", "lengths")))
    assert (two.first.count, two.later.count, two.weeks.count) == (25, 25, 25)
    assert two.first.shares.tolist() == one.first.shares.tolist()


def test_the_longest_processing_of_the_zones_counts():
    visits = log_of(25, zones=("roots", "lengths"))
    visits.loc[visits["zone"] == "roots", "minutes"] = 10.0
    assert np.flatnonzero(visit_times(visits).first.shares).tolist() == [15]


def test_visits_that_read_the_goal_tell_how_long_a_last_session_is_processed():
    """The second of each course reads level 9, after 20 minutes; with a zone that doesn't, none does."""
    last = visit_times(log_of(25)).last
    assert last.count == 25
    assert np.flatnonzero(last.shares).tolist() == [4]
    visits = log_of(25, zones=("roots", "lengths"))
    visits.loc[visits["zone"] == "roots", "achieved_level"] = 8.5
    assert not visit_times(visits).last.is_known


def test_a_chair_time_shorter_than_its_processing_tells_nothing():
    visits = log_of(25)
    visits.loc[visits.index < 2, "chair_minutes"] = 15.0  # of 45 and of 20 minutes processing
    times = visit_times(visits)
    assert (times.first.count, times.later.count) == (24, 24)


def test_a_time_that_one_zone_s_row_alone_has_is_the_visit_s():
    visits = log_of(25, zones=("roots", "lengths"))
    visits.loc[visits["zone"] == "roots", "chair_minutes"] = np.nan
    assert visit_times(visits).first.count == 25


def test_few_later_visits_are_told_with_the_first():
    visits = log_of(25)
    visits.loc[(visits["session"] == 2) & (visits.index > 37), "chair_minutes"] = np.nan
    times = visit_times(visits)
    assert times.together
    assert times.first is times.later
    assert times.visits == 25 + 19
    assert times.first.shares[15] == pytest.approx(25 / 44)


def test_fewer_than_twenty_tell_nothing():
    times = visit_times(log_of(9))
    assert not times.first.is_known
    assert not times.weeks.is_known
    assert times.visits == 0
    assert visit_times(log_of(10)).visits == 20
    assert not visit_times(log_of(25).drop(columns="chair_minutes")).first.is_known


def test_dates_that_were_cut_to_months_tell_no_weeks():
    visits = log_of(25)
    cut = visits.assign(date=visits["date"].dt.to_period("M").dt.to_timestamp())
    assert not visit_times(cut).weeks.is_known
    assert visit_times(cut).first.is_known
