"""Whatever stands in a file: rows in = rows used + set aside, or one clear refusal; never a traceback."""

from __future__ import annotations

import csv
import io
import tempfile
from datetime import UTC, datetime
from pathlib import Path

import pandas as pd
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from outcomes.errors import InputError
from outcomes.log.cells import read_cells
from outcomes.log.incoming import bring_in
from outcomes.log.mapfile import NO_MAP
from outcomes.log.read import read_log
from outcomes.log.schema import TABLES, column, columns
from outcomes.log.store import merge_into
from tests.log.conftest import VISIT

NOW = datetime(2026, 1, 2, 3, 4, 5, tzinfo=UTC)
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


CODES = st.text(st.sampled_from("abzÄéß0123-_ ."), min_size=1, max_size=6).map(lambda text: f"c{text}c")


@st.composite
def spelled(draw, name):
    """A heading as somebody might write it: a name or a synonym, any case, spaces or underscores around."""
    rule = column("visits", name)
    text = draw(st.sampled_from([name, *rule.headings]))
    text = draw(st.sampled_from([text, text.upper(), text.title(), text.replace("_", " ")]))
    return draw(st.sampled_from(["", " "])) + text + draw(st.sampled_from(["", "  "]))


@SETTINGS
@given(st.data())
def test_any_headings_encoding_and_delimiter_are_one_log(data):
    draw = data.draw
    row = VISIT | {"client": draw(CODES), "stylist": draw(CODES)}
    plain = [list(row), list(row.values()), ["V2", *list(row.values())[1:]]]
    encoding = draw(st.sampled_from(["utf-8", "utf-8-sig", "utf-16", "cp1252"]))
    comma = draw(st.sampled_from([",", ";", "\t"]))
    end = draw(st.sampled_from(["\n", "\r\n"]))
    headings = [draw(spelled(name)) for name in row]
    order = draw(st.permutations(range(len(row))))
    rows = [[cells[at] for at in order] for cells in (headings, *plain[1:])]
    if comma == ";" and draw(st.booleans()):  # where cells are parted so, a comma is the decimal point
        rows = [rows[0], *([cell.replace("7.5", "7,5") for cell in cells] for cells in rows[1:])]
    before = draw(st.sampled_from([[], ["Our visits"], ["", "Our visits", ""]]))
    blank = draw(st.sampled_from([[], [""], [comma * (len(row) - 1)]]))
    lines = [*before, *(comma.join(cells) for cells in rows[:2]), *blank, comma.join(rows[2])]
    with tempfile.TemporaryDirectory() as place:
        for name, text, code in (
            ("plain", "\n".join(map(",".join, plain)), "utf-8"),
            ("own", end.join(lines) + end, encoding),
        ):
            (Path(place) / name).mkdir()
            (Path(place) / name / "visits.csv").write_bytes(text.encode(code))
        expected, found = (read_log(Path(place) / name) for name in ("plain", "own"))
    assert found.faults.empty
    pd.testing.assert_frame_equal(found.visits, expected.visits)


@st.composite
def mostly_sound(draw, table):
    """Rows of a few codes, some with a cell of any text."""
    chosen = {"visit": ["V1", "V2", "V3"], "client": ["C1", "C2"], "minutes": ["20", "45"], "level": ["5"]}
    rows = []
    for _ in range(draw(st.integers(0 if table == "checks" else 1, 6))):
        row = {name: value for name, value in VISIT.items() if table == "visits" or name == "visit"}
        row |= {"minutes": "20", "level": "5"} if table == "checks" else {}
        row |= {name: draw(st.sampled_from(values)) for name, values in chosen.items() if name in row}
        if draw(st.integers(0, 3)) == 0:
            row[draw(st.sampled_from(list(row)))] = draw(CELL)
        rows.append(row)
    made = io.StringIO(newline="")
    out = csv.DictWriter(made, list(rows[0]) if rows else ["visit", "minutes", "level"], lineterminator="\n")
    out.writeheader()
    out.writerows(rows)
    return made.getvalue()


@pytest.mark.slow
@settings(SETTINGS, max_examples=15)
@given(mostly_sound("visits"), mostly_sound("visits"), mostly_sound("checks"), st.booleans())
def test_any_two_logs_merge_and_add_up_and_again_nothing_changes(first, second, looks, shared):
    with tempfile.TemporaryDirectory() as place:
        group, logs = Path(place) / "group", []
        for name, texts in (("one", {"visits": first}), ("two", {"visits": second, "checks": looks})):
            (Path(place) / name).mkdir()
            logs.append(Path(place) / name)
            for table, text in texts.items():
                path = logs[-1] / f"{table}.csv"
                path.write_text(text, encoding="utf-8", errors="replace", newline="")

        def merge(log):
            return merge_into(group, [bring_in(log, NO_MAP)], shared=shared, now=NOW)

        for log in logs:
            try:
                merged = merge(log)
            except InputError as error:
                assert "\n" not in str(error)  # noqa: PT017
                continue
            for counts in merged.counts.values():
                for n in counts.values():
                    assert n["in"] == n["added"] + n["corrected"] + n["unchanged"] + n["set_aside"]
            if not len(merged.tables["visits"]):
                continue
            held = read_log(group)
            assert held.faults.empty
            assert [len(getattr(held, table)) for table in TABLES] == [len(merged.tables[t]) for t in TABLES]
            files = {path.name: path.read_bytes() for path in group.glob("*.csv")}
            assert not merge(log).changes
            assert files == {path.name: path.read_bytes() for path in group.glob("*.csv")}
