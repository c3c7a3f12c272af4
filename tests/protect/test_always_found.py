"""Whatever the codes of a log and wherever one stands, it's found; and what holds none isn't flagged."""

from __future__ import annotations

import csv
import html
import io
import json
import tempfile
from pathlib import Path

import nbformat
import openpyxl
import pandas as pd
import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from outcomes.protect.contents.readable import Leaving
from outcomes.protect.disclosure import look_through
from outcomes.protect.private.codes import codes_of_log
from outcomes.protect.private.tokens import TOKEN, plain

SETTINGS = settings(
    max_examples=40, deadline=None, derandomize=True, suppress_health_check=list(HealthCheck), database=None
)
HEAD = "visit,client,stylist,date,hair,start_level,goal_level,peroxide_pct,heat,minutes,achieved_level,stop"
CODE = st.text("abcdefgkQRSTXYZ0123456789 -_./'äßéΩжİ", min_size=2, max_size=12).map(str.strip)
WORDS = st.lists(st.text("abcdefgh xyz,;:!?()[]<>&%$§äöü\t\n", max_size=30), max_size=6).map("".join)
AROUND = st.sampled_from([" ", "\n", ",", "(", ")", '"', "_", ": ", " - ", "#", "[", "|", ";"])

IN_SCRIPT = st.sampled_from([" ", ", ", " (", ") ", ": ", "; "])  # packed data have other marks


def written_log(folder, codes):
    """A log of one row for each three codes; the first one's row can't be used."""
    rows = io.StringIO()
    out = csv.writer(rows, lineterminator="\n")
    out.writerow(HEAD.split(","))
    for i in range(0, len(codes), 3):
        visit, client, stylist = [*codes[i : i + 3], "V1", "C1"][:3]
        level = "4.2" if i == 0 else "4"
        out.writerow([visit, client, stylist, "2024-03-14", "natural", level, 8, 6, "low", 45, 7.5, "time"])
    (folder / "visits.csv").write_text(rows.getvalue(), encoding="utf-8")
    return codes_of_log(folder)


def as_csv(path, text):
    with path.open("w", encoding="utf-8", newline="") as file:
        csv.writer(file).writerows([["one", "two"], ["x", text]])


def as_parquet(path, text):
    pd.DataFrame({"one": ["x", text]}).to_parquet(path)


def as_text(path, text):
    path.write_text(text, encoding="utf-8", newline="")


def as_value(path, text):
    as_text(path, json.dumps({"a": [1, {"b": text}]}))


def as_key(path, text):
    as_text(path, json.dumps({"a": {text: 1}}, ensure_ascii=False))


def as_page(path, text):
    as_text(path, f"<html><body><p>x <b>{html.escape(text)}</b></p></body></html>")


def as_split(path, text):
    half = len(text) // 2
    parts = html.escape(text[:half]), html.escape(text[half:])
    as_text(path, f"<html><body><p>x <b>{parts[0]}</b>{parts[1]}</p></body></html>")


def as_attribute(path, text):
    as_text(path, f'<html><body><img alt="{html.escape(text)}"></body></html>')


def as_script(path, text):
    as_text(path, f"<html><script>const a = {json.dumps(text)};</script></html>")


def as_comment(path, text):
    as_text(path, f"<svg><!-- {text.replace('-', ' ').replace('>', ' ')} --><text>x</text></svg>")


def as_svg(path, text):
    as_text(path, f'<svg><path d="M0 1"/><text x="1">{html.escape(text)}</text></svg>')


def as_toml(path, text):
    as_text(path, f"[a]\nb = {json.dumps(text)}\n")


def as_output(path, text):
    cell = nbformat.v4.new_code_cell("1", outputs=[nbformat.v4.new_output("stream", text=text)])
    as_text(path, nbformat.writes(nbformat.v4.new_notebook(cells=[cell])))


def as_markdown_cell(path, text):
    as_text(path, nbformat.writes(nbformat.v4.new_notebook(cells=[nbformat.v4.new_markdown_cell(text)])))


def as_workbook(path, text):
    book = openpyxl.Workbook()
    book.active["C4"] = text if not text.startswith("=") else "'" + text
    book.save(path)


FORMS = {
    "csv": (as_csv, ".csv"), "parquet": (as_parquet, ".parquet"), "text": (as_text, ".md"),
    "value": (as_value, ".json"), "key": (as_key, ".json"), "page": (as_page, ".html"),
    "split": (as_split, ".html"), "attribute": (as_attribute, ".html"), "script": (as_script, ".html"),
    "svg": (as_svg, ".svg"),
    "toml": (as_toml, ".toml"), "output": (as_output, ".ipynb"), "markdown": (as_markdown_cell, ".ipynb"),
    "workbook": (as_workbook, ".xlsx"),
}  # fmt: skip


def parts(text):
    return [token.casefold() for token in TOKEN.findall(plain(text))]


def holds(found, code):
    """Whether the parts of a code stand in a row among those of a find."""
    all_parts, wanted = parts(found), parts(code)
    n = len(wanted)
    return any(all_parts[i : i + n] == wanted for i in range(len(all_parts) - n + 1))


@pytest.mark.parametrize("form", FORMS)
@SETTINGS
@given(st.lists(CODE, min_size=1, max_size=6), st.data())
def test_a_code_is_found_wherever_it_stands(form, codes, data):
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place) / "salon"
        folder.mkdir()
        log = written_log(folder, codes)
        telling = [code.text for code in log.codes if code.is_telling]
        assume(telling)
        code = data.draw(st.sampled_from(telling))
        before, after = data.draw(WORDS), data.draw(WORDS)
        around = IN_SCRIPT if form == "script" else AROUND
        text = before + data.draw(around) + code + data.draw(around) + after
        write, ending = FORMS[form]
        path = Path(place) / f"x{ending}"
        write(path, text)
        told = look_through([Leaving(path, "x", "x")], log)
        assert not told.refused
        assert any(holds(find.text, code) for find in told.finds if find.kind == "code")


@pytest.mark.parametrize("form", FORMS)
@SETTINGS
@given(WORDS, st.lists(st.sampled_from(["Q9", "Q77x", "ZZ-9 Q", "QQQ"]), min_size=1, max_size=3))
def test_a_text_without_a_code_is_clean(form, text, codes):
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place) / "salon"
        folder.mkdir()
        log = written_log(folder, codes)
        write, ending = FORMS[form]
        path = Path(place) / f"x{ending}"
        write(path, text)
        told = look_through([Leaving(path, "x", "x")], log)
        assert not told.refused
        assert told.finds == ()
