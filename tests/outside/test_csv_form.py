"""CSV as RFC 4180 (2005), section 2, describes it.

1 and 2: records end with a line break, the last may go without. 4: every record has the same number of fields
(spaces belong to a field there; here a code's outer spaces are taken off). 5 to 7: a quoted field may hold
commas, line breaks and doubled quotes.
"""

from __future__ import annotations

import pytest

from outcomes.log.read import read_log

NAMES = "visit,client,stylist,date,hair,start_level,goal_level,peroxide_pct,heat,minutes,achieved_level,stop"
REST = ",S1,2024-03-14,natural,4,8,6,low,45,7.5,time"


def read(tmp_path, lines, end="\r\n", last=True):
    text = end.join(lines) + (end if last else "")
    (tmp_path / "visits.csv").write_bytes(text.encode())
    return read_log(tmp_path)


@pytest.mark.parametrize("end", ["\r\n", "\n", "\r"])
@pytest.mark.parametrize("last", [True, False])
def test_line_breaks(tmp_path, end, last):
    log = read(tmp_path, [NAMES, "V1,C1" + REST, "V2,C2" + REST], end, last)
    assert list(log.visits["visit"]) == ["V1", "V2"]
    assert list(log.visits["stop"]) == ["time", "time"]


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ('"C,1"', "C,1"),
        ('"a ""b"""', 'a "b"'),
        ('"two\r\nlines"', "two\r\nlines"),
        ('"C1"', "C1"),
        ('6" foil', '6" foil'),
    ],
)
def test_quoted_fields(tmp_path, field, value):
    log = read(tmp_path, [NAMES, f"V1,{field}{REST}", "V2,C2" + REST])
    assert list(log.visits["client"]) == [value, "C2"]


@pytest.mark.parametrize("row", ["V2,C2", "V2,C2" + REST + ",more", "V2,C2" + REST + ","])
@pytest.mark.parametrize("quote", ["", '"'])
def test_a_short_or_long_row_is_a_fault_not_padding(tmp_path, row, quote):
    log = read(tmp_path, [NAMES, f"{quote}V1{quote},C1{REST}", row])
    assert list(log.faults["code"]) == ["fields"]
    assert list(log.faults["row"]) == [3]
    assert log.counts["visits"] == {"in": 2, "used": 1, "set_aside": 1}
