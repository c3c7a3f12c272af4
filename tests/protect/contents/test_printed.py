"""Tables as Python prints them, and prose that only looks a little like one."""

from __future__ import annotations

import json

import pandas as pd
import pytest

ROWS = pd.DataFrame({"client": [12, 104, 12], "m": [3.0, 4.0, 5.5], "stylist": ["A", "Bo", "A"]})
NARROW = ROWS[["client", "m"]].to_string(index=False)
PRINTED = {
    "frame": (str(ROWS), ["12", "A", "12", "A"]),
    "without an index": (ROWS.to_string(index=False), ["12", "A", "12", "A"]),
    "one blank between columns": (NARROW, ["12", "12"]),
    "two words": (str(ROWS.rename(columns={"client": "Client ID"})[["Client ID", "m"]]), ["12", "12"]),
    "named index": (str(ROWS.set_index("client")[["m"]]), ["12", "12"]),
    "grouped": (str(ROWS.groupby("client")["m"].mean()), ["12"]),
    "counted": (str(ROWS["client"].value_counts()), ["12"]),
    "grouped by two": (str(ROWS.groupby(["client", "stylist"])["m"].mean()), ["12", "A"]),
    "two headings": (str(ROWS.groupby("client").agg({"m": ["mean", "std"]})), ["12"]),
    "pivot": (str(ROWS.pivot_table(index="client", columns="stylist", values="m")), ["A", "12"]),
    "one column": (str(ROWS["client"]), ["12", "12"]),
    "cut short": (pd.concat([ROWS] * 40, ignore_index=True)["client"].to_string(max_rows=4, name=True,
                  dtype=True), ["12", "12"]),
}  # fmt: skip


@pytest.mark.parametrize("name", PRINTED)
def test_codes_under_headings_of_printed_tables(finds, name):
    text, codes = PRINTED[name]
    assert [code for _, _, code in finds(f"Means:\n\n{text}\n", "x.log")] == codes
    assert [code for _, _, code in finds(text, "x.txt")] == codes


def test_places_in_a_printed_table(finds):
    text = "   client    m stylist\n0      12  3.0       A\n"
    assert finds(text, "x.md") == [
        ("line 2, character 8", "client code", "12"),
        ("line 2, character 22", "stylist code", "A"),
    ]


def test_a_printed_table_in_a_notebook(finds):
    shown = {"output_type": "execute_result", "data": {"text/plain": str(ROWS)}, "metadata": {}}
    cell = {"cell_type": "code", "source": "df", "outputs": [shown], "metadata": {}, "execution_count": 1}
    book = {"cells": [cell], "metadata": {}, "nbformat": 4, "nbformat_minor": 5}
    assert {place[:26] for place, _, _ in finds(json.dumps(book), "x.ipynb")} == {
        "cell 1, output 1, line 2, ", "cell 1, output 1, line 4, "}  # fmt: skip


def test_dates_and_phone_numbers_under_printed_headings(finds):
    text = "       date       tel\nx  20231105   5551234\ny  20231101   7\n"
    assert [(what, found) for _, what, found in finds(text, "x.log")] == [
        ("date", "20231105"), ("phone", "5551234")]  # fmt: skip


NO_TABLES = [
    "client\n12\n", "A client\n12 came\n", "for each client\n12 visits and a stylist\nA day later\n",
    # a count of a column, and a heading below other text
    str(ROWS.groupby("m")["client"].nunique().mul(12)), "client           12\nstylist          A\n",
    "  client    0.12  between clients, on log rate\n  product   0.05  between lighteners\n",
    "   client   m\n\n12     3   5\n", "client  |  12\n12  |  3\n",
]  # fmt: skip


@pytest.mark.parametrize("text", NO_TABLES)
def test_what_is_no_column_of_codes(finds, text):
    assert finds(text, "x.log") == []
