"""Warnings: the rows stay."""

from __future__ import annotations

import inspect

import pandas as pd
import pytest

from outcomes.log.read import read_log
from outcomes.log.schema import COURSE_GAP_WEEKS, COURSE_START_WITHIN
from outcomes.readings.courses import assign_courses


def codes(log, *leave):
    return [code for code in log.warnings["code"] if code not in ("no_checks", *leave)]


def many(visit, n, **cells):
    return [visit(visit=f"V{i}", minutes=str(30 + i)) | cells for i in range(n)]


def test_sound_rows_warn_of_nothing_but_missing_looks(folder, visit):
    log = read_log(folder(visits=many(visit, 6)))
    assert list(log.warnings["code"]) == ["no_checks"]
    assert log.warnings["row"].isna().all()
    assert log.counts["visits"]["used"] == 6


def test_target_below_goal(folder, visit):
    log = read_log(folder(visits=[visit(stop="target", achieved_level="7.5", goal_level="8")]))
    assert codes(log) == ["target_below_goal"]
    assert next(iter(log.warnings["row"])) == 2
    assert log.counts["visits"]["used"] == 1
    assert log.warnings["message"][0] == (
        "visits.csv row 2: achieved_level 7.5; expected 8 (goal_level) or more, because stop is target; "
        "leave it if the hair read at its goal while wet, or else correct a level or the stop"
    )


def test_warnings_about_no_row_are_sentences_too(folder, visit):
    log = read_log(folder(visits=many(visit, 5, stop="other", minutes="45")))
    assert list(log.warnings["message"]) == [
        "visits.csv: minutes is 45 in 5 of 5 visits of stylist S1; expected minutes that differ between "
        "visits; write the minutes as they were, not as planned",
        "visits.csv: stop is time in 0 of 5 visits of stylist S1; expected some visits that ended for time; "
        "write stop = time where the time was up before the goal",
        "salon: no checks; expected checks.csv or a sheet checks, with a row for each look during "
        "processing; write down the minutes and level of each look; it makes the answers much surer",
    ]


def no_checks(log):
    told = log.warnings[log.warnings["code"] == "no_checks"]
    return told[["file", "column", "found", "message"]].to_numpy().tolist()


def test_a_log_without_looks_is_told_what_it_has_instead(folder, visit):
    """The table itself is meant, so that no column is named, as for a row of too few fields."""
    log = read_log(folder(visits=[visit()]))
    assert [row[:3] for row in no_checks(log)] == [["salon", "", "no checks"]]
    log = read_log(folder(visits=[visit()], checks="visit,minutes,level\n"))
    assert [row[:3] for row in no_checks(log)] == [["checks.csv", "", "no rows"]]
    checks = [{"visit": code, "minutes": "20", "level": "6"} for code in ("V8", "V9")]
    log = read_log(folder(visits=[visit()], checks=checks))
    assert no_checks(log) == [
        ["checks.csv", "", "0 of 2 rows used",
         "checks.csv: 0 of 2 rows used; expected a row for each look during processing; mend the faults of "
         "these rows; looks make the answers much surer"],
    ]  # fmt: skip


def test_heaped_minutes_of_one_stylist(folder, visit):
    rows = many(visit, 10) + [visit(visit=f"W{i}", stylist="S2", minutes="45") for i in range(9)]
    rows.append(visit(visit="W9", stylist="S2", minutes="50"))
    log = read_log(folder(visits=rows))
    assert codes(log) == ["heaped_minutes"]
    assert "45 in 9 of 10 visits of stylist S2" in log.warnings["found"][0]


def test_four_equal_minutes_are_no_habit_yet(folder, visit):
    assert codes(read_log(folder(visits=many(visit, 4, minutes="45")))) == []


def test_stylist_without_time_stops(folder, visit):
    rows = [*many(visit, 5, stop="other"), visit(visit="W1", stylist="S2", stop="other")]
    log = read_log(folder(visits=rows))
    assert codes(log) == ["no_time_stops"]
    assert "time in 0 of 5 visits of stylist S1" in log.warnings["found"][0]


def test_start_far_from_the_last_result_of_its_course(folder, visit):
    rows = [
        visit(course="K1", achieved_level="7.5"),
        visit(visit="V2", course="K1", date="2024-05-01", start_level="5.5", hair="lightened"),
        visit(visit="V3", course="K2", date="2024-05-01", start_level="3", achieved_level="6"),
        visit(visit="V4", course="K2", date="2024-06-01", start_level="7.5", hair="lightened"),
    ]
    log = read_log(folder(visits=rows))
    assert codes(log) == ["start_far_from_last"]  # 7.5 to 5.5 is far, 6 to 7.5 is not
    assert next(iter(log.warnings["row"])) == 3


