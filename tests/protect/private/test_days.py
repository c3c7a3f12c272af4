"""Days of the calendar in text: every way of writing one, and what only looks like one."""

from __future__ import annotations

from datetime import date

import pytest

from outcomes.protect.private.days import day_of_heading, days_in

YEARS = {2023, 2024, 2025}
FOURTEENTH = [
    "2024-03-14", "2024-03-14T10:30:00Z", "2024-03-14 10:30", "2024-3-14", "2024/03/14", "2024.03.14",
    "14/03/2024", "14.3.2024", "14-03-2024", "3/14/2024", "14/03/24", "14.03.24", "14 March 2024",
    "14th of March, 2024", "March 14, 2024", "Mar 14 2024", "14-Mar-2024", "14 MAR 24", "2024 March 14",
    "2024-W11-4", "2024W114", "20240314T1030", "14. März 2024", "14 mars 2024", "14 de marzo de 2024",
    "Thu, 14 Mar 2024 10:00:00 GMT",
]  # fmt: skip
NO_DAY = [
    # the first day of a month, as anonymising leaves it, and times at midnight that programs add to it
    "2024-03-01", "2024-03-01T00:00:00", "2024-03-01 00:00:00.000", "20240301T0000",
    "2024-03", "March 2024", "2024", "2024-W11", "1223/2009", "7/8", "7.5/8.0/9", "0.619", "12:30",
    "1.2.3", "2024.3.1", "1.2.24", "v1.2.2024", "5.14.3.2024", "10.1016/j.jmva.2010.01.003",
    "1899-12-31", "2101-01-01", "2023-02-29", "31/31/2024", "2024-W54-1", "14/03/99",
    "up to 10 may", "20240314", "1710410400", "12024-03-141", "3 of 14 marches",
]  # fmt: skip


def told(text, **more):
    return [(text[one.start : one.end], one.days) for one in days_in(text, years=YEARS, **more)]


@pytest.mark.parametrize("text", FOURTEENTH)
def test_a_day_however_written(text):
    for around in (text, f"({text})", f"on {text}, at", f"x_{text}.csv"):
        found = told(around)
        assert len(found) == 1
        assert date(2024, 3, 14) in found[0][1]


@pytest.mark.parametrize("text", NO_DAY)
def test_what_is_no_day(text):
    assert told(text) == []
    assert told(f"({text})") == []


@pytest.mark.parametrize(
    ("text", "found"),
    [("datetime.date(2024, 3, 14)", "date(2024, 3, 14"), ("[date(2024,3,14)]", "date(2024,3,14"),
     ("datetime.datetime(2024, 3, 14, 0, 0)", "datetime(2024, 3, 14, 0, 0"),
     ("datetime(2024, 3, 1, 9, 30)", "datetime(2024, 3, 1, 9, 30"),
     ("date(year=2024, month=3, day=14)", "date(year=2024, month=3, day=14"),
     ("Timestamp('2024-03-14 00:00:00')", "2024-03-14 00:00:00"), ("Period('2024-03-14', 'D')", "2024-03-14"),
     ("Timestamp(2024, 3, 14)", "Timestamp(2024, 3, 14"), ("new Date(2024, 2, 14)", "new Date(2024, 2, 14"),
     ('{"date":1710374400000}', "1710374400000"), ("date = 1710374400", "1710374400"),
     ("x_2024_03_14.csv", "2024_03_14"), ("on 2024_03_14.", "2024_03_14")],
)  # fmt: skip
def test_a_day_as_programs_write_it(text, found):
    assert [one for one, _ in told(text)] == [found]


