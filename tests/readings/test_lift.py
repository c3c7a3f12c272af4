"""All readings of a log: groups, order, notes, and properties over random logs."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from outcomes.log.read import VisitLog
from outcomes.readings.covariates import design_columns
from outcomes.readings.learn import learn_design
from outcomes.readings.lift import lift_readings

Make = Callable[..., VisitLog]


LATER = {"date": "2024-02-13", "start_level": 6.5, "achieved_level": 8.0}


def test_groups_carry_labels(make_log: Make) -> None:
    log = make_log(
        [
            {"client": "Cb", "stylist": "S2", "product": "P1"},
            {"client": "Ca", "stylist": "S1", "zone": "roots", "looks": 0.0},
        ],
        [{"visit": "V0", "minutes": 20, "level": 5.0}],
    )
    readings = lift_readings(log)
    assert readings.groups["visit"].tolist() == [0, 0, 1]
    assert readings.groups["client"].tolist() == [1, 1, 0]
    assert readings.groups["stylist"].tolist() == [1, 1, 0]
    assert readings.groups["product"].tolist() == [0, 0, -1]
    assert readings.group_labels == {
        "visit": ("V0 lengths", "V1 roots"),
        "client": ("Ca", "Cb"),
        "stylist": ("S1", "S2"),
        "product": ("P1",),
    }


def test_visits_carry_their_course(make_log: Make) -> None:
    visits = lift_readings(make_log([{}, LATER])).visits
    assert visits["session"].tolist() == [1, 2]
    assert visits["later_session"].tolist() == [False, True]
    assert visits["previous"].tolist() == [-1, 0]


def test_part_of_a_logs_visits_can_be_used(make_log: Make) -> None:
    log = make_log(
        [{}, {}], [{"visit": "V0", "minutes": 20, "level": 5.0}, {"visit": "V1", "minutes": 25, "level": 6.0}]
    )
    part = VisitLog(
        **{**{name: getattr(log, name) for name in log.__dataclass_fields__}, "visits": log.visits.iloc[1:]}
    )
    readings = lift_readings(part)
    assert readings.visit.tolist() == [0, 0]
    assert readings.minutes.tolist() == [25, 45]


def test_design_columns_hold_none_where_words_are_missing(make_log: Make) -> None:
    columns = design_columns(make_log([{"wrap": "foil"}, {}]).visits)
    assert columns["wrap"].tolist() == ["foil", None]
    assert np.isnan(columns["mix_ratio"]).all()
    design = learn_design(columns, [False, False])
    assert design.categories("wrap") == ("foil", "not given")


@pytest.mark.parametrize(
    ("visits", "checks", "note"),
    [
        ([{}], [], "No looks are recorded"),
        ([{}, {}], [], "No visit was stopped at its goal: every stop is `time`."),
        ([{}, {}], [], "There is one stylist only"),
        ([{}, {"client": "C2"}], [], "No client has two visits"),
        ([{"looks": 0.0}, {"looks": 0.0}], [], "No visit has two readings"),
        (
            [{"stop": "target", "look_every": 10.0}],
            [],
            "are implied (n = 1): at the interval declared",
        ),
        ([{}, LATER], [], "Later starts count as read anew: 0 of 1 equal the last result."),
        ([{"stop": "target"}], [], "common practice, no source"),
    ],
)
def test_notes_say_what_cannot_be_told(
    make_log: Make, visits: list[dict[str, Any]], checks: list[dict[str, Any]], note: str
) -> None:
    assert any(note in sentence for sentence in lift_readings(make_log(visits, checks)).notes)


def test_a_full_log_needs_no_notes(make_log: Make) -> None:
    visits = [{"looks": 1.0}, {"stylist": "S2", "stop": "target", "looks": 0.0}]
    log = make_log(visits, [{"visit": "V0", "minutes": 20, "level": 5.0}])
    assert lift_readings(log).notes == ()


def test_no_visits_give_no_readings(make_log: Make) -> None:
    readings = lift_readings(make_log([]))
    assert len(readings.visit) == 0
    assert readings.start_codes.shape == (0, 2)


LEVELS = st.integers(2, 20).map(lambda step: step / 2)


@st.composite
def visit_rows(draw: st.DrawFn) -> tuple[dict[str, Any], list[dict[str, Any]]]:
    start = draw(st.integers(2, 19)) / 2
    minutes = float(draw(st.integers(1, 90)))
    row = {
        "client": draw(st.sampled_from(["C1", "C2", "C3"])),
        "stylist": draw(st.sampled_from(["S1", "S2"])),
        "zone": "lengths",
        "date": f"2024-0{draw(st.integers(1, 9))}-01",
        "start_level": start,
        "goal_level": draw(st.integers(int(2 * start) + 1, 20)) / 2,
        "achieved_level": max(1.0, draw(st.integers(int(2 * start) - 1, 20)) / 2),
        "minutes": minutes,
        "stop": draw(st.sampled_from(["target", "target", "time", "condition", "other"])),
        "looks": draw(st.sampled_from([np.nan, 0.0, 1.0, 3.0])),
        "look_every": draw(st.sampled_from([np.nan, np.nan, 5.0, 40.0])),
        "product": draw(st.sampled_from([None, "P1"])),
    }
    at = draw(st.lists(st.integers(0, int(minutes)), max_size=4))
    return row, [{"minutes": float(m), "level": draw(LEVELS)} for m in at]


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    rows=st.lists(visit_rows(), min_size=1, max_size=12),
    reread=st.dictionaries(st.sampled_from(["S1", "S2"]), st.booleans()),
    heaped=st.dictionaries(st.sampled_from(["S1", "S2"]), st.booleans()),
)
def test_readings_of_any_log_are_sound(
    make_log: Make, rows: list[Any], reread: dict[str, bool], heaped: dict[str, bool]
) -> None:
    checks = [{"visit": f"V{at}", **check} for at, (_, looks) in enumerate(rows) for check in looks]
    readings = lift_readings(make_log([row for row, _ in rows], checks), reread=reread, heaped=heaped)
    n = len(readings.visit)
    for name in ("minutes", "exposure", "lower", "upper", "weight"):
        assert not np.isnan(getattr(readings, name)).any()
    assert (readings.lower <= readings.upper).all()
    assert ((readings.lower == readings.upper) == readings.linked_result).all()
    assert set(readings.kind) <= {"look", "result"}
    # One result for each visit, the last of its rows.
    results = np.flatnonzero(readings.origin == "result")
    assert readings.visit[results].tolist() == list(range(len(rows)))
    assert (np.append(np.diff(readings.visit), 1)[results] == 1).all()
    assert (np.diff(readings.visit) >= 0).all()
    # Alternatives: several rows of one visit, standing together, chances adding up to 1.
    code = readings.alternative
    assert (readings.weight[code < 0] == 1).all()
    assert ((readings.way >= 0) == (code >= 0)).all()
    for one in range(code.max() + 1):
        rows_of_one = np.flatnonzero(code == one)
        ways, first, size = np.unique(readings.way[rows_of_one], return_index=True, return_counts=True)
        assert len(ways) >= 2
        assert (size <= 2).all()
        assert (np.diff(rows_of_one) == 1).all()
        assert len(np.unique(readings.visit[rows_of_one])) == 1
        assert readings.weight[rows_of_one[first]].sum() == pytest.approx(1.0)
    # Every row has its own start's error; only linked results have another's too, of the session after.
    assert (readings.start_codes[:, 0] == readings.visit).all()
    assert (readings.start_weights[:, 0] == 1).all()
    linked = readings.linked_result
    assert ((readings.start_codes[:, 1] >= 0) == linked).all()
    assert (readings.start_weights[:, 1] == np.where(linked, -1.0, 0.0)).all()
    after = readings.start_codes[linked, 1]
    assert (readings.visits["previous"].to_numpy()[after] == readings.visit[linked]).all()
    assert all(len(codes) == n for codes in readings.groups.values())
