"""Tables with marks between their cells: Markdown, frames of lines, LaTeX."""

from __future__ import annotations

import pandas as pd
import pytest

ROWS = pd.DataFrame({"client": [12, 104], "m": [3.0, 4.0], "stylist": ["A", "Bo"]})
LATEX = {
    "frame": (ROWS.to_latex(), ["12", "A"]),
    "named index": (ROWS.set_index("client").to_latex(), ["12", "A"]),
    "grouped": (ROWS.groupby(["client", "stylist"]).agg({"m": ["mean"]}).to_latex(), ["12", "A"]),
    "several rows of one client": (
        "stylist & client & m \\\\\n\\multirow[t]{2}{*}{A} & \\textbf{12} & 1 \\\\\n & 7 & 12 \\\\[2pt]\n",
        ["A", "12"],
    ),
    "on one line": (r"\begin{tabular}{ll} client & n \\ 12 & 7 \\ 104 & 12 \\", ["12"]),
}


@pytest.mark.parametrize("name", LATEX)
@pytest.mark.parametrize("ending", ["tex", "txt", "md"])
def test_a_latex_table(finds, name, ending):
    text, codes = LATEX[name]
    assert [code for _, _, code in finds(text, f"x.{ending}")] == codes


def test_places_in_a_latex_table(finds):
    assert finds("\\toprule\nclient & m \\\\\n\\midrule\n7 & 3 \\\\\n12 & 3 \\\\\n", "x.tex") == [
        ("line 5, column client", "client code", "12")]  # fmt: skip


def test_what_is_no_latex_table(finds):
    assert finds("clients & visits \\\\\n12 & 7 \\\\\nguests \\& people A\\& 12", "x.tex") == []


FRAMED = [
    """
+--------+----+
| client | m  |
+========+====+
| 12     | 3  |
+--------+----+
| 104    | 12 |
+--------+----+
""",
    """
┌────────┬─────┐
│ client ┆ m   │
│ ---    ┆ --- │
│ i64    ┆ f64 │
╞════════╪═════╡
│ 12     ┆ 3.0 │
└────────┴─────┘
""",
    "client | m\n--- | ---\n12 | 3\n",
]


@pytest.mark.parametrize("text", FRAMED)
def test_a_table_in_a_frame_of_lines(finds, text):
    assert [(what, code) for _, what, code in finds(text, "x.log")] == [("client code", "12")]
