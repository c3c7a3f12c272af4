"""Every row fault of the visit log, each brought about by itself."""

from __future__ import annotations

import pytest

from outcomes.errors import InputError
from outcomes.log.read import read_log
from outcomes.log.write import write_log


def faults(log):
    return [tuple(row) for row in log.faults[["row", "column", "code"]].itertuples(index=False)]


@pytest.mark.parametrize(
    ("cells", "expected"),
    [
        ({"stop": ""}, ("stop", "missing")),
        ({"hair": "grey"}, ("hair", "unreadable")),
        ({"minutes": "0"}, ("minutes", "out_of_range")),
        ({"minutes": "181"}, ("minutes", "out_of_range")),
        ({"achieved_level": "7.2"}, ("achieved_level", "off_grid")),
        ({"peroxide_pct": "20"}, ("peroxide_pct", "peroxide_limit")),
        ({"goal_level": "4"}, ("goal_level", "goal_not_above_start")),
        ({"goal_level": "3.5"}, ("goal_level", "goal_not_above_start")),
        ({"achieved_level": "3"}, ("achieved_level", "achieved_below_start")),
        ({"date": "2024-02-30"}, ("date", "no_such_date")),
        ({"zone": "fringe"}, ("zone", "unreadable")),
        ({"applications": "1.5"}, ("applications", "off_grid")),
        ({"root_level": "7.2"}, ("root_level", "off_grid")),
        ({"quoted_sessions": "13"}, ("quoted_sessions", "out_of_range")),
    ],
)
def test_one_fault(folder, visit, cells, expected):
    log = read_log(folder(visits=[visit(visit="V0"), visit(**cells)]))
    assert faults(log) == [(3, *expected)]
    assert log.counts["visits"] == {"in": 2, "used": 1, "set_aside": 1}
    assert list(log.visits["visit"]) == ["V0"]


def test_result_one_step_below_the_start_stays(folder, visit):
    log = read_log(folder(visits=[visit(achieved_level="3.5")]))
    assert log.counts["visits"]["used"] == 1


def test_all_faults_of_a_row_are_listed_and_the_row_counted_once(folder, visit):
    log = read_log(folder(visits=[visit(), visit(visit="V2", stop="", minutes="0", goal_level="3")]))
    assert {code for _, _, code in faults(log)} == {"missing", "out_of_range", "goal_not_above_start"}
    assert log.counts["visits"]["set_aside"] == 1


def test_repeated_visit_and_zone(folder, visit):
    rows = [visit(), visit(zone="ends"), visit(zone="lengths"), visit(visit="V2")]
    log = read_log(folder(visits=rows))
    assert faults(log) == [(4, "visit", "repeated")]  # an empty zone means lengths
    assert log.faults["found"][0] == "V1"
    assert "zone lengths of it stands in row 2" in log.faults["message"][0]


def test_one_code_for_two_clients(folder, visit):
    log = read_log(folder(visits=[visit(), visit(client="C2"), visit(zone="ends", date="2024-03-15")]))
    assert faults(log) == [
        (3, "visit", "repeated"), (3, "client", "codes_collide"), (4, "date", "codes_collide"),
    ]  # fmt: skip


