"""In which order a client's visits of one date came: by their codes."""

from __future__ import annotations

import pandas as pd

from outcomes.log.visit_order import within_date


def visits(*rows):
    frame = pd.DataFrame(rows, columns=["client", "day", "visit"])
    return frame.assign(date=pd.to_datetime("2024-05-0" + frame["day"].astype(str)))


def in_order(frame):
    """Visit codes of each client by date and place."""
    frame = frame.assign(place=within_date(frame)).sort_values(["client", "date", "place"], kind="stable")
    return frame["visit"].drop_duplicates().tolist()


def test_the_shorter_code_comes_first():
    assert in_order(visits(("A", 1, "V10"), ("A", 1, "V9"), ("A", 1, "V100"))) == ["V9", "V10", "V100"]
    assert in_order(visits(("A", 1, "24-12"), ("A", 1, "24-11"), ("A", 1, "24-2"))) == [
        "24-2", "24-11", "24-12"
    ]  # fmt: skip


def test_codes_that_differ_in_leading_zeros_alone_have_one_order():
    rows = [("A", 1, "V09"), ("A", 1, "V9"), ("A", 1, "V009")]
    assert in_order(visits(*rows)) == in_order(visits(*rows[::-1]))


def test_only_the_client_s_own_date_counts():
    frame = visits(("A", 2, "V1"), ("A", 1, "V2"), ("B", 1, "V9"), ("B", 1, "V8"), ("C", 1, "V3"))
    found = within_date(frame)
    assert found[[0, 1, 4]].tolist() == [0, 0, 0]
    assert found[3] < found[2]


def test_rows_of_one_visit_share_their_place():
    frame = visits(("A", 1, "V2"), ("A", 1, "V1"), ("A", 1, "V2"), ("B", 1, "V2"), ("B", 1, "V2"))
    found = within_date(frame)
    assert found[0] == found[2] > found[1]
    assert found[3:].tolist() == [0, 0]


def test_the_order_of_rows_and_their_index_do_not_matter():
    frame = visits(*(("A", 1 + i % 3, f"V{i}") for i in range(30)))
    mixed = frame.sample(frac=1.0, random_state=1)
    pd.testing.assert_series_equal(
        pd.Series(within_date(mixed), index=mixed.index).sort_index(), pd.Series(within_date(frame))
    )


def test_no_visits():
    assert within_date(visits()).shape == (0,)
