"""Values of JSON as pieces with their paths and the headings that keys are."""

from __future__ import annotations

import json

import pytest

from outcomes.protect.contents.encoded import without_data
from outcomes.protect.contents.pieces import Unseen, parse_json, path_text, pieces_of_values
from outcomes.protect.private.codes import heading_of


def pieces(value, **more):
    return [
        (path_text(p.place), p.text, p.under) for p in pieces_of_values(parse_json(json.dumps(value)), **more)
    ]


def values(value):
    return [piece for piece in pieces(value) if not piece[0].endswith(" (the key)")]


def test_places_are_paths():
    told = pieces({"summary": {"list": ["a", "b"], "odd key": [{"x": "c"}]}})
    assert ("summary.list[1]", "b", "") in told
    assert ('summary["odd key"][0].x', "c", "") in told
    assert ("summary.list (the key)", "list", "") in told
    assert pieces(["a"]) == [("[0]", "a", "")]
    assert pieces("a", place="line 3: ") == [("line 3: ", "a", "")]
    assert values([["a"]])[0][0] == "[0][0]"


@pytest.mark.parametrize(
    ("value", "told"),
    [({"client": "12"}, [("client", "12", "client")]), ({"client": 12}, [("client", "12", "client")]),
     ({"client": 12.0}, [("client", "12", "client")]), ({"client": 0.14}, []),
     ({"client": [12, "13"]}, [("client[0]", "12", "client"), ("client[1]", "13", "client")]),
     ({"clients": ["12"]}, [("clients[0]", "12", "client")]), ({"clients": 12}, []), ({"clients": [12]}, []),
     ({"visits": {"client": 5, "n": 5}}, [("visits.client", "5", "client")]),
     ({"stylist": {"A": 0.1, "B": {"n": 7}}}, []), ({"minutes": 123456}, [("minutes", "123456", "")]),
     ({"minutes": 45}, []), ({"client": True}, []), ({"client": None}, []),
     # the key above, or beside, says what the values are
     ({"stylists": {"codes": ["A", "B"], "n": [1, 2]}},
      [("stylists.codes[0]", "A", "stylist"), ("stylists.codes[1]", "B", "stylist")]),
     ({"by": "stylist", "name": "A", "of": "x"}, [("by", "stylist", ""), ("name", "A", "stylist"), ("of",
     "x", "")]),
     ({"stylist": {"value": 0.5, "n": 7}}, []), ({"name": "A"}, [("name", "A", "")]),
     # a table as its columns, and as headings with rows
     ({"client": {"0": "12", "1": 13}}, [('client["0"]', "12", "client"), ('client["1"]', "13", "client")]),
     ({"columns": ["client", "n"], "data": [[12, 5], [13, 6]]},
      [("columns[0]", "client", ""), ("columns[1]", "n", ""),
       ("data[0][0]", "12", "client"), ("data[1][0]", "13", "client")]),
     ({"columns": ["client", "n"], "rows": [[12, 5]]},
      [("columns[0]", "client", ""), ("columns[1]", "n", ""), ("rows[0][0]", "12", "client")]),
     # the first row of a list holds the headings of the others
     ([["client", "n"], [12, 5], ["13", 0.5]],
      [("[0][0]", "client", ""), ("[0][1]", "n", ""), ("[1][0]", "12", "client"),
       ("[2][0]", "13", "client")]),
     ([["client", "n"], [12]], [("[0][0]", "client", ""), ("[0][1]", "n", "")]),
     ([["a", "n"], [12, 5]], [("[0][0]", "a", ""), ("[0][1]", "n", "")]),
     # days of some rows of a table, as to_json writes them
     ({"date": {"3": 1710374400000}}, [('date["3"]', "1710374400000", "date")]),
     ({"dates": [1710374400000]}, [("dates[0]", "1710374400000", "date")]), ({"dates": 12}, []),
     ({"date": {"count": 45365}}, [])],
)  # fmt: skip
def test_which_heading_a_value_stands_under(value, told):
    assert values(value) == told


def test_keys_under_a_heading_are_what_it_says():
    told = pieces({"stylist": {"A": 0.1}})
    assert ("stylist.A (the key)", "A", "stylist") in told
    assert ("stylist (the key)", "stylist", "") in told