def test_looks_of_a_visit_of_two_clients_are_nobodys(folder, visit):
    rows = [visit(), visit(client="OTHER", start_level="6"), visit(zone="ends")]
    checks = [
        {"visit": "V1", "minutes": m, "level": x} for m, x in (("10", "5"), ("10", "7.5"), ("99", "8.5"))
    ]
    checks.append({"visit": "V1", "zone": "ends", "minutes": "20", "level": "6"})
    washes = [{"visit": "V1", "zone": zone, "washes": "3", "tone_left": "75"} for zone in ("", "ends")]
    log = read_log(folder(visits=rows, checks=checks, washes=washes))
    own = log.faults[log.faults["file"] != "visits.csv"]
    assert own[["file", "row", "column", "found", "code"]].to_numpy().tolist() == [
        ["checks.csv", 2, "visit", "V1", "codes_collide"],
        ["checks.csv", 3, "visit", "V1", "codes_collide"],
        ["checks.csv", 4, "visit", "V1", "codes_collide"],
        ["washes.csv", 2, "visit", "V1", "codes_collide"],
    ]
    assert own["message"].iloc[0] == (
        "checks.csv row 2: visit V1; expected a visit of one client and one day at zone lengths, not of C1 "
        "and OTHER; give each visit its own code (where logs were joined: a prefix for each log)"
    )
    assert log.counts["checks"] == {"in": 4, "used": 1, "set_aside": 3}
    assert log.counts["washes"] == {"in": 2, "used": 1, "set_aside": 1}
    assert log.counts["visits"] == {"in": 3, "used": 2, "set_aside": 1}


def test_looks_of_a_visit_of_two_days_are_nobodys(folder, visit):
    rows = [visit(), visit(date="2024-03-15"), visit(visit="V2"), visit(visit="V2")]
    checks = [{"visit": code, "minutes": "10", "level": "5"} for code in ("V1", "V2")]
    log = read_log(folder(visits=rows, checks=checks))
    own = log.faults[log.faults["file"] == "checks.csv"]
    assert own[["row", "code"]].to_numpy().tolist() == [
        [2, "codes_collide"]
    ]  # the same row twice is one visit
    assert "not of 2024-03-14 and 2024-03-15" in own["expected"].iloc[0]


def test_looks_of_a_visit_of_two_clients_stay_nobodys_where_neither_is_used(folder, visit):
    rows = [visit(minutes="0"), visit(client="OTHER")]
    log = read_log(folder(visits=rows, checks=[{"visit": "V1", "minutes": "10", "level": "5"}]))
    assert list(log.faults["code"][log.faults["file"] == "checks.csv"]) == ["codes_collide"]


def test_a_root_shade_of_a_visit_of_two_clients_is_nobodys(folder, visit):
    """It belongs to its visit whatever zone was lightened, so that here any two zones compete."""
    rows = [visit(), visit(client="OTHER", zone="ends"), visit(visit="V2"), visit(visit="V2", zone="ends")]
    washes = [{"visit": code, "zone": "roots", "washes": "3", "level": "6"} for code in ("V1", "V2")]
    log = read_log(folder(visits=rows, washes=washes))
    own = log.faults[log.faults["file"] == "washes.csv"]
    assert own[["row", "code"]].to_numpy().tolist() == [[2, "codes_collide"]]
    assert log.counts["washes"] == {"in": 2, "used": 1, "set_aside": 1}


def test_short_and_long_rows(folder):
    text = (
        "visit,client,stylist,date,hair,start_level,goal_level,peroxide_pct,heat,minutes,achieved_level,stop\n"
        "V1,C1,S1,2024-03-14,natural,4,8,6,low,45,7.5,time\n"
        "V2,C1,S1,2024-03-14\n"
        "V3,C1,S1,2024-03-14,natural,4,8,6,low,45,7,5,time\n"
    )
    log = read_log(folder(visits=text))
    assert faults(log) == [(3, "", "fields"), (4, "", "fields")]
    assert list(log.faults["found"]) == ["4 fields", "13 fields"]


HEAD = "visit,client,stylist,date,hair,start_level,goal_level,peroxide_pct,heat,minutes,achieved_level,stop"
SOUND = "C1,S1,2024-03-14,natural,4,8,6,low,45,7.5,time"


@pytest.mark.parametrize("end", [",", ",,,", ', ,""'])
def test_delimiters_at_the_end_of_every_row_are_no_fields(folder, end):
    rows = [f"V{i},{SOUND}{end}" for i in range(4)]
    log = read_log(
        folder(visits="\n".join([HEAD, *rows, f"V4,{SOUND}", f"V5,{SOUND},x", "V6", f"V7,{SOUND}{end},"]))
    )
    assert log.counts["visits"] == {"in": 8, "used": 5, "set_aside": 3}
    assert faults(log) == [(row, "", "fields") for row in (7, 8, 9)]
    assert list(log.faults["found"])[:2] == ["13 fields", "1 field"]
    assert log.faults["expected"].eq("12 fields").all()


