"""The key file, pseudonyms, and the numbers that keep a client's visits in order."""

from __future__ import annotations

import hashlib
import hmac
import os
import re
import stat

import numpy as np
import pandas as pd
import pytest

import outcomes.protect.pseudonyms as module
from outcomes.errors import InputError
from outcomes.log.schema import columns
from outcomes.protect.pseudonyms import LETTERS, load_key, new_key, pseudonyms, save_key, visit_numbers
from tests.protect.small_logs import small_log

KEY, OTHER = bytes(range(32)), bytes(range(1, 33))


def test_a_key_is_written_for_its_owner_alone_and_read_again(tmp_path):
    place, key = tmp_path / "salon.key", new_key()
    old = os.umask(0)
    try:
        save_key(place, key)
    finally:
        os.umask(old)
    assert stat.S_IMODE(place.stat().st_mode) == 0o600
    assert place.read_text() == key.hex() + "\n"
    assert load_key(place) == key
    assert len(key) == 32
    assert new_key() != key


def test_a_key_never_replaces_anything(tmp_path):
    place = tmp_path / "salon.key"
    place.write_text("somebody's work")
    with pytest.raises(InputError, match="the key can't be written there"):
        save_key(place, KEY)
    assert place.read_text() == "somebody's work"
    (tmp_path / "link").symlink_to(tmp_path / "nowhere")
    with pytest.raises(InputError, match="can't be written"):
        save_key(tmp_path / "link", KEY)


@pytest.mark.parametrize("text", ["", "\n", "ab" * 31, "xy" * 32, "é" * 64, "ab" * 5000])
def test_what_is_no_key_is_refused_without_being_shown(tmp_path, text):
    place = tmp_path / "salon.key"
    place.write_text(text, encoding="utf-8")
    place.chmod(0o600)
    with pytest.raises(InputError, match="found no key in it; expected 64 hexadecimal digits") as told:
        load_key(place)
    assert "ab" * 5 not in str(told.value)


@pytest.mark.parametrize("mode", [0o640, 0o604, 0o620, 0o644])
def test_a_key_that_others_may_use_is_refused(tmp_path, mode):
    place = tmp_path / "salon.key"
    save_key(place, KEY)
    place.chmod(mode)
    with pytest.raises(InputError, match=r"others .* make it private first: chmod 600 ") as told:
        load_key(place)
    assert "\n" not in str(told.value)


def test_a_key_that_is_not_there_or_is_a_folder(tmp_path):
    with pytest.raises(InputError, match="can't be read"):
        load_key(tmp_path / "none")
    (tmp_path / "folder").mkdir(mode=0o700)
    with pytest.raises(InputError, match="found no key"):
        load_key(tmp_path / "folder")


def test_a_pseudonym_is_the_column_s_letter_and_the_hmac_of_column_and_code():
    """Worked out with the standard library alone."""
    codes = pd.Series(["C7", "=1+1", np.nan, "C7", "é ü"], dtype=object)
    found = pseudonyms(codes, KEY, "client")

    def one(code):
        return "c" + hmac.new(KEY, b"client\0" + code.encode(), hashlib.sha256).hexdigest()[:12]

    assert found.tolist()[:2] == [one("C7"), one("=1+1")]
    assert pd.isna(found[2])
    assert found.tolist()[3:] == [one("C7"), one("é ü")]
    assert found.map(type).eq(str).sum() == 4


def test_no_pseudonym_reads_as_a_number_or_a_formula():
    codes = pd.Series([f"C{i}" for i in range(5000)])
    for column, letter in LETTERS.items():
        found = pseudonyms(codes, KEY, column)
        assert found.is_unique
        assert found.str.fullmatch(letter + "[0-9a-f]{12}").all()
    assert len(set(LETTERS.values())) == 6
    assert set(LETTERS) == {c.name for c in columns("visits") if c.kind == "text"}


def test_columns_and_keys_have_nothing_in_common():
    codes = pd.Series([f"C{i}" for i in range(300)])
    sets = [
        set(pseudonyms(codes, key, column).str.slice(1))
        for key in (KEY, OTHER)
        for column in ("client", "stylist")
    ]
    assert len(set.union(*sets)) == 1200


def test_case_and_spaces_inside_tell_codes_apart():
    found = pseudonyms(pd.Series(["ab", "AB", "a b"]), KEY, "client")
    assert found.is_unique


def test_two_codes_with_one_pseudonym_are_refused(monkeypatch):
    monkeypatch.setattr(module, "HEX_DIGITS", 1)
    with pytest.raises(InputError, match="client: two of its 40 codes got the same pseudonym"):
        pseudonyms(pd.Series([f"C{i}" for i in range(40)]), KEY, "client")