def test_keys_under_a_plural_are_names_but_not_numbers():
    """{"visits": {"1": 30}} counts clients with one visit."""
    assert ("stylists.A (the key)", "A", "stylist") in pieces({"stylists": {"A": {"n": 1}}})
    assert ("visits.1 (the key)", "1", "") in [
        (a.replace('["1"]', ".1"), b, c) for a, b, c in pieces({"visits": {"1": 30}})
    ]


@pytest.mark.parametrize(
    ("value", "is_code"),
    [({"clients": {"17": 0.3}}, True), ({"clients": {"17": {"n": 5}, "18": {"n": 6}}}, True),
     ({"clients": {"17": 5, "23": 4}}, True), ({"client_effects": {"17": 0.3, "a": 0.1}}, True),
     ({"effects_by_client": {"17": 0.3}}, True), ({"effectsByClient": {"17": 3}}, True),
     ({"visits_per_client": {"17": 30}}, True), ({"client": {"17": 0.3}}, True),
     # counts, arrays written as objects, and words that only hold a column's name
     ({"clients": {"1": 30, "2": 12, "3": 4}}, False), ({"visits": {"17": 30}}, False),
     ({"visits_per_client": {"1": 30, "2": 12}}, False), ({"client_effects": {"0": 0.3, "1": 0.1}}, False),
     ({"clientele": {"17": 0.3}}, False), ({"effects": {"17": 0.3}}, False), ({"clients": 17}, False)],
)  # fmt: skip
def test_keys_that_are_numbers(value, is_code):
    """Where a key names a column in the plural, or among its words."""
    told = [under for _, text, under in pieces(value) if text in ("17", "1") and under]
    assert [*{heading_of(under) for under in told}] == (["client"] if is_code else [])


def test_lists_of_numbers_that_are_codes():
    assert values({"client_ids": [17, "18"]}) == [
        ("client_ids[0]", "17", "client_id"), ("client_ids[1]", "18", "client_id")]  # fmt: skip
    assert values({"clients": {"0": "17", "1": "18"}}) == [
        ('clients["0"]', "17", "client"), ('clients["1"]', "18", "client")]  # fmt: skip
    assert values({"client_effects": {"a": 17}}) == []


def test_a_key_that_stands_twice_hides_nothing():
    told = [p.text for p in pieces_of_values(parse_json('{"a": "C001", "a": "x"}'))]
    assert told.count("C001") == 1


def test_deep_nesting_is_refused_or_read():
    assert len(list(pieces_of_values(parse_json("[" * 500 + '"x"' + "]" * 500)))) == 1
    with pytest.raises(ValueError, match="deeply"):
        parse_json("[" * 100_000 + "]" * 100_000)


PNG = "iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAYAAAAfFcSJAAAADUlEQVR42mNk"


def test_encoded_pictures_are_counted_and_leave_no_text():
    unseen = Unseen()
    text, inner = without_data(f'a\n<img src="data:image/png;base64,{PNG}"> b', unseen)
    assert PNG not in text
    assert text.startswith('a\n<img src="')
    assert text.endswith('"> b')
    assert (unseen.pictures, unseen.encoded, inner) == (1, 0, [])


def test_encoded_text_is_read():
    """aGVsbG8gQzAwMQ== is "hello C001" in base64."""
    unseen = Unseen()
    _, inner = without_data("x data:text/csv;base64,aGVsbG8gQzAwMQ== y", unseen)
    assert inner == [(2, "text/csv", "hello C001")]
    _, inner = without_data("data:text/plain,hello%20C001 y", unseen)
    assert inner == [(0, "text/plain", "hello C001")]
    assert (unseen.pictures, unseen.encoded) == (0, 0)


def test_long_runs_are_data_only_where_nothing_else_reads_so():
    unseen = Unseen()
    word = "x" * 300
    assert without_data(word, unseen)[0] == word
    assert unseen.encoded == 0
    packed = "q+/8" * 100
    assert without_data(f"a {packed} b", unseen)[0] == f"a {' ' * 400} b"
    assert unseen.encoded == 1
