"""Where the headings stand: below titles, in one line or two."""

from __future__ import annotations

import pytest

from outcomes.errors import InputError
from outcomes.log.header import find_header
from outcomes.log.meaning import Meaning

CHECKS = ("visit", "minutes", "level")


def test_title_above_the_headings():
    assert find_header("checks", [["Our salon"], [], list(CHECKS), ["V1", "10", "5"]], "f") == (
        2,
        2,
        [*CHECKS],
    )


def test_no_headings_at_all():
    with pytest.raises(InputError, match="no row of headings"):
        find_header("checks", [["V1", "10", "5"]], "f")


def test_headings_of_two_lines():
    above = ["Visit", "Client", "Stylist", "Date", "Hair", "Level", "", "", "Developer", "Heat", "Time", ""]
    below = ["", "", "", "", "", "before", "goal", "after", "%", "", "min", "notes"]
    data = ["V1", "C1", "S1", "2024-03-01", "natural", "3", "8", "7", "6", "low", "45", "x"]
    first, last, heads = find_header("visits", [["Salon book"], above, below, data], "f")
    assert (first, last) == (1, 2)
    assert heads == ["Visit", "Client", "Stylist", "Date", "Hair", "Level before", "Level goal",
                     "Level after", "Developer %", "Heat", "Time min", "Time notes"]  # fmt: skip


def test_a_first_row_of_data_is_no_second_line_of_headings():
    data = ["V1", "20", "5"]
    assert find_header("checks", [list(CHECKS), data], "f") == (0, 0, [*CHECKS])
    # nor where the first visit's cells happen to read like headings
    assert find_header("checks", [["visit", "min", "lvl"], ["client", "20", "level"]], "f")[:2] == (0, 0)


def test_declared_headings_find_the_row_of_headings():
    foreign = ["Kundin", "Termin", "Stufe"]
    declared = {"termin": Meaning("checks", "visit"), "stufe": Meaning("checks", "level")}
    assert find_header("checks", [["Buch"], foreign, ["x", "1", "5"]], "f", declared) == (1, 1, foreign)
    with pytest.raises(InputError, match="no row of headings"):
        find_header("checks", [["Buch"], foreign], "f")
    assert find_header("checks", [["Buch"], foreign, ["1", "2", "3"]], "f", lenient=True) == (1, 1, foreign)
