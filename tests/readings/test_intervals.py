"""Intervals of single readings, worked by hand: levels gained, half a step (0.25) to either side."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from outcomes.log.read import VisitLog
from outcomes.readings.lift import LiftReadings, lift_readings

Make = Callable[..., VisitLog]
INF = np.inf

TARGET = {"stop": "target", "achieved_level": 9.0, "minutes": 50.0, "looks": 0.0}


def look(minutes: float, level: float, visit: str = "V0") -> dict[str, Any]:
    return {"visit": visit, "minutes": minutes, "level": level}


def told(readings: LiftReadings) -> list[tuple[str, str, float, float, float]]:
    columns = (readings.origin, readings.kind, readings.minutes, readings.lower, readings.upper)
    return list(zip(*(column.tolist() for column in columns), strict=True))


@pytest.mark.parametrize(
    ("level", "lower", "upper"),
    [(7.0, 3.75, 4.25), (3.5, 0.25, 0.75), (3.0, -INF, 0.25), (2.5, -INF, 0.25), (10.0, 6.75, INF)],
)
def test_result_and_look_of_one_level_say_the_same(
    make_log: Make, level: float, lower: float, upper: float
) -> None:
    readings = lift_readings(make_log([{"achieved_level": level, "minutes": 45.0}], [look(30, level)]))
    assert told(readings) == [
        ("look", "look", 30, lower, upper),
        ("result", "result", 45, lower, upper),
    ]
    assert readings.exposure.tolist() == [30 / 45, 1.0]


def test_target_result_is_the_look_unless_read_anew(make_log: Make) -> None:
    log = make_log([TARGET])
    assert told(lift_readings(log)) == [("result", "result", 50, 5.75, 6.25)]
    assert told(lift_readings(log, reread={"S1": False})) == told(lift_readings(log))
    assert told(lift_readings(log, reread={"S1": True})) == [
        ("target_look", "look", 50, 5.75, INF),
        ("result", "result", 50, 5.75, 6.25),
    ]


def test_reading_anew_concerns_target_stops_of_that_stylist_only(make_log: Make) -> None:
    log = make_log([{**TARGET, "stop": "time"}, {**TARGET, "stylist": "S2"}])
    assert told(lift_readings(log, reread={"S1": True})) == told(lift_readings(log))


def test_target_result_below_the_goal(make_log: Make) -> None:
    log = make_log([{**TARGET, "achieved_level": 8.5}])
    assert told(lift_readings(log, reread={"S1": True})) == [
        ("target_look", "look", 50, 5.75, INF),
        ("result", "result", 50, 5.25, 5.75),
    ]


def test_a_recorded_stopping_look_is_never_added_again(make_log: Make) -> None:
    log = make_log([TARGET], [look(49.5, 9.5)])
    both = [("target_look", "look", 49.5, 6.25, 6.75), ("result", "result", 50, 5.75, 6.25)]
    assert told(lift_readings(log, reread={"S1": True})) == both
    # A result of another level was read anew, whatever the habit: neither is dropped.
    assert told(lift_readings(log)) == both


def test_a_recorded_stopping_look_with_the_results_level_counts_once(make_log: Make) -> None:
    log = make_log([TARGET], [look(50, 9.0)])
    assert told(lift_readings(log)) == [("result", "result", 50, 5.75, 6.25)]
    assert told(lift_readings(log, reread={"S1": True})) == [
        ("target_look", "look", 50, 5.75, 6.25),
        ("result", "result", 50, 5.75, 6.25),
    ]


def test_a_look_at_a_rinse_for_time_is_a_look(make_log: Make) -> None:
    log = make_log([{"achieved_level": 7.0}], [look(45, 7.0)])
    assert [row[0] for row in told(lift_readings(log))] == ["look", "result"]


def test_heaped_result_says_at_or_above_the_goal(make_log: Make) -> None:
    log = make_log([TARGET])
    heaped = [("result", "result", 50, 5.75, INF)]
    assert told(lift_readings(log, heaped={"S1": True})) == heaped
    # It's the stopping look in other words: no second row for that look.
    assert told(lift_readings(log, heaped={"S1": True}, reread={"S1": True})) == heaped
    assert told(lift_readings(log, heaped={"S2": True})) == [("result", "result", 50, 5.75, 6.25)]


@pytest.mark.parametrize("changed", [{"achieved_level": 9.5}, {"achieved_level": 8.5}, {"stop": "time"}])
def test_heaping_concerns_target_results_at_the_goal(make_log: Make, changed: dict[str, Any]) -> None:
    log = make_log([{**TARGET, **changed}])
    assert told(lift_readings(log, heaped={"S1": True})) == told(lift_readings(log))


def test_heaped_result_beside_its_recorded_look_says_nothing_more(make_log: Make) -> None:
    log = make_log([TARGET], [look(50, 9.5)])
    assert told(lift_readings(log, heaped={"S1": True})) == [
        ("target_look", "look", 50, 6.25, 6.75),
        ("result", "result", 50, -INF, INF),
    ]


def test_copied_results_can_be_given_the_error_of_a_look(make_log: Make) -> None:
    log = make_log([TARGET, {**TARGET, "stylist": "S2"}, {"achieved_level": 7.0}])
    readings = lift_readings(log, reread={"S2": True}, copied_kind="look")
    assert readings.kind[readings.origin == "result"].tolist() == ["look", "result", "result"]


def test_implied_looks_bound_the_goal_from_below(make_log: Make) -> None:
    log = make_log([{**TARGET, "looks": np.nan, "minutes": 10.0}])
    # 5, 10 and 15 minutes assumed: the latter two leave no room for a look
    readings = lift_readings(log, implied="target")
    assert told(readings) == [
        ("implied", "look", 10, -INF, INF),
        ("implied", "look", 5, -INF, 5.75),
        ("result", "result", 10, 5.75, 6.25),
    ]
    assert readings.alternative.tolist() == [0, 0, -1]
    assert readings.way.tolist() == [0, 1, -1]
    assert readings.weight.tolist() == [0.75, 0.25, 1.0]


FIRST = {"date": "2024-01-02", "achieved_level": 6.0}
SECOND = {"date": "2024-02-13", "start_level": 6.0, "achieved_level": 8.0}
THIRD = {"date": "2024-03-26", "start_level": 8.0, "achieved_level": 8.5}


def test_copied_starts_tie_the_errors_of_two_sessions(make_log: Make) -> None:
    # positions: the third session 0, the first 1, the second 2
    log = make_log([THIRD, FIRST, SECOND], [look(20, 8.0, "V0"), look(20, 7.0, "V2")])
    readings = lift_readings(log, implied="target")
    assert readings.visit.tolist() == [0, 0, 1, 2, 2]
    assert readings.linked_result.tolist() == [False, False, True, False, True]
    assert readings.lower.tolist() == [-INF, 0.25, 3.0, 0.75, 2.0]
    assert readings.upper.tolist() == [0.25, 0.75, 3.0, 1.25, 2.0]
    assert readings.start_codes.tolist() == [[0, -1], [0, -1], [1, 2], [2, -1], [2, 0]]
    assert readings.start_weights.tolist() == [[1, 0], [1, 0], [1, -1], [1, 0], [1, -1]]


def test_a_start_whose_session_has_no_look_counts_as_read_anew(make_log: Make) -> None:
    log = make_log([FIRST, SECOND, THIRD], [look(20, 7.0, "V1")])
    assert lift_readings(log, implied="target").linked_result.tolist() == [True, False, False, False]


@pytest.mark.parametrize(
    ("first", "second"),
    [
        ({"achieved_level": 6.5}, {}),  # read anew
        ({"achieved_level": 3.0}, {"start_level": 3.0}),  # at the start: no number
        (
            {"achieved_level": 9.0, "stop": "target", "looks": 0.0},
            {"start_level": 9.0, "goal_level": 9.5},
        ),  # heaped
        ({"achieved_level": 10.0}, {"start_level": 10.0}),  # top of the scale
        ({}, {"client": "C2"}),
    ],
)
def test_results_that_are_never_tied_to_the_next_start(
    make_log: Make, first: dict[str, Any], second: dict[str, Any]
) -> None:
    log = make_log([{**FIRST, **first}, {**SECOND, **second}])
    readings = lift_readings(log, heaped={"S1": True})
    assert not readings.linked_result.any()
    assert (readings.start_codes[:, 1] == -1).all()
    assert (readings.start_weights[:, 1] == 0).all()
    assert (readings.lower < readings.upper).all()


def test_starts_that_agree_by_chance_are_no_copies(make_log: Make) -> None:
    def pair(client: str, start: float) -> list[dict[str, Any]]:
        return [{**FIRST, "client": client}, {**SECOND, "client": client, "start_level": start}]

    copied = [row for at in range(8) for row in pair(f"C{at}", 6.0)]
    slips = [row for at in range(2) for row in pair(f"D{at}", 6.5)]
    looks = [look(20, 7.0, f"V{at}") for at in range(1, 22, 2)]  # in the second session of each
    assert lift_readings(make_log([*copied, *slips], looks[:-1])).linked_result.sum() == 8
    assert lift_readings(make_log([*copied, *slips, *pair("E", 5.5)], looks)).linked_result.sum() == 0
