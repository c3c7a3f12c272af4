"""Rows that sum up others, and rows of several sheets below each other."""

from __future__ import annotations

import pytest

from outcomes.log.read import read_log


@pytest.mark.parametrize("word", ["Total", "total:", "Average", "Grand total", "Mean lift", "SUM"])
def test_a_row_that_sums_up_others_is_set_aside_with_that_reason(folder, visit, word):
    empty = dict.fromkeys(visit(), "")
    log = read_log(folder(visits=[visit(), empty | {"client": word, "minutes": "45"}]))
    assert log.faults[["row", "found", "code"]].to_numpy().tolist() == [[3, word, "summary"]]
    assert log.counts["visits"] == {"in": 2, "used": 1, "set_aside": 1}


def test_a_client_of_that_name_is_a_client(folder, visit):
    log = read_log(folder(visits=[visit(client="Total")]))
    assert log.counts["visits"]["used"] == 1
    half = visit() | dict.fromkeys(["date", "hair", "stop"], "")
    log = read_log(folder(visits=[visit(), half | {"client": "total"}]))
    assert "summary" not in set(log.faults["code"])


def test_numbers_are_no_such_words(folder, visit):
    empty = dict.fromkeys(visit(), "")
    log = read_log(folder(visits=[visit(), empty | {"minutes": "45"}, empty | {"client": "Count 3 visits"}]))
    assert "summary" not in set(log.faults["code"])