def ordered(visits):
    """Visits of each client in their true order: day, then code, of which the log's count from V0 up."""
    number = visits["visit"].str.slice(1).astype(int)
    rows = visits.assign(number=number).sort_values(["client", "date", "number"]).drop_duplicates("visit")
    return rows


@pytest.mark.parametrize("seed", range(5))
def test_numbers_grow_within_a_client_as_the_visits_went(seed):
    visits = small_log(300, 20, seed).visits
    number = visit_numbers(visits, KEY)
    assert number.str.fullmatch("[0-9]{8}").all()
    assert number.groupby(visits["visit"]).nunique().max() == 1
    rows = ordered(visits)
    in_order = number[rows.index].astype(int)
    steps = in_order.groupby(rows["client"]).diff().dropna()
    assert len(steps) > 200
    assert (steps > 0).all()


def test_two_visits_of_one_month_and_of_one_day_keep_their_order():
    day = pd.to_datetime(["2024-05-20", "2024-05-03", "2024-05-20", "2024-06-01"])
    visits = pd.DataFrame(
        {"visit": list("cbad"), "client": "C1", "date": day, "start_level": [5.0, 4.0, 6.0, 8.0]}
    )
    number = dict(zip("cbad", visit_numbers(visits, KEY), strict=True))
    assert sorted("abcd", key=number.get) == ["b", "a", "c", "d"]
    assert [number[v][-2:] for v in "bacd"] == ["01", "02", "03", "01"]


@pytest.mark.parametrize(("period", "months"), [("month", 1), ("quarter", 3), ("year", 12)])
def test_a_number_says_no_more_of_when_than_the_period(period, months):
    """Visits moved about within their periods, in the same order: the same numbers."""
    visits = small_log(300, 20, 4).visits.sort_values(["client", "date"], kind="stable")
    visits = visits.drop_duplicates("visit").assign(visit=lambda v: [f"V{i:03}" for i in range(len(v))])
    of = (visits["date"].dt.year * 12 + visits["date"].dt.month - 1) // months
    first = pd.to_datetime((of * months // 12).astype(str) + "-" + (of * months % 12 + 1).astype(str) + "-01")
    together = visits.assign(date=first)
    pd.testing.assert_series_equal(visit_numbers(visits, KEY, period), visit_numbers(together, KEY, period))


def test_numbers_depend_on_nothing_but_the_client_s_month():
    """A quarter by itself, in another order, with other clients away: the same numbers."""
    visits = small_log(300, 20, 3).visits
    number = visit_numbers(visits, KEY)
    quarter = visits[visits["date"].dt.to_period("Q") == "2023Q4"].sample(frac=1.0, random_state=1)
    quarter = quarter[quarter["client"] != "C1"]
    assert len(quarter) > 30
    pd.testing.assert_series_equal(visit_numbers(quarter, KEY), number[quarter.index])


def test_numbers_say_little_of_when():
    """Clients begin anywhere, and months lie far or near apart, so a number names no month."""
    n = 2000
    first = pd.DataFrame(
        {
            "visit": [f"V{i}" for i in range(2 * n)],
            "client": [f"C{i % n}" for i in range(2 * n)],
            "date": pd.to_datetime(["2024-01-15"] * n + ["2024-12-15"] * n),
            "start_level": 4.0,
        }
    )
    number = visit_numbers(first, KEY).astype(int).to_numpy() // 100
    assert abs(np.corrcoef(number[:n], np.arange(n))[0, 1]) < 0.1
    away = number[n:] - number[:n]  # 11 months
    assert away.min() > 0
    # a year is 0.0005 of where clients begin, so an early and a late visit can't be told apart
    early = (number[n:, None] > number[None, :n]).mean()
    assert early == pytest.approx(0.5, abs=0.005)
    assert np.quantile(away, 0.9) > 1.8 * np.quantile(away, 0.1)


def test_visits_before_the_first_year_share_a_month_and_keep_their_order():
    visits = pd.DataFrame(
        {
            "visit": list("abc"),
            "client": "C1",
            "date": pd.to_datetime(["1999-12-01", "1985-01-01", "2000-02-01"]),
            "start_level": 4.0,
        }
    )
    a, b, c = visit_numbers(visits, KEY)
    assert b < a < c


def test_no_visits():
    empty = small_log(5, 2, 1).visits.iloc[:0]
    assert len(visit_numbers(empty, KEY)) == 0
    assert len(pseudonyms(empty["client"], KEY, "client")) == 0
    assert re.fullmatch("[a-z]", LETTERS["visit"])
