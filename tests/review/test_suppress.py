"""Few clients are hidden, and nothing that's shown gives them away."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from outcomes.errors import InputError
from outcomes.review.suppress import suppressed


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
    assert suppressed(clients) == hidden


def test_settable_upwards_only():
    assert suppressed({"S1": 8, "S2": 9, "S3": 40}, 10) == {"S1", "S2"}
    with pytest.raises(InputError, match="--min-clients 4: 5 or more are expected"):
        suppressed({"S1": 8}, 4)


@given(st.dictionaries(st.text("abc", min_size=1), st.integers(0, 30), max_size=8), st.integers(5, 12))
def test_a_total_less_the_shown_tells_nobody(clients, least):
    hidden = suppressed(clients, least)
    shown = {code for code, n in clients.items() if n > 0} - hidden
    assert all(clients[code] >= least for code in shown)
    if hidden and shown:
        assert len(hidden) > 1
        assert sum(clients[code] for code in hidden) >= least