@pytest.mark.parametrize(
    "text",
    ["datetime.date(2024, 3, 1)", "datetime.datetime(2024, 3, 1, 0, 0)", "Timestamp('2024-03-01 00:00:00')",
     "new Date(2024, 2, 1)", "new Date(2024, 12, 14)", "update(2024, 3, 14)", "date(2024, 3, 14.5)",
     '{"date":1709251200000}', "update: 1710374400", "date: 1710374400.5", "2024_03_01", "1_2024_03_14",
     "2024_03_14_7", "2024_3_14", "12024_03_14", "2024_13_14", "14_03_2024"],
)  # fmt: skip
def test_what_programs_write_and_is_no_day(text):
    assert told(text) == []


def test_underscores_in_the_name_of_a_file():
    for text in ("t_2024_03_14_7.txt", "14_03_2024.txt", "x_3_14_2024"):
        assert [days for _, days in told(text, any_compact=True)] == [(date(2024, 3, 14),)]
    assert told("t_2024_03_01.txt", any_compact=True) == []


def test_a_first_of_a_month_that_no_anonymising_writes():
    for text in ("01/03/2024", "1 March 2024", "2024-03-01T10:30", "2024-03-01 10:30:00", "2024/03/01"):
        assert len(told(text)) == 1


def test_both_readings_of_a_date_that_has_two():
    assert told("03/04/2024") == [("03/04/2024", (date(2024, 4, 3), date(2024, 3, 4)))]


def test_the_ends_of_the_calendar():
    for text, day in (("1900-01-02", date(1900, 1, 2)), ("2100-12-31", date(2100, 12, 31))):
        assert told(text) == [(text, (day,))]


def test_without_a_year_only_where_it_is_written_as_a_name():
    found = list(days_in("on 14 March and May 2, not 10 may", years=YEARS))
    assert [one.month_and_day for one in found] == [(3, 14), (5, 2)]
    assert [one.days for one in found] == [(), ()]


def test_several_days_in_words_side_by_side():
    found = list(days_in("12 May 14 March 2024; then March 14 and 3 June 2023", years=YEARS))
    assert [(one.month_and_day, one.days) for one in found] == [
        ((5, 12), ()),
        (None, (date(2024, 3, 14),)),
        ((3, 14), ()),
        (None, (date(2023, 6, 3),)),
    ]


def test_eight_digits_count_where_they_are_a_visit_day_or_a_name():
    assert told("20240314", known={date(2024, 3, 14)}) == [("20240314", (date(2024, 3, 14),))]
    assert told("20240315", known={date(2024, 3, 14)}) == []
    assert told("visits_20240315.csv", any_compact=True) == [("20240315", (date(2024, 3, 15),))]
    assert told("0.20240314", known={date(2024, 3, 14)}) == []


@pytest.mark.parametrize(
    ("cell", "day"),
    [("45365", date(2024, 3, 14)), ("45365.5", date(2024, 3, 14)), ("20240314", date(2024, 3, 14)),
     ("2024-074", date(2024, 3, 14)), ("1710374400", date(2024, 3, 14)), ("1710374400000", date(2024, 3, 14)),
     ("1710374400000000", date(2024, 3, 14)), ("1710374400000000000", date(2024, 3, 14)),
     ("1710410400.0", date(2024, 3, 14)), ("1.7103744e+12", date(2024, 3, 14)),
     ("1710374400123", date(2024, 3, 14)), ("1709287200", date(2024, 3, 1)),
     # midnight of 1 March 2024, and numbers of other lengths or of years too late
     ("1709251200", None), ("1709251200000", None), ("1709251200000000000", None), ("17103744000", None),
     ("1.710e+12", None), ("4102444800", None), ("0.1710374400", None), ("45352", None), ("20240301", None),
     ("2024-061", None),
     ("45", None), ("7.5", None), ("99999", None), ("2023-366", None), ("", None)],
)  # fmt: skip
def test_numbers_under_a_heading_for_dates(cell, day):
    """1,710,374,400 seconds after 1970 it was midnight of 14 March 2024 in Greenwich.

    Serial 45365 is 14 March 2024 in the 1900 system, and 74 the number of that day in its (leap) year.
    """
    assert day_of_heading(cell) == day