def test_delimiters_at_the_end_of_the_headings_are_no_columns(folder):
    rows = [f"V1,{SOUND}", f"V2,{SOUND},", f"V3,{SOUND},,"]
    log = read_log(folder(visits="\n".join([HEAD + ",,", *rows])))
    assert log.counts["visits"]["used"] == 2
    assert faults(log) == [(3, "", "fields")]
    assert log.notes == ()


def test_an_empty_field_too_many_in_one_row_may_be_a_decimal_comma(folder, visit):
    checks = "visit,minutes,level,read_on\nV1,10,5,wet\nV1,20,6,5,\n"
    log = read_log(folder(visits=[visit()], checks=checks))
    assert faults(log) == [(3, "", "fields")]


def test_looks_and_washes_without_their_visit(folder, visit):
    log = read_log(
        folder(
            visits=[visit(), visit(visit="V2", stop="")],
            checks=[
                {"visit": "V1", "minutes": "20", "level": "6"},
                {"visit": "V1", "minutes": "45", "level": "7.5"},
                {"visit": "V1", "minutes": "46", "level": "7.5"},
                {"visit": "V2", "minutes": "20", "level": "6"},
                {"visit": "V9", "minutes": "20", "level": "6"},
            ],
            washes=[
                {"visit": "V1", "zone": "lengths", "washes": "3", "tone_left": "75"},
                {"visit": "V1", "zone": "ends", "washes": "3", "tone_left": "75"},
                {"visit": "V1", "zone": "roots", "washes": "3", "level": "6"},
                {"visit": "V7", "zone": "roots", "washes": "3", "level": "6"},
            ],
        )
    )
    assert list(log.faults["file"]) == ["visits.csv"] + ["checks.csv"] * 3 + ["washes.csv"] * 2
    assert faults(log)[1:] == [
        (4, "minutes", "after_rinse"), (5, "visit", "visit_set_aside"), (6, "visit", "no_visit"),
        (3, "visit", "no_visit"), (5, "visit", "no_visit"),
    ]  # fmt: skip
    assert list(log.washes["zone"]) == ["lengths", "roots"]
    assert log.counts["checks"] == {"in": 5, "used": 2, "set_aside": 3}


def test_a_wash_row_needs_one_of_three_readings(folder, visit):
    washes = [
        {"visit": "V1", "washes": "3", "level": "", "L": "", "a": "", "b": ""},
        {"visit": "V1", "washes": "4", "L": "60", "a": "1", "b": "-2"},
        {"visit": "V1", "washes": "5", "L": "60", "a": "1"},
        {"visit": "V1", "washes": "6", "level": "7.2"},
    ]
    log = read_log(folder(visits=[visit()], washes=washes))
    assert faults(log) == [(2, "level", "missing"), (4, "b", "missing"), (5, "level", "off_grid")]
    assert list(log.washes["b"]) == [-2.0]


@pytest.mark.parametrize(
    ("cells", "expected"),
    [
        ({"level": "deep"}, [(2, "level", "unreadable")]),
        (
            {"level": "deep", "tone_left": "much"},
            [(2, "level", "unreadable"), (2, "tone_left", "unreadable")],
        ),
        ({"level": "deep", "tone_left": "75"}, []),
        ({"level": "6", "tone_left": "much", "shampoo": "mild"}, []),
        ({"level": "deep", "L": "60", "a": "1", "b": "-2"}, []),
        ({"level": "6", "L": "light", "a": "1", "b": "-2"}, []),
        ({"tone_left": "75", "L": "light", "a": "#REF!", "b": "-2"}, []),
        ({"level": "6", "L": "", "a": "1", "b": "-2"}, []),
        ({"L": "light", "a": "1", "b": "-2"}, [(2, "L", "unreadable")]),
        (
            {"level": "deep", "L": "light", "a": "1", "b": ""},
            [(2, "b", "missing"), (2, "level", "unreadable"), (2, "L", "unreadable")],
        ),
        ({"level": "6", "L": "160", "a": "1", "b": "-2"}, [(2, "L", "out_of_range")]),
        ({"level": "6", "tone_left": "80"}, [(2, "tone_left", "off_grid")]),
    ],
)
def test_an_unreadable_wash_reading_costs_the_row_that_has_no_other(folder, visit, cells, expected):
    log = read_log(folder(visits=[visit()], washes=[{"visit": "V1", "washes": "3"} | cells]))
    assert sorted(faults(log)) == sorted(expected)
    assert log.counts["washes"]["used"] == (not expected)


