"""Dates in files: what is read, what is a fault, and what is never guessed."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from outcomes.errors import InputError
from outcomes.log.cells import read_cells
from outcomes.log.dates import read_dates, two_readings
from outcomes.log.schema import column


def days(*texts: str) -> list[str]:
    return [str(day)[:10] for day in read_dates(pd.Series(texts, dtype=object)).days]


def codes(*texts: str) -> list[str]:
    return list(read_dates(pd.Series(texts, dtype=object)).codes)


def test_time_of_day_is_dropped():
    assert days("2024-02-29 12:30", "2024-02-29T23:59:59", "45351.75") == ["2024-02-29"] * 3


def test_month_first_where_a_date_settles_it():
    assert days("07/13/2024", "03/04/2024") == ["2024-07-13", "2024-03-04"]


def test_dots_and_dashes_follow_the_same_rule():
    assert days("13.07.2024", "3.4.2024", "1-2-2024") == ["2024-07-13", "2024-04-03", "2024-02-01"]


def test_same_day_and_month_needs_no_settling():
    assert days("03/03/2024") == ["2024-03-03"]


def test_unsettled_order_refuses_with_both_readings():
    cells = pd.Categorical(["03/04/2024"])
    with pytest.raises(InputError, match=r"2024-04-03 \(day first\) or 2024-03-04 \(month first\)"):
        read_cells(column("visits", "date"), cells)


def test_days_that_never_were():
    assert (
        codes("2023-02-29", "2024-02-30", "20241301", "2023-366", "2021-W53-1", "32/01/2024")
        == ["no_such_date"] * 6
    )


def test_not_dates():
    assert codes("2024", "24/07/13", "2024-2-9", "March", "1234567", "13/07.2024") == ["unreadable"] * 6


def test_serials_are_days_from_1990_to_2099():
    assert days("32874", "73050", "45351,5", "45351.75") == [
        "1990-01-01", "2099-12-31", "2024-02-29", "2024-02-29",
    ]  # fmt: skip
    assert (
        codes("32873", "73051", "12.05", "14", "3,24", "45", "0", "60", "1999", "4535.1")
        == ["unreadable"] * 10
    )


def test_serials_of_the_other_system_are_the_same_days():
    texts = pd.Series(["31411", "31412", "71588", "71589"], dtype=object)
    assert [str(day)[:10] for day in read_dates(texts, 1904).days] == [
        "NaT",
        "1990-01-01",
        "2099-12-31",
        "NaT",
    ]


def test_a_small_number_among_dates_settles_nothing():
    """It is no date of 1900, and no sure one beside which others are merely in doubt."""
    read = read_dates(pd.Series(["12.05", "03/04/2024"], dtype=object))
    assert list(read.codes) == ["unreadable", ""]
    assert read.unsettled == "03/04/2024"


def test_a_contradiction_is_a_fault_of_every_slashed_date():
    read = read_dates(pd.Series(["13/07/2024", "07/13/2024", "2024-01-01"], dtype=object))
    assert list(read.codes) == ["date_order", "date_order", ""]
    assert (read.day_first, read.month_first) == ("13/07/2024", "07/13/2024")
    assert list(np.isnat(read.days)) == [True, True, False]


def test_a_date_in_doubt_beside_one_that_is_read_without():
    assert codes("2024-01-01", "03/04/2024", "5.6.2024", "nonsense") == [
        "", "date_unsettled", "date_unsettled", "unreadable",
    ]  # fmt: skip
    assert days("2024-01-01", "03/04/2024") == ["2024-01-01", "NaT"]


def test_nothing_read_without_doubt_leaves_the_column_unsettled():
    read = read_dates(pd.Series(["nonsense", "2024-02-30", "03/04/2024"], dtype=object))
    assert read.unsettled == "03/04/2024"


def test_a_day_that_equals_its_month_settles_nothing_for_others():
    read = read_dates(pd.Series(["03/04/2026", "05/06/2026", "07/07/2026"], dtype=object))
    assert read.unsettled == "03/04/2026"
    assert days("13/04/2026", "03/04/2026", "07/07/2026") == ["2026-04-13", "2026-04-03", "2026-07-07"]


def test_beside_dates_that_are_read_such_a_day_is_read_too():
    assert codes("2026-01-01", "03/04/2026", "07/07/2026") == ["", "date_unsettled", ""]


def test_year_first_is_month_then_day():
    assert days("2026/01/13", "2026.01.13", "2026/1/3", "2026/01/13 09:30") == [
        "2026-01-13", "2026-01-13", "2026-01-03", "2026-01-13",
    ]  # fmt: skip
    assert codes("2026/13/01", "2026/01.13", "2026/13") == ["no_such_date", "unreadable", "unreadable"]


def test_months_by_name():
    written = (
        "13-Jan-26",
        "13 Jan 2026",
        "13. Januar 2026",
        "13 janvier 2026",
        "13JAN2026",
        "January 13, 2026",
    )
    assert days(*written, "13 janv. 26") == ["2026-01-13"] * 7
    assert days("1er août 2026", "2. März 2026", "3 Mrz 26", "4 Dez. 2026", "5 déc. 2026") == [
        "2026-08-01", "2026-03-02", "2026-03-03", "2026-12-04", "2026-12-05",
    ]  # fmt: skip
    assert codes("31 Feb 2026", "13 Foo 2026", "Jan 2026", "Jan 13 26", "13 Jan", "13 Jan 0026") == [
        "no_such_date", *["unreadable"] * 4, "no_such_date",
    ]  # fmt: skip


def test_a_year_of_two_digits_behind_dots():
    assert days("13.01.26", "3.4.26") == ["2026-01-13", "2026-04-03"]
    assert read_dates(pd.Series(["03.04.26", "07.07.26"], dtype=object)).unsettled == "03.04.26"
    assert days("13-01-26") == ["NaT"]


def test_a_year_of_two_digits_where_other_dates_have_it_last():
    assert days("03/04/2026", "13/07/26") == ["2026-04-03", "2026-07-13"]
    assert days("13.07.26", "03/04/26") == ["2026-07-13", "2026-04-03"]
    assert days("07/13/26", "03/04/26") == ["2026-07-13", "2026-03-04"]
    assert codes("03/04/2026", "31/02/26", "13/04/2026") == ["", "no_such_date", ""]


def test_a_year_of_two_digits_that_may_be_the_first_number():
    """Nothing says that 13/07/26 isn't a day of July 2013."""
    assert read_dates(pd.Series(["13/07/26", "03/04/26"], dtype=object)).unsettled == "13/07/26"
    assert codes("2026-01-01", "13/07/26") == ["", "date_unsettled"]
    assert codes("2026/01/13", "13/07/2026", "13/07/26") == ["", "", "date_unsettled"]
    assert two_readings("13/07/26") == "2026-07-13 (day first) or 2013-07-26 (year first)"
    assert two_readings("03/04/26") == (
        "2026-04-03 (day first), 2026-03-04 (month first) or 2003-04-26 (year first)"
    )
    texts = pd.Series(["13/07/26", "03/04/26"], dtype=object)
    assert [str(day)[:10] for day in read_dates(texts, order="day-first").days] == [
        "2026-07-13",
        "2026-04-03",
    ]


def test_other_forms_of_a_date_are_repairs():
    texts = ["2026-01-13", "2026/01/13", "13.01.26", "13-Jan-26", "13/01/2026"]
    read = read_cells(column("visits", "date"), pd.Categorical(texts, categories=texts))
    assert list(read.rules) == ["", "date_form", "short_year", "month_name", "slashed_date"]
    assert list(read.shown)[1:] == ["2026-01-13"] * 4
