"""Codes of any kind become short names that can be drawn and told apart."""

import unicodedata

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from outcomes.show.figures.codes import drawn_codes, told_codes
from outcomes.show.figures.picture import look
from tests.show.figures.reviews import HOSTILE


def test_usual_codes_stay_as_they_are():
    codes = ["S01", "stylist-2", "A & B", "$x$", "Ünal"]
    assert drawn_codes(codes) == told_codes(codes) == {code: code for code in codes}


@pytest.mark.parametrize(
    ("code", "drawn"),
    [
        ("two\nlines\r\n\tmore", "two lines more"),
        ("a code of twenty-two xy", "a code of twe…"),
        ("W" * 200, "WWWWWWW…"),
        ("i" * 200, "iiiiiiiiiiiii…"),
        ("", "□"),
        ("\x00\x1b[0m", "□□[0m"),
        ("\N{RIGHT-TO-LEFT OVERRIDE}S1", "□S1"),
        ("日本", "□□"),
        ("e" + 9 * "\N{COMBINING ACUTE ACCENT}", "é" + 2 * "\N{COMBINING ACUTE ACCENT}"),
    ],
)
def test_codes_are_on_one_line_short_and_in_the_font(code, drawn):
    assert drawn_codes([code]) == {code: drawn}


def test_codes_that_would_look_alike_are_numbered():
    codes = ["a stylist with a long code, 1", "a stylist with a long code, 2", "日本", "中国"]
    assert list(drawn_codes(codes).values()) == ["a stylist wit…", "a stylist… (2)", "□□", "□□ (2)"]


def test_words_keep_letters_that_the_font_lacks_and_the_order_of_numbers():
    assert told_codes(["日本"]) == {"日本": "日本"}
    # Unicode annex 9: an isolate's letters don't turn the numbers after it around
    assert told_codes(["שלום"]) == {"שלום": "\u2068שלום\u2069"}


@given(st.lists(st.text(max_size=40), unique=True, max_size=8))
@settings(deadline=None, max_examples=150)
def test_names_are_told_apart_whatever_the_codes(codes):
    for names in (drawn_codes(codes), told_codes(codes)):
        assert list(names) == codes
        assert len(set(names.values())) == len(codes)
        for name in names.values():
            kept = name.strip("\u2068\u2069")
            assert 1 <= len(kept) <= 14
            assert "\n" not in kept
            # nothing that an XML file can't hold, and no control of direction
            assert not any(unicodedata.category(one) in ("Cc", "Cf", "Cs", "Cn") for one in kept)


@pytest.mark.filterwarnings("error")  # of letters that the font lacks
def test_hostile_codes_are_drawn_no_wider_than_others():
    with look(4.6, 1.0) as figure:
        for name in drawn_codes(HOSTILE).values():
            text = figure.text(0, 0, name, fontsize=9, parse_math=False)
            # 14 letters of 0.6 em
            assert text.get_window_extent().width <= (14 * 0.6 + 0.3) * 9 * figure.dpi / 72
        figure.canvas.draw()