def test_a_colour_of_which_a_part_is_lacking_counts_as_not_given(folder, visit, tmp_path):
    washes = [
        {"visit": "V1", "washes": "3", "level": "6", "L": "light", "a": "1", "b": "-2"},
        {"visit": "V1", "washes": "4", "tone_left": "75", "L": "60", "a": "", "b": "-2"},
        {"visit": "V1", "washes": "5", "level": "6", "L": "60", "a": "1", "b": "-2"},
    ]
    log = read_log(folder(visits=[visit()], washes=washes))
    assert log.faults.empty
    assert log.washes[["L", "a", "b"]].isna().all(axis=1).tolist() == [True, True, False]
    told = log.warnings[log.warnings["file"] == "washes.csv"]
    assert set(told["code"]) == {"unreadable_optional"}
    assert list(told["message"]) == [
        "washes.csv row 2: L light; expected 0 to 100; L, a and b count as not given; write what is lacking, "
        "or leave all three empty",
        "washes.csv row 3: a is empty; expected L, a and b together; L, a and b count as not given; write "
        "what is lacking, or leave all three empty",
    ]
    write_log(log, tmp_path / "written")
    assert read_log(tmp_path / "written").counts["washes"] == {"in": 3, "used": 3, "set_aside": 0}


def test_a_colour_that_is_nowhere_whole_is_not_given(folder, visit):
    washes = [{"visit": "V1", "washes": "3", "level": "6", "L": "light", "a": "1", "b": "-2"}]
    log = read_log(folder(visits=[visit()], washes=washes))
    assert {name for table, name in log.given if table == "washes"} == {"visit", "washes", "level"}


def test_contradicting_date_orders_are_row_faults(folder, visit):
    rows = [visit(), visit(visit="V2", date="13/07/2024"), visit(visit="V3", date="07/13/2024")]
    log = read_log(folder(visits=rows))
    assert faults(log) == [(3, "date", "date_order"), (4, "date", "date_order")]
    assert "13/07/2024 is day first and 07/13/2024 month first" in log.faults["expected"][0]


def test_unsettled_date_order_refuses_the_file(folder, visit):
    rows = [visit(date=""), visit(date="03/04/2024"), visit(visit="V2", date="05/06/2024")]
    with pytest.raises(InputError, match=r"visits\.csv: column date: 03/04/2024 \(row 3\) may be"):
        read_log(folder(visits=rows))


@pytest.mark.parametrize("sure", ["2024-03-14", "20240314", "45351", "2024/03/14"])
def test_one_date_in_doubt_is_a_fault_of_its_row(folder, visit, sure):
    rows = [
        visit(date=sure),
        visit(visit="V2", date="05/06/2023"),
        visit(visit="V3", date="05/06/2023 10:30"),
    ]
    log = read_log(folder(visits=rows))
    assert faults(log) == [(3, "date", "date_unsettled"), (4, "date", "date_unsettled")]
    assert log.counts["visits"] == {"in": 3, "used": 1, "set_aside": 2}
    assert log.faults["message"][0] == (
        "visits.csv row 3: date 05/06/2023; expected one of two days, 2023-06-05 (day first) or 2023-05-06 "
        "(month first); write the date as YYYY-MM-DD, or say --dates day-first or --dates month-first"
    )
    assert log.notes[0] == (
        "visits.csv: 2 dates may each be of two days, and nothing in the file settles which; say --dates "
        "day-first or --dates month-first to have such dates read"
    )
    assert read_log(folder(visits=rows), dates="day-first").faults.empty


