"""No text that we write runs as a formula, and what was made harmless reads as it was meant."""

from __future__ import annotations

import pandas as pd
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from outcomes.log.harmless import as_meant, harmless, write_rows

PARTS = ["=", "+", "-", "@", "\uff1d", "\uff20", "'", ";", "\t", "\r", "\n", " ", "\xa0", "1", "x", ",", '"']


@pytest.mark.parametrize(
    ("text", "written"),
    [
        ("=1", "'=1"),
        ("+x", "'+x"),
        ("-x", "'-x"),
        ("@x", "'@x"),
        ("\tx", "'\tx"),
        (" =1", "' =1"),
        ("\uff1d1", "'\uff1d1"),
        ("-5", "-5"),  # numbers run as nothing
        ("+1.5", "+1.5"),
        ("-5+1", "'-5+1"),
        ("x=1", "x=1"),
        ("", ""),
        ("a;=1", "a;'=1"),
        ("a; @x;-y", "a; '@x;'-y"),
        ("a\n=1", "a\n'=1"),
    ],
)
def test_harmless(text, written):
    assert harmless(pd.Series([text])).tolist() == [written]
    assert as_meant(pd.Series([written])).tolist() == [text]


@settings(max_examples=400, deadline=None, derandomize=True)
@given(st.lists(st.sampled_from(PARTS), max_size=8).map("".join))
@example("-1;=1")
def test_no_cell_runs_whatever_parts_them_and_nothing_is_lost(text):
    once = harmless(pd.Series([text], dtype=object))
    assert harmless(once).tolist() == once.tolist()
    written = once[0]
    pieces = [written]
    for mark in (";", "\t", "\r", "\n"):
        pieces = [piece for whole in pieces for piece in whole.split(mark)]
    for piece in pieces:
        begins = piece.strip(" \xa0")[:1]
        if begins and begins in "=+-@\uff1d\uff0b\uff0d\uff20":
            float(piece)  # a number
    # what reading never meets after its first time through: an apostrophe before a sign
    read = as_meant(pd.Series([text], dtype=object))
    while as_meant(read)[0] != read[0]:
        read = as_meant(read)
    assert as_meant(harmless(read)).tolist() == read.tolist()


def test_every_text_column_whatever_it_is_called(tmp_path):
    rows = pd.DataFrame(
        {
            "group": pd.Categorical(["=A1", "S2"]),
            "n": [1, -2],
            "mixed": pd.Series(["@x", -3.5], dtype=object),
            "empty": pd.Series([None, float("nan")], dtype=object),
            "said": pd.array(["+x", None], dtype="string"),
        }
    )
    write_rows(rows, tmp_path / "rows.csv")
    assert (tmp_path / "rows.csv").read_text(encoding="utf-8").splitlines() == [
        "group,n,mixed,empty,said",
        "'=A1,1,'@x,,'+x",
        "S2,-2,-3.5,,",
    ]
