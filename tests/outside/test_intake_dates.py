"""Dates against values that others made.

Excel serial dates: what openpyxl 3.1 (its `from_excel`) gives for the 1900 and the 1904 system, and the day
that never was, serial 60, which the 1900 system counts as 29 February 1900 (openpyxl maps 59 and 60 to one).
ISO 8601: Python's `date.fromisoformat` for calendar and week dates; the ordinal form by the calendar.
"""

from __future__ import annotations

from datetime import date

import numpy as np
import pandas as pd
import pytest
from openpyxl.utils.datetime import MAC_EPOCH, from_excel

from outcomes.log.dates import read_dates, serial_days

SERIALS = [
    (1, "1900-01-01"), (59, "1900-02-28"), (61, "1900-03-01"), (25569, "1970-01-01"), (43831, "2020-01-01"),
    (45292, "2024-01-01"), (45351, "2024-02-29"), (45352, "2024-03-01"), (45292.5, "2024-01-01"),
]  # fmt: skip


@pytest.mark.parametrize(("serial", "day"), SERIALS)
def test_serials_of_the_1900_system(serial, day):
    assert str(serial_days(np.array([serial]))[0])[:10] == day
    assert from_excel(serial).date().isoformat() == day


def test_serial_60_never_was():
    assert np.isnat(serial_days(np.array([60.0]))[0])
    # and as a bare number it is no date of a salon's log either
    assert list(read_dates(pd.Series(["60"], dtype=object)).codes) == ["unreadable"]


def test_serials_of_the_1904_system():
    assert str(serial_days(np.array([43830.0]), 1904)[0])[:10] == "2024-01-01"
    assert from_excel(43830, epoch=MAC_EPOCH).date() == date(2024, 1, 1)


def test_every_serial_from_61_to_2100_agrees_with_openpyxl():
    serials = np.arange(61, 73_051, 97)
    ours = [str(day)[:10] for day in serial_days(serials)]
    assert ours == [from_excel(int(serial)).date().isoformat() for serial in serials]


def test_iso_forms_of_one_day():
    texts = pd.Series(["2024-02-29", "20240229", "2024-W09-4", "2024W094", "2024-060"], dtype=object)
    assert [str(day)[:10] for day in read_dates(texts).days] == ["2024-02-29"] * 5


def test_week_dates_agree_with_python_over_the_turn_of_29_years():
    texts = [
        f"{year}-W{week:02d}-{day}" for year in range(2000, 2029) for week in (1, 52, 53) for day in (1, 5, 7)
    ]
    ours = read_dates(pd.Series(texts, dtype=object))
    for text, day, code in zip(texts, ours.days, ours.codes, strict=True):
        try:
            assert str(day)[:10] == date.fromisoformat(text).isoformat()
        except ValueError:
            assert code == "no_such_date"


def test_2020_week_53_friday():
    assert str(read_dates(pd.Series(["2020-W53-5"], dtype=object)).days[0])[:10] == "2021-01-01"


@pytest.mark.parametrize("text", ["2023-02-29", "2024-02-30", "2024-2-9"])
def test_what_is_no_iso_day_is_a_fault(text):
    with pytest.raises(ValueError, match=r"."):
        date.fromisoformat(text)
    assert read_dates(pd.Series([text], dtype=object)).codes[0] in ("no_such_date", "unreadable")