def test_a_day_that_equals_its_month_is_no_reason_to_set_the_others_aside(folder, visit):
    """As the file is written, nobody knows its order: one word from the user reads all of it."""
    rows = [
        visit(date="03/04/2026"),
        visit(visit="V2", date="05/06/2026"),
        visit(visit="V3", date="07/07/2026"),
    ]
    told = (
        r"2026-04-03 \(day first\) or 2026-03-04 \(month first\).* --dates day-first or --dates month-first"
    )
    with pytest.raises(InputError, match=told):
        read_log(folder(visits=rows))
    assert len(read_log(folder(visits=rows), dates="month-first").visits) == 3


def test_a_date_that_settles_the_order_settles_it_for_all(folder, visit):
    rows = [
        visit(date="2024-03-14"),
        visit(visit="V2", date="05/06/2023"),
        visit(visit="V3", date="13/06/2023"),
    ]
    log = read_log(folder(visits=rows))
    assert log.faults.empty
    assert str(log.visits["date"][1])[:10] == "2023-06-05"


def test_messages_say_file_row_found_expected_and_what_to_do(folder, visit):
    log = read_log(folder(visits=[visit(), visit(visit="V2", start_level="3.2", peroxide_pct="30")]))
    assert list(log.faults["message"]) == [
        "visits.csv row 3: start_level 3.2; expected 1 to 10 in steps of 0.5; write 3 or 3.5",
        'visits.csv row 3: peroxide_pct 30; expected 1.5 to 12 %; if 30 is volume, write "30 vol"; '
        "above 12 % nothing is used on hair",
    ]


def test_advice_about_a_share_off_its_grid_takes_it_for_what_it_is(folder, visit):
    shares = ["0.8", "80", "0.3 %", "80 %"]
    washes = [{"visit": "V1", "washes": str(i), "tone_left": share} for i, share in enumerate(shares)]
    log = read_log(folder(visits=[visit()], washes=washes))
    advice = ["0.8 counts as 80 %; write 75 or 100", "write 75 or 100", "write 0 or 25", "write 75 or 100"]
    for message, told in zip(log.faults["message"], advice, strict=True):
        assert message.endswith(f"; expected 0 to 100 % in steps of 25; {told}")


def test_advice_about_a_strength_said_to_be_percent_speaks_of_no_volume(folder, visit):
    log = read_log(folder(visits=[visit(peroxide_pct="20 %")]))
    assert log.faults["message"][0].endswith("; nothing above 12 % (40 volume) is used on hair")


def test_messages_name_another_heading(folder, visit):
    row = {("Heat level" if k == "heat" else k): v for k, v in visit(heat="tepid").items()}
    log = read_log(folder(visits=[row]))
    assert 'in the column headed "Heat level"' in log.faults["message"][0]


def test_expected_says_what_the_value_was_held_against(folder, visit):
    rows = [
        visit(goal_level="4"),
        visit(visit="V2", achieved_level="3"),
        visit(visit="V3", minutes="40"),
        visit(visit="V3", client="C2", zone="ends"),
    ]
    checks = [{"visit": visit, "minutes": "41", "level": "6"} for visit in ("V3", "V2", "V9")]
    log = read_log(folder(visits=rows, checks=checks))
    assert list(log.faults["found"]) == ["4", "3", "C2", "41", "V2", "V9"]
    assert list(log.faults["expected"]) == [
        "a goal above start_level 4",
        "at least 3.5, one step below start_level 4",
        "C1, which the first row of visit V3 has",
        "at most 40, when it was rinsed",
        "a visit of which zone lengths is used",
        "a visit that has zone lengths in visits",
    ]
