"""Text is broken where it would pass its width, and what is stacked lies below what came before."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from outcomes.show.figures.picture import look
from outcomes.show.figures.stack import KEPT, WIDTH, Stack, broken

LETTER = 1.0


def _measured(line):
    return LETTER * len(line)


@given(
    words=st.lists(st.text("abc9", min_size=1, max_size=9), min_size=1, max_size=30), width=st.integers(9, 40)
)
def test_every_word_is_kept_and_no_line_is_too_wide(words, width):
    lines = broken(" ".join(words), width, _measured)
    assert " ".join(lines).split() == words
    assert max(map(len, lines)) <= width


def test_a_word_wider_than_a_line_is_cut():
    assert broken("see " + "x" * 25, 10, _measured) == ["see", "x" * 10, "x" * 10, "x" * 5]


def test_numbers_keep_their_unit_and_joined_words_their_neighbour():
    assert broken("aaaa 6 % bbbb", 8, _measured) == ["aaaa 6 %", "bbbb"]
    assert broken("aaaaa 6 % bbb", 7, _measured) == ["aaaaa", "6 % bbb"]
    assert broken(f"level 3, low{KEPT}heat", 12, _measured) == ["level 3,", "low heat"]


def test_no_word_is_left_alone_on_the_last_line():
    assert broken("aaaa bbbb cccc dddd eeee", 19, _measured) == ["aaaa bbbb cccc", "dddd eeee"]


@pytest.mark.parametrize("lines", [1, 2, 7])
def test_blocks_follow_one_another_however_long_they_are(lines):
    with look(WIDTH, 1.0) as figure:
        stack = Stack(figure)
        stack.text("\n".join(["first"] * lines), fontsize=12)
        axes = stack.axes(0.8, left=0.3, right=0.4, gap=0.1)
        stack.text("last", gap=0.2)
        stack.close()
    first, last = (text.get_window_extent() for text in figure.texts)
    box, inch = axes.get_window_extent(), figure.dpi
    assert first.y0 - box.y1 == pytest.approx(0.1 * inch, abs=1.5)
    assert box.height == pytest.approx(0.8 * inch)
    assert box.width == pytest.approx((WIDTH - 0.36 - 0.7) * inch)
    assert box.y0 - last.y1 == pytest.approx(0.2 * inch, abs=1.5)
    assert last.y0 > 0
    assert first.y1 < figure.bbox.height


def test_a_dollar_sign_begins_no_formula():
    with look(WIDTH, 1.0) as figure:
        Stack(figure).text("stylist $A$ and $B")
    figure.canvas.draw()
    assert figure.texts[0].get_text() == "stylist $A$ and $B"
