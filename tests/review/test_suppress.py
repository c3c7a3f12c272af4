"""Few clients are hidden, and nothing that's shown gives them away."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from outcomes.errors import InputError
from outcomes.review.suppress import suppressed


def apart(counts):
    """So many clients of each, none of two."""
    return {code: {f"{code} {i}" for i in range(n)} for code, n in counts.items()}


@pytest.mark.parametrize(
    ("clients", "hidden"),
    [
        ({"S1": 20, "S2": 30}, set()),
        ({"S1": 4, "S2": 30, "S3": 12}, {"S1", "S3"}),  # 46 less the others would tell S1
        ({"S1": 4, "S2": 3, "S3": 12}, {"S1", "S2"}),
        ({"S1": 1, "S2": 2, "S3": 12, "S4": 9}, {"S1", "S2", "S4"}),  # three clients together
        ({"S1": 4}, {"S1"}),
        ({"S1": 4, "S2": 9}, {"S1", "S2"}),
        ({"S1": 0, "S2": 9}, set()),  # who wasn't there is no secret
        ({}, set()),
    ],
)
def test_by_hand(clients, hidden):
    assert suppressed(apart(clients)) == hidden


def test_a_client_of_two_who_are_hidden_counts_once():
    """The same three clients came to both: a total less the third would tell of three people."""
    clients = {"S1": {"A", "B", "C"}, "S2": {"A", "B", "C"}, "S3": set("DEFGHIJ"), "S4": set("DEFGHIJKL")}
    assert suppressed(clients) == {"S1", "S2", "S3"}


def test_who_is_hidden_already_takes_others_along():
    assert suppressed(apart({"S1": 9, "S2": 20, "S3": 12}), already={"S1"}) == {"S1", "S3"}
    assert suppressed(apart({"S1": 9, "S2": 20, "S3": 12, "S4": 8}), already={"S1", "S4"}) == {"S1", "S4"}


def test_settable_upwards_only():
    assert suppressed(apart({"S1": 8, "S2": 9, "S3": 40}), 10) == {"S1", "S2"}
    with pytest.raises(InputError, match="--min-clients 4: 5 or more are expected"):
        suppressed(apart({"S1": 8}), 4)


@given(
    st.dictionaries(st.text("abc", min_size=1), st.sets(st.integers(0, 40), max_size=30), max_size=8),
    st.integers(5, 12),
)
def test_a_total_less_the_shown_tells_nobody(clients, least):
    hidden = suppressed(clients, least)
    shown = {code for code, own in clients.items() if own} - hidden
    assert all(len(clients[code]) >= least for code in shown)
    if hidden and shown:
        assert len(hidden) > 1
        assert len(set().union(*(clients[code] for code in hidden))) >= least
