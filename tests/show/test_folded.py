"""Text no wider than a terminal."""

from __future__ import annotations

from outcomes.show.folded import WIDTH, folded


def test_lines_fit_and_say_the_same():
    text = "hair " * 60 + "end"
    lines = folded(text, 2, 4)
    assert max(map(len, lines)) <= WIDTH == 80
    assert " ".join(" ".join(lines).split()) == text
    assert lines[0].startswith("  hair")
    assert all(line[:6] == " " * 6 and line[6] != " " for line in lines[1:])


def test_words_stay_whole_however_long():
    assert folded("x" * 100) == ["x" * 100]
    assert folded("well-known " * 10, hang=0)[0].endswith("well-known")
    assert folded("") == []
