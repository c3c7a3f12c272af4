from dataclasses import replace

from outcomes.predictive.visit_times import VisitTimes


def test_visits_behind_chair_time_are_counted_once(costed):
    times = costed.visit_times
    assert times.visits == 120
    assert replace(times, later=times.first, together=True).visits == 80


def test_without_a_log_nothing_is_known():
    times = VisitTimes()
    assert not times.first.is_known
    assert not times.weeks.is_known
    assert times.visits == 0
