"""What a map file may say, and what is refused."""

from __future__ import annotations

import pytest

from outcomes.errors import InputError
from outcomes.log.mapfile import read_map
from outcomes.log.meaning import Meaning


@pytest.fixture
def said(tmp_path):
    def write(text):
        (tmp_path / "map.toml").write_text(text, encoding="utf-8")
        return read_map(tmp_path / "map.toml")

    return write


def test_everything_that_a_map_may_say(said):
    found = said(
        """dates = "day-first"
visit_codes = "client and date"
sheet_names = "stylist"
[sheets]
"Sheet 1" = "visits"
Prices = ""
[visits]
"Guest" = "client"
"Dev vol." = "peroxide_pct in volume"
"20'" = "level at 20 minutes"
"Phone" = ""
[words.hair]
Blondiert = "lightened"
"""
    )
    assert (found.dates, found.visit_codes, found.sheet_names) == ("day-first", "client and date", "stylist")
    assert found.sheets == {"sheet 1": "visits", "prices": ""}
    assert found.declared("visits") == {
        "guest": Meaning("visits", "client"),
        "dev_vol": Meaning("visits", "peroxide_pct", unit="volume"),
        "20": Meaning("checks", "level", at=20.0),
        "phone": None,
    }
    assert found.declared("checks") == {}
    assert found.words == {"hair": {"blondiert": "lightened"}}


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ('visit = "x"', 'found "visit"; expected one of dates, visit_codes'),
        ('dates = "european"', 'dates: found "european"; expected "" or "day-first" or "month-first"'),
        ('dates = "?"', r'dates: found "\?"; expected'),
        ("visit_codes = 3", 'visit_codes: found "3"; expected'),
        ('sheet_names = "client"', 'sheet_names: found "client"; expected "" or "stylist" or "salon"'),
        ('[sheets]\nMay = "visit"', 'sheet May: found "visit"; expected "visits" or "checks"'),
        ('[visits]\nGuest = "guest"', '"Guest" of visits: found "guest"; expected a column of the log'),
        ('[visits]\nLvl = "?"', '"Lvl" of visits is still a question; write a column of the log'),
        ("[visits]\nLvl = 3", '"Lvl" of visits: found "3"; expected'),
        ('[visits]\nLvl = ""\nlvl = ""', '"lvl" stands twice among the headings of visits; keep one line'),
        ('visits = "x"', r"visits is no section; write \[visits\]"),
        ('[words]\nminutes = "x"', "words.minutes: found"),
        ('[words]\nhair = "x"', r"words.hair is no section; write \[words.hair\]"),
        ('[words.hair]\nx = "blond"', 'words.hair: x: found "blond"; expected "natural" or'),
        ('[words.hair]\nx = "?"', '"x" of hair is still a question; write one of natural, coloured'),
        ("= 3", "no map file"),
    ],
)
def test_what_a_map_can_not_say(said, text, told):
    with pytest.raises(InputError, match=told) as refused:
        said(text)
    assert "\n" not in str(refused.value)


def test_files_that_are_no_map(tmp_path):
    with pytest.raises(InputError, match="can't be read"):
        read_map(tmp_path / "nowhere.toml")
    with pytest.raises(InputError, match="can't be read"):
        read_map(tmp_path)
    (tmp_path / "big.toml").write_bytes(b"#" * (2**20 + 1))
    with pytest.raises(InputError, match="larger than 1 MB"):
        read_map(tmp_path / "big.toml")
    (tmp_path / "bytes.toml").write_bytes(b"\xff\xfe\x00")
    with pytest.raises(InputError, match="no map file"):
        read_map(tmp_path / "bytes.toml")
