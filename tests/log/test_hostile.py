"""Whatever stands in a file: rows in = rows used + set aside, or one clear refusal; never a traceback."""

from __future__ import annotations

import tempfile
from pathlib import Path

import pandas as pd
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from outcomes.errors import InputError
from outcomes.log.cells import read_cells
from outcomes.log.read import read_log
from outcomes.log.schema import TABLES, column, columns

SETTINGS = settings(
    max_examples=60, deadline=None, derandomize=True, suppress_health_check=list(HealthCheck), database=None
)
LIKELY = st.sampled_from(
    ["", "7", "7.5", "7/8", "20 vol", "6%", "45", "0:45", "1h05", "x", "TRUE", "2024-02-29", "13/07/2024",
     "60", "V1", "lengths", "natural", "none", "time", "target", "-", "=1+1", "7½", "1e999", "-3", "C1",
     "EXAMPLE", "1:2", "roots"]
)  # fmt: skip
CELL = st.one_of(LIKELY, st.text(max_size=8))
ALL = [(table, c.name) for table in TABLES for c in columns(table)]


@SETTINGS
@given(st.sampled_from(ALL), st.lists(CELL, max_size=12), st.sampled_from(["", "volume"]))
def test_any_column_of_any_text(which, texts, unit):
    rule = column(*which)
    cells = pd.Categorical(texts, categories=pd.Index(dict.fromkeys(texts), dtype=object))
    try:
        read = read_cells(rule, cells, unit=unit)
    except InputError as error:
        assert rule.kind == "date"
        assert "day first" in str(error)  # noqa: PT017
        return
    assert len(read.data) == len(read.codes) == len(texts)
    if rule.kind == "number":
        good = pd.Series(read.data.astype(float)).dropna()
        assert rule.low is None or (good >= rule.low - 1e-9).all()
        assert rule.high is None or (good <= rule.high + 1e-9).all()
    if rule.kind == "word":
        assert set(pd.Series(read.data).dropna()) <= set(rule.words)


@st.composite
def tables(draw, table):
    """Headings of a table with rows of likely and unlikely cells, now and then cut short."""
    names = [c.name for c in columns(table) if c.needed or draw(st.booleans())]
    rows = draw(st.lists(st.lists(CELL, min_size=len(names) - 1, max_size=len(names) + 1), max_size=6))
    delimiter = draw(st.sampled_from([",", ";", "\t"]))
    quoted = draw(st.booleans())

    def cell(text):
        clean = "".join(c for c in text if c not in ',;\t\r\n"' or quoted)
        return '"' + clean.replace('"', '""') + '"' if quoted else clean

    lines = [delimiter.join(names), *(delimiter.join(map(cell, row)) for row in rows)]
    return "\n".join(lines) + draw(st.sampled_from(["", "\n", "\n\n"]))


@SETTINGS
@given(tables("visits"), tables("checks"), tables("washes"))
def test_any_small_log_adds_up(visits, checks, washes):
    with tempfile.TemporaryDirectory() as place:
        for table, text in zip(TABLES, (visits, checks, washes), strict=True):
            (Path(place) / f"{table}.csv").write_text(text, encoding="utf-8", errors="replace", newline="")
        try:
            log = read_log(place)
        except InputError as error:
            assert "\n" not in str(error)  # noqa: PT017
            return
    for table in TABLES:
        count = log.counts[table]
        assert count["in"] == count["used"] + count["set_aside"]
        assert len(getattr(log, table)) == count["used"]
        own = log.faults[log.faults["file"] == f"{table}.csv"]
        assert own["row"].nunique() == count["set_aside"]
    assert log.faults["message"].str.len().gt(0).all()


@SETTINGS
@given(st.binary(max_size=300), st.sampled_from([".csv", ".xlsx", ".parquet", ".tsv"]))
def test_any_bytes_are_read_or_refused(data, ending):
    with tempfile.TemporaryDirectory() as place:
        path = Path(place) / f"visits{ending}"
        path.write_bytes(data)
        try:
            log = read_log(path)
        except InputError as error:
            assert path.name in str(error)  # noqa: PT017
        else:
            assert log.counts["visits"]["in"] >= 1


def sound(draw):
    half = st.integers(2, 20).map(lambda n: n / 2)
    start = draw(half.filter(lambda level: level < 10))
    goal = draw(half.filter(lambda level: level > start))
    got = draw(half.filter(lambda level: level >= start - 0.5))
    return start, goal, got


@SETTINGS
@given(st.data())
def test_sound_visits_in_any_spelling_are_all_used(data):
    spell = {
        "level": [lambda v: f"{v:g}", lambda v: f"L{v:g}", lambda v: f"{v:g}".replace(".5", "½"),
                  lambda v: f"{int(v)}/{int(v) + 1}" if v % 1 else f"{v:.1f}"],
        "peroxide": [lambda p: f"{p:g}%", lambda p: f"{p / 0.3:g} vol", lambda p: f"{p:g}"],
        "minutes": [lambda m: f"{m}", lambda m: f"{m} min", lambda m: f"{m // 60}:{m % 60:02d}",
                    lambda m: f"{m // 60}h{m % 60:02d}"],
    }  # fmt: skip

    def write(kind, value):
        return data.draw(st.sampled_from(spell[kind]))(value)

    wanted, lines = [], ["visit,client,stylist,date,hair,start_level,goal_level,peroxide_pct,heat,minutes,"
                         "achieved_level,stop"]  # fmt: skip
    for i in range(data.draw(st.integers(1, 5))):
        levels = sound(data.draw)
        percent, minutes = data.draw(st.sampled_from([3.0, 6.0, 9.0, 12.0])), data.draw(st.integers(1, 180))
        start, goal, got = (write("level", level) for level in levels)
        lines.append(
            f"V{i},C{i},S,2024-03-14,natural,{start},{goal},{write('peroxide', percent)},low,"
            f"{write('minutes', minutes)},{got},other"
        )
        wanted.append([*levels, percent, minutes])
    with tempfile.TemporaryDirectory() as place:
        (Path(place) / "visits.csv").write_text("\n".join(lines), encoding="utf-8")
        log = read_log(place)
    assert log.faults.empty
    names = ["start_level", "goal_level", "achieved_level", "peroxide_pct", "minutes"]
    assert log.visits[names].to_numpy().tolist() == wanted
