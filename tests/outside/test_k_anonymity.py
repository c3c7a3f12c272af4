"""k of a small published table: 11 rows shaped as figure 2 of Sweeney (2002), Int. J. Uncertain. Fuzz.
Knowl. Syst. 10, 557-570, doi:10.1142/S0218488502001648; classes and findings counted by hand.

It is k-anonymous with k = 2, and yet discloses: in two classes everybody has the same finding.
"""

import pandas as pd
import pytest

from outcomes.protect.counting import distinct_behind

ROWS = """A 1965 m 1 p
A 1965 m 1 q
A 1965 f 2 r
A 1965 f 2 r
A 1964 f 2 s
A 1964 f 2 q
B 1964 m 2 q
B 1964 m 2 s
B 1964 m 2 p
B 1967 m 2 q
B 1967 m 2 q"""
ALL = ["group", "year", "sex", "area"]


@pytest.fixture(scope="module")
def table():
    frame = pd.DataFrame([row.split() for row in ROWS.splitlines()], columns=[*ALL, "finding"])
    return frame.assign(person=range(len(frame)))


@pytest.mark.parametrize(
    ("columns", "k"),
    [(ALL, 2), (["group"], 5), (["year"], 2), (["sex"], 4), (["area"], 2), (["group", "sex"], 2)],
    ids=str,
)
def test_smallest_class(table, columns, k):
    assert distinct_behind(table, columns, "person").min() == k


def test_one_class_of_all(table):
    assert set(distinct_behind(table.assign(none=0), ["none"], "person")) == {11}


def test_class_of_each_row(table):
    assert distinct_behind(table, ALL, "person").tolist() == [2] * 6 + [3] * 3 + [2] * 2


def test_two_classes_share_one_finding(table):
    """Rows 3 and 4, and 10 and 11."""
    findings = distinct_behind(table, ALL, "finding")
    assert findings.tolist() == [2, 2, 1, 1, 2, 2, 3, 3, 3, 1, 1]
    assert findings.min() == 1


def test_a_person_with_two_rows_counts_once(table):
    """What distinguishes k of clients from k of rows."""
    twice = table.assign(person=table["person"].replace({1: 0, 8: 7}))
    assert distinct_behind(twice, ALL, "person").tolist() == [1, 1, 2, 2, 2, 2, 2, 2, 2, 2, 2]
