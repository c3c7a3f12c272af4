"""Quotes that stray: every physical line of data is counted, and honest cells of several lines stay whole."""

from __future__ import annotations

import csv

import numpy as np
import pytest

from outcomes.log import records
from outcomes.log.read import read_log
from outcomes.log.records import read_records

HEAD = "visit,client,stylist,date,hair,start_level,goal_level,peroxide_pct,heat,minutes,achieved_level,stop"


def lines(n, first=1):
    return [f"V{i},C{i},S1,2024-03-14,natural,4,8,6,low,45,7.5,time" for i in range(first, first + n)]


def read(tmp_path, rows, head=HEAD, end="\n"):
    (tmp_path / "visits.csv").write_text(end.join([head, *rows]) + end, encoding="utf-8", newline="")
    return read_log(tmp_path / "visits.csv")


def counts(log):
    return tuple(log.counts["visits"].values())


@pytest.mark.parametrize("end", ["\n", "\r\n"])
@pytest.mark.parametrize("apart", [1, 15])
def test_a_stray_quote_swallows_no_row(tmp_path, end, apart):
    rows = lines(40)
    rows[9] = rows[9].replace(",C10", ',"C10')
    rows[9 + apart] = rows[9 + apart].replace(f"C{10 + apart}", f'C{10 + apart}"')
    log = read(tmp_path, rows, end=end)
    assert counts(log) == (40, 38, 2)
    assert list(log.faults["row"]) == [11, 11 + apart]
    assert list(log.faults["code"]) == ["fields", "unreadable"]
    assert "take the stray quote out" in log.faults["message"][1]


def test_quotes_that_stray_on_two_rows_in_turn(tmp_path):
    rows = lines(6)
    rows[2] = rows[2].replace(",time", ',"time')
    rows[3] = rows[3].replace(",natural", ',"natural')
    log = read(tmp_path, rows)
    assert counts(log) == (6, 5, 1)
    assert list(log.faults["row"]) == [5]


def test_a_quote_that_never_closes_swallows_no_row(tmp_path):
    rows = lines(40)
    rows[9] = rows[9].replace(",natural", ',"natural')
    log = read(tmp_path, rows)
    assert counts(log) == (40, 39, 1)
    assert list(log.faults["row"]) == [11]


def test_a_quote_that_never_closes_on_one_of_the_last_rows(tmp_path):
    rows = lines(4)
    rows[2] = rows[2].replace(",C3", ',"C3')
    rows[3] = "V4,C4"
    log = read(tmp_path, rows)
    assert counts(log) == (4, 2, 2)
    assert list(log.faults["row"]) == [4, 5]


def test_a_first_cell_that_does_not_close(tmp_path):
    rows = lines(6)
    rows[1], rows[2] = '"' + rows[1], rows[2].replace("V3", 'V3"')
    log = read(tmp_path, rows)
    assert counts(log) == (6, 4, 2)


def test_a_last_cell_that_does_not_close_where_every_cell_is_quoted(tmp_path):
    rows = ['"' + line.replace(",", '","') + '"' for line in lines(6)]
    rows[2] = rows[2][:-1]
    log = read(tmp_path, rows)
    assert counts(log) == (6, 6, 0)
    assert list(log.visits["stop"]) == ["time"] * 6


@pytest.mark.parametrize("delimiter", [",", ";"])
@pytest.mark.parametrize(
    "remark", ["soft\nhair", "one, two\n\nthree; four", 'a ""b""\nV9, C9', "\n", "x\n" * 50, "20\n6, 5\n"]
)
@pytest.mark.parametrize("at", [0, 5, 12])
def test_an_honest_cell_of_several_lines_is_one_row(tmp_path, delimiter, remark, at):
    def put(line, text):
        cells = line.split(",")
        return delimiter.join([*cells[:at], text, *cells[at:]])

    rows = [put(line, f'"{remark}"' if i % 2 else "") for i, line in enumerate(lines(5))]
    log = read(tmp_path, rows, head=put(HEAD, "remark"))
    assert counts(log) == (5, 5, 0)
    assert list(log.visits["visit"]) == [f"V{i}" for i in range(1, 6)]