def test_without_course_codes_lightened_hair_within_16_weeks(folder, visit):
    near = {"start_level": "5", "hair": "lightened"}
    rows = [
        visit(achieved_level="7.5"),
        visit(visit="V2", date="2024-05-01", **near),
        visit(visit="V3", date="2024-12-01", **near),
        visit(visit="V4", date="2024-12-20", start_level="4", hair="natural"),
    ]
    log = read_log(folder(visits=rows))
    assert [row for row, code in zip(log.warnings["row"], log.warnings["code"], strict=True)
            if code == "start_far_from_last"] == [3]  # fmt: skip


def test_courses_are_put_together_by_the_same_bounds():
    settings = inspect.signature(assign_courses).parameters
    assert settings["gap_weeks"].default is COURSE_GAP_WEEKS
    assert settings["start_within"].default is COURSE_START_WITHIN


@pytest.mark.parametrize(("beyond", "warned"), [(0, [3]), (1, [])])
def test_the_bounds_themselves_are_within(folder, visit, beyond, warned):
    days = pd.Timestamp("2024-03-14") + pd.Timedelta(days=7 * COURSE_GAP_WEEKS + beyond)
    later = {"visit": "V2", "date": f"{days:%Y-%m-%d}", "hair": "lightened"}
    start = 7.5 - COURSE_START_WITHIN
    near = read_log(folder(visits=[visit(), visit(start_level=f"{start:g}", **later)]))
    assert codes(near) == []
    far = read_log(folder(visits=[visit(), visit(start_level=f"{start - 0.5:g}", **later)]))
    assert list(far.warnings["row"].dropna()) == warned


def test_jump_between_two_looks(folder, visit):
    looks = [("30", "9"), ("20", "5"), ("40", "8.5")]
    checks = [{"visit": "V1", "minutes": minutes, "level": level} for minutes, level in looks]
    log = read_log(folder(visits=[visit()], checks=checks))
    assert list(log.warnings["code"]) == ["level_jump"]
    assert list(log.warnings["row"]) == [2]
    assert (log.warnings["found"][0], log.warnings["expected"][0]) == (
        "9",
        "less than 4 from the look before, 5",
    )


def test_bare_ten_may_be_volume(folder, visit):
    rows = [
        visit(peroxide_pct="10"),
        visit(visit="V2", peroxide_pct="10 %"),
        visit(visit="V3", peroxide_pct="10 vol"),
    ]
    log = read_log(folder(visits=rows))
    assert codes(log) == ["unit_unclear"]
    assert log.warnings["message"][0].endswith(
        '; expected a strength with its unit; write "10 vol" or "10 %"'
    )
    assert list(log.visits["peroxide_pct"]) == [10, 10, 3]


def test_bare_six_below_a_heading_of_volume_may_be_percent(folder, visit):
    rows = [
        visit(visit=f"V{i}", peroxide_pct=text) for i, text in enumerate(("6", "20", "6 vol", "6 %", "10"))
    ]
    rows = [{("Dev vol" if k == "peroxide_pct" else k): v for k, v in row.items()} for row in rows]
    log = read_log(folder(visits=rows))
    assert list(log.visits["peroxide_pct"]) == [1.8, 6, 1.8, 6, 3]
    unclear = log.warnings[log.warnings["code"] == "unit_unclear"]
    assert list(unclear["message"]) == [
        "visits.csv row 2: peroxide_pct 6; expected 10 or more where the heading says volume, or a strength "
        'with its unit; write "6 vol" or "6 %"'
    ]


def test_rows_set_aside_warn_of_nothing(folder, visit):
    log = read_log(folder(visits=[visit(), visit(visit="V2", stop="target", minutes="0")]))
    assert codes(log) == []


def test_an_unreadable_cell_that_is_not_needed_counts_as_not_given(folder, visit):
    rows = [visit(warmth="green", patch_test="yes"), visit(visit="V2", warmth="red", patch_test="perhaps")]
    checks = [{"visit": "V1", "minutes": "20", "level": "6", "read_on": "towel"}]
    log = read_log(folder(visits=rows, checks=checks))
    assert log.faults.empty
    assert log.counts["visits"]["used"] == 2
    assert log.counts["checks"]["used"] == 1
    assert log.visits["warmth"].isna().tolist() == [True, False]
    assert list(log.warnings["message"]) == [
        f"{place}; it counts as not given; write it as expected, or leave it empty"
        for place in (
            "visits.csv row 2: warmth green; expected one of none, pale_yellow, yellow, orange, red",
            "visits.csv row 3: patch_test perhaps; expected one of yes, no",
            "checks.csv row 2: read_on towel; expected one of product, wet, dry",
        )
    ]
    assert set(log.warnings["code"]) == {"unreadable_optional"}
    assert ("visits", "warmth") in log.given
    assert ("checks", "read_on") not in log.given


def test_an_unreadable_cell_of_a_row_set_aside_warns_of_nothing(folder, visit):
    log = read_log(folder(visits=[visit(), visit(visit="V2", minutes="0", warmth="green")]))
    assert list(log.faults["column"]) == ["minutes"]
    assert codes(log) == []
