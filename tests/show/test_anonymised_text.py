"""The report on a log that may be handed on: every number in it, in lines of 80 columns."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pandas as pd
import pytest

from outcomes.calibration.moved import Moved
from outcomes.protect.anonymised import Anonymised, Change
from outcomes.protect.generalise import QUASI_IDENTIFIERS
from outcomes.show.anonymised_text import LIMITS, anonymised_text

WRITTEN = [Path("shared/visits.csv"), Path("shared/washes.csv")]
DONE = Anonymised(
    quasi_identifiers=QUASI_IDENTIFIERS,
    min_clients=5,
    clients_before=1,
    clients_after=6,
    rows_below=1_480,
    combinations=210,
    same_result=3,
    same_result_rows=17,
    period="quarter",
    changes=(
        Change("date", "first day of its quarter", 1_500, 1_500),
        Change("zone", "all", 0, 1_500),
        Change("start_level", "another level, with the result and all looks", 700, 1_500, 1.13, 3.5),
        Change("texture", "empty", 1_400, 1_400),
        Change("salon", "empty", 0, 1_500),
    ),
    rows={
        "visits": {"in": 1_510, "released": 1_500, "left_out": 10, "set_aside": 4},
        "checks": {"in": 0, "released": 0, "left_out": 0, "set_aside": 0},
        "washes": {"in": 90, "released": 90, "left_out": 0, "set_aside": 0},
    },
    kept_out=('visits.csv: column "remark" isn\'t part of a visit log and was kept out',),
)
NAN = float("nan")
TABLE = pd.DataFrame(
    [
        ("lift", "heat[low]", "ratio", 1.0971, 1.1021, 0.01, 0.4),
        ("lift", "peroxide", "value", 0.4196, 0.3, 0.01, -2.26),
        ("lift", "texture[fine]", "ratio", 1.083, NAN, 0.01, NAN),
        ("lift", "wrap[open]", "ratio", 1.083, 1.083, 0.01, -0.004),
        ("tone_left", "shampoo[plain]", "ratio", 0.8, 0.8, 0.01, 0.01),
    ],
    columns=["model", "term", "kind", "before", "after", "se", "moved"],
)
MOVED = Moved(TABLE, {"delta_e": "the colour was read for 0 clients"})


def report(**changes):
    return anonymised_text(replace(DONE, **changes), MOVED, WRITTEN, "salon.key", True)


def unwrapped(text):
    return " ".join(text.split())


def test_rows_and_files():
    text = report()
    assert text.startswith(
        "shared: visits.csv, washes.csv\nsalon.key: the key, made for its owner alone\n\n"
        "  visits  1,510 used = 1,500 leave + 10 left out; 4 set aside stay here\n"
        "  washes  90 used = 90 leave + 0 left out\n"
    )
    assert "left out: fewer than 5 clients share hair, zone and quarter" in text
    rows = {**DONE.rows, "visits": {"in": 9, "released": 9, "left_out": 0, "set_aside": 0}}
    assert "left out: fewer" not in report(rows=rows)
    assert "the key, as it was" in anonymised_text(DONE, MOVED, WRITTEN, "salon.key", False)


def test_clients():
    said = unwrapped(report())
    assert (
        "known: salon, month, zone, hair, texture, colour history, start level, goal level, product" in said
    )
    assert "before: 1 client at the least; 1,480 of 1,510 rows shared theirs with fewer than 5" in said
    assert "now: 6 clients at the least, in each of 210 combinations" in said
    assert "in 3 of them (17 rows) all rows have the same result: whoever knows" in said
    assert "in none of them do all rows have the same result" in unwrapped(report(same_result=0))


def test_changes():
    text = report()
    assert "  date         1,500 of 1,500   first day of its quarter\n" in text
    assert "  zone         none of 1,500    as it was\n" in text
    assert "  salon        none of 1,500    a pseudonym, as it's one for all\n" in text
    assert "  codes of visit, client, stylist and course: pseudonyms\n" in text
    assert "another level, with the result and all looks; 1.1 away on average, 3.5 at most" in unwrapped(text)
    assert 'column "remark" isn\'t part of a visit log' in unwrapped(text)


def test_estimates():
    text = report()
    gone = "not to be estimated any more: texture[fine]"
    assert f"lift: 2 of 3 terms by less than 1; furthest: peroxide, by 2.3; {gone}" in unwrapped(text)
    for line in (
        "                     before    after   moved",
        "    heat[low]      x  1.097    1.102    +0.4",
        "    peroxide          0.420    0.300    -2.3",
        "    texture[fine]  x  1.083        -       -",
        "    wrap[open]     x  1.083    1.083    +0.0",
    ):
        assert line in text.splitlines()
    assert "moved by 2 or more: with dates cut less finely (--period year), less changes" in unwrapped(text)
    assert "fade by share of tone left: none of 1 term moved" in text
    assert "fade by colour difference isn't compared: the colour was read for 0 clients" in text


def test_longer_periods_are_named_where_estimates_moved_by_two_or_more_and_there_are_any():
    assert "(--period quarter or year)" in unwrapped(report(period="month"))
    assert "--period" not in report(period="year")
    little = Moved(TABLE.assign(moved=TABLE["moved"] * 0.8), {})
    assert "--period" not in anonymised_text(DONE, little, WRITTEN, "salon.key", True)


@pytest.mark.parametrize("period", ["month", "quarter", "year"])
def test_lines_have_80_columns(period):
    text = report(period=period)
    assert max(map(len, text.splitlines())) <= 80
    assert all(limit in unwrapped(text) for limit in LIMITS)