def test_an_honest_cell_behind_a_stray_quote(tmp_path):
    rows = [line + ',"two\nlines"' for line in lines(6)]
    rows[1] = lines(1, 2)[0].replace(",C2", ',"C2') + ",x"
    log = read(tmp_path, rows, head=HEAD + ",remark")
    assert counts(log) == (6, 5, 1)
    assert list(log.faults["row"]) == [3]


@pytest.mark.parametrize("share", [0, 0.3, 1])
def test_quotes_put_in_and_taken_out_anywhere_swallow_no_row(share):
    """Up to four quotes are changed in up to eight rows, of whose cells a share is quoted; seeded."""
    rng = np.random.default_rng(7)
    head = HEAD + ",course,remark"
    for _ in range(300):
        rows = [(line + ",,a b").split(",") for line in lines(rng.integers(1, 9))]
        marked = [[f'"{cell}"' if rng.random() < share else cell for cell in row] for row in rows]
        text = list("\n".join(map(",".join, marked)) + "\n")
        for _ in range(rng.integers(1, 5)):
            quotes = [i for i, letter in enumerate(text) if letter == '"']
            if quotes and rng.random() < 0.3:
                del text[rng.choice(quotes)]
            else:
                text.insert(rng.integers(0, len(text)), '"')
        whole = head + "\n" + "".join(text)
        assert len(list(read_records(whole, ",", "visits", head.split(",")))) == len(rows) + 1, whole


def test_a_heading_of_two_lines(tmp_path):
    log = read(tmp_path, lines(3), head=HEAD.replace(",minutes", ',"Processing\n(min)"'))
    assert counts(log) == (3, 3, 0)


def test_a_cell_ends_after_so_many_lines(monkeypatch):
    monkeypatch.setattr(records, "MAX_LINES", 3)
    text = 'visit,minutes,level\nV1,"x\n' + "y\n" * 9
    assert len(list(read_records(text, ",", "checks", ["visit", "minutes", "level"]))) == 11


@pytest.mark.parametrize(
    ("form", "most"),
    [(lambda line: '"' + line.replace(",", '","') + '"', 1), (lambda line: line.replace(",C", ',x"C,"'), 13)],
)
def test_lines_are_looked_at_few_times(monkeypatch, form, most):
    """All cells quoted: once. A quote that strays on every row, which no line behind it ends: a few times."""
    handed = []
    plain = records._Feed.__next__
    monkeypatch.setattr(records._Feed, "__next__", lambda feed: handed.append(plain(feed)) or handed[-1])
    text = "\n".join(map(form, lines(2000)))
    assert len(list(read_records(text, ",", "visits", HEAD.split(",")))) == 2000
    assert len(handed) < most * 2000 + 1


def test_a_file_of_hardly_any_rows_is_given_up_before_all_of_it_is_read(monkeypatch):
    monkeypatch.setattr(records, "MAX_SHORT", 1000)
    lines_read = []
    plain = records._Lines.line
    monkeypatch.setattr(records._Lines, "line", lambda text, i: lines_read.append(i) or plain(text, i))
    text = "\n".join([HEAD, *lines(8), '"' + "x\n" * 50_000])
    with pytest.raises(csv.Error, match="lack most of the 12 fields, a quote opens in row 10"):
        list(read_records(text, ",", "visits", HEAD.split(",")))
    assert max(lines_read) < 3000


def test_lines_that_were_read_are_not_held():
    text = records._Lines("x\n" * 50_000)
    for i in range(50_000):
        text.line(i)
        text.forget(i)
    assert len(text._held) < 2000
    assert text.line(50_000) == ""
