"""Codes in text: whole and in any case; those that read like words only where a word tells."""

from __future__ import annotations

import pytest

from outcomes.protect.private.codes import make_code
from outcomes.protect.private.lookup import CodeIndex


def texts(found):
    return [(what, text) for _, what, text in found]


@pytest.mark.parametrize(
    "text",
    ["C001,", '"C001"', "client_C001", "C001.csv", "(c001)", "C001's", "x/C001/y", "[C001]", "C001",
     "a\nC001\nb"],
)  # fmt: skip
def test_a_whole_code(finds, text):
    found = texts(finds(text))
    assert [(what, code.upper()) for what, code in found] == [("client code", "C001")]


@pytest.mark.parametrize(
    "text",
    ["XC001", "C0013", "C001x", "1C001", "C0", "C00 1", "éC001", "abcC001def", "Roses", "JSON", "Mayor"],
)
def test_no_part_of_a_longer_word(finds, text):
    assert finds(text) == []


@pytest.mark.parametrize(
    "text",
    ["Mrs K 12", "mrs  k\n12", "Mrs_K_12", "mrs-k-12.html", "Mrs\u00a0K\u00a012", "ANNA\u2011LENA",
     "anna lena", "Anna\u00adlena"],
)  # fmt: skip
def test_a_code_of_several_parts(finds, text):
    assert [what for _, what, _ in finds(text)] == (["client code"] if text != "Anna\u00adlena" else [])


@pytest.mark.parametrize(
    "text", ["Mrs K 13", "Mrs K. Smith 12", "Mrs K, 12 visits", "Anna, Lena and", "K9", "K: 9"]
)
def test_not_the_parts_of_a_code_apart(finds, text):
    """A comma parts two things in a sentence; "Mrs K, 12" alone could be the code, and is taken for it."""
    found = texts(finds(text))
    assert found == ([("client code", "Mrs K, 12")] if "12 visits" in text else
                     [("client code", "Anna, Lena")] if "Lena" in text else [])  # fmt: skip


def test_the_longest_code_is_told_once(finds):
    assert texts(finds("Mrs K 12")) == [("client code", "Mrs K 12")]


@pytest.mark.parametrize(
    "text", ["12 visits", "in 7 sessions", "a strand", "ash tones", "you may go", "A", "level 12"]
)
def test_a_code_that_reads_like_ordinary_text_is_no_find(finds, text):
    assert finds(text) == []


@pytest.mark.parametrize(
    ("text", "found"),
    [("client 12", ["12"]), ("Client: 12", ["12"]), ("client #12", ["12"]), ('"client": "12"', ["12"]),
     ("client=12", ["12"]), ("client12", ["12"]), ("client no. 12", ["12"]), ("guest 12", ["12"]),
     ("stylist A", ["A"]), ("stylist[A]", ["A"]), ("stylists A, ash and May", ["A", "ash", "May"]),
     ("stylist a", []), ("stylist may", []), ("stylist May", ["May"]), ("stylist ash", ["ash"]),
     ("visit 7", ["7"]),
     ("visits 7", []), ("7 visits", []), ("client 12 %", []), ("client 12.5", []), ("client 120", []),
     ("clients 12", []), ("no client.\n12 more", []), ("clients: 12 by", []), ("salon 1", ["1"]),
     ("salon 7", [])],
)  # fmt: skip
def test_a_word_that_tells(finds, text, found):
    assert [code for _, _, code in finds(text)] == found


def test_a_number_that_is_a_code_is_no_part_of_a_decimal(finds):
    assert texts(finds("104523 x")) == [("client code", "104523")]
    assert texts(finds("104523.0,1")) == [("client code", "104523")]
    assert texts(finds("see 104523.")) == [("client code", "104523")]
    assert finds("0.104523 and 104523.5 and 1.104523") == []


def test_a_level_is_no_salon(finds):
    assert texts(finds("L7")) == [("salon code", "L7")]
    assert finds("L7.5") == []


def test_initials_count_as_they_are_written(finds):
    assert texts(finds("by JS")) == [("stylist code", "JS")]
    assert finds("script.js") == []


def test_columns_that_may_show(finds):
    text = "S1 and C001, stylist A"
    assert texts(finds(text, may_show=("stylist",))) == [("client code", "C001")]
    assert finds(text, may_show=("stylist", "client")) == []


PROGRAM = """
const S1 = 1, p1 = L7, s1 = "s1";  // drawn "M0 1 L7 2"
const path = "M0 1 L7 2 Q7 7 0";
draw(S1, `by S1`);
const team = ["P1"];
"""


def test_short_codes_in_programs_are_strings_or_comments(finds):
    assert finds(PROGRAM, "x.js") == [
        ("line 5, data: [0]", "product code", "P1"),
        ("line 2, character 51", "salon code", "L7"),
        ("line 4, character 14", "stylist code", "S1"),
    ]


def test_long_codes_in_programs_count_anywhere(finds):
    assert [code for _, _, code in finds("const C001 = V00002;", "x.js")] == ["C001", "V00002"]
    assert texts(finds('"\\u0043001"', "x.js")) == [("client code", "C001")]
    assert texts(finds("print('a\\nC001')", "x.py")) == [("client code", "C001")]
    assert texts(finds(r'x = "{\"client\": \"12\"}"', "x.js")) == [("client code", "12")]


def under_client(code, text):
    return [
        text[one.start : one.end] for one in CodeIndex([make_code(code, ("client",))]).under(text, "client")
    ]


@pytest.mark.parametrize(
    ("code", "text"),
    [("0815", "815"), ("0815", " 815.0"), ("0815", "0815"), ("0815", "00815"), ("000815", "815"),
     ("815", "0815"),
     ("000", "0"), ("12", "12.0"), ("0815", "+815,00")],
)  # fmt: skip
def test_zeros_before_a_number_that_is_a_code(code, text):
    assert under_client(code, text) == [text.strip()]


@pytest.mark.parametrize(
    ("code", "text"),
    [("0815", "8150"), ("0815", "815.5"), ("0815", "-815"), ("K0815", "815"), ("08-15", "815"), ("000", "")],
)
def test_other_numbers(code, text):
    assert under_client(code, text) == []
