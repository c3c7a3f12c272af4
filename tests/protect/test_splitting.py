"""Parts are split as finely as the clients suffice, and each piece keeps enough of them."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from outcomes.protect.splitting import Rows, split_parts


def rows(start, wanted, client=None, over=1.0, under=1.0, history=None):
    n = len(start)
    return Rows(
        client=np.arange(n) if client is None else np.asarray(client),
        start=np.asarray(start, dtype=float),
        wanted=np.asarray(wanted, dtype=float),
        over=np.broadcast_to(over, n).astype(float),
        under=np.broadcast_to(under, n).astype(float),
        history=np.full(n, -1) if history is None else np.asarray(history),
    )


def whole(given):
    return [np.arange(len(given.client))]


def test_two_goals_that_enough_clients_share_are_told_apart():
    given = rows([4] * 6, [2, 2, 2, 4, 4, 4])
    assert split_parts(given, whole(given), 3).wanted.tolist() == [2, 2, 2, 4, 4, 4]
    together = split_parts(given, whole(given), 4)
    assert len(set(together.wanted)) == 1


def test_clients_are_counted_and_not_rows():
    given = rows([4] * 6, [2, 2, 2, 4, 4, 4], client=[0, 0, 1, 2, 3, 4])
    assert len(set(split_parts(given, whole(given), 3).wanted)) == 1
    assert len(set(split_parts(given, whole(given), 2).wanted)) == 2


def test_a_client_on_both_sides_counts_on_both():
    given = rows([4] * 4, [2, 2, 4, 4], client=[0, 1, 0, 1])
    assert split_parts(given, whole(given), 2).wanted.tolist() == [2, 2, 4, 4]


def test_the_start_shown_is_the_middle_one():
    given = rows([3, 4, 4.5, 6, 9], [1] * 5)
    assert split_parts(given, whole(given), 3).start.tolist() == [4.5] * 5


def test_start_and_goal_stay_on_the_scale():
    """The middle start is 9, from where 3 levels would lead to 12."""
    given = rows([7, 9, 9], [3, 1, 1], over=[1, 0.01, 0.01], under=[1, 0.01, 0.01])
    found = split_parts(given, whole(given), 3)
    assert found.wanted.tolist() == [3.0] * 3
    assert found.start.tolist() == [7.0] * 3


@pytest.mark.parametrize(("over", "under", "shown"), [(1.0, 1.0, 3.0), (1.0, 0.1, 2.0), (0.1, 1.0, 4.0)])
def test_what_is_worse_decides_which_goal_all_show(over, under, shown):
    given = rows([4] * 5, [2, 2.5, 3, 3.5, 4], over=over, under=under)
    assert set(split_parts(given, whole(given), 4).wanted) == {shown}


def test_histories_that_enough_clients_share_stay():
    given = rows([4] * 7, [2] * 7, history=[0, 0, 0, 1, 1, 1, 1])
    assert split_parts(given, whole(given), 3).history.all()
    assert not split_parts(given, whole(given), 4).history.any()


def test_a_history_that_all_share_costs_nothing():
    given = rows([4] * 3, [2] * 3, history=[1, 1, 1])
    assert split_parts(given, whole(given), 3).history.all()


def test_a_rare_history_goes_with_as_many_others_as_it_takes():
    """Two clients have history 1: of the seven with history 0 one joins them, and six keep it."""
    given = rows([4] * 9, [2] * 9, history=[0] * 7 + [1] * 2)
    shown = split_parts(given, whole(given), 3).history
    assert not shown[7:].any()
    assert shown[:7].sum() == 6


def test_all_rows_of_a_client_join_together():
    given = rows([4] * 10, [2] * 10, client=[0, 0, 1, 1, 2, 2, 3, 3, 4, 4], history=[0] * 8 + [-1] * 2)
    shown = split_parts(given, whole(given), 2).history
    assert shown.sum() == 6
    assert all(shown[i] == shown[i + 1] for i in range(0, 10, 2))


def test_an_empty_cell_is_never_shown():
    given = rows([4] * 8, [2] * 8, history=[0, 0, 0, 0, -1, -1, -1, -1])
    assert split_parts(given, whole(given), 3).history.tolist() == [True] * 4 + [False] * 4


def test_the_goal_comes_before_the_history_and_the_history_before_the_start():
    """Three clients each: whatever is told apart first leaves too few for the rest."""
    history = [0, 0, 0, 1, 1, 1]
    given = rows([3, 3, 3, 3.5, 3.5, 3.5], [2, 2, 2, 2, 2, 2], history=[0, 1, 0, 1, 0, 1])
    found = split_parts(given, whole(given), 3)
    assert found.history.all()
    assert found.start.tolist() == [3, 3.5] * 3  # the middle ones of each history, not their own
    given = rows([4] * 6, [2, 4, 2, 4, 2, 4], history=history)
    found = split_parts(given, whole(given), 3)
    assert found.wanted.tolist() == [2, 4, 2, 4, 2, 4]
    assert not found.history.any()


def test_some_parts_can_be_split_again():
    given = rows([3, 3, 3, 5, 5, 5], [2] * 6, history=[0] * 6)
    parts = [np.arange(3), np.arange(3, 6)]
    found = split_parts(given, parts, 3)
    assert found.history.all()
    hidden = dataclasses.replace(given, history=np.array([0, 0, 0, -1, -1, -1]))
    again = found.renewed(split_parts(hidden, parts[1:], 3))
    assert again.history.tolist() == [True] * 3 + [False] * 3
    assert again.start.tolist() == found.start.tolist()
    assert again.wanted.tolist() == found.wanted.tolist()


def test_parts_stay_apart_and_rows_of_none_show_nothing():
    given = rows([3, 3, 3, 5, 5, 5, 9], [2] * 7)
    found = split_parts(given, [np.array([0, 1, 2]), np.array([3, 4, 5])], 3)
    assert found.start.tolist()[:6] == [3, 3, 3, 5, 5, 5]
    assert np.isnan(found.start[6])


@pytest.mark.parametrize("seed", range(20))
@pytest.mark.parametrize("least", [2, 5])
def test_every_piece_has_enough_clients(seed, least):
    rng = np.random.default_rng(seed)
    n = 200
    given = rows(
        rng.integers(2, 12, n) / 2,
        rng.integers(1, 8, n) / 2,
        client=np.unique(rng.integers(0, 90, n), return_inverse=True)[1],
        over=rng.choice([1.0, 0.05], n),
        under=rng.choice([0.5, 0.05], n),
        history=rng.integers(-1, 3, n),
    )
    found = split_parts(given, whole(given), least)
    behind: dict[tuple[float, ...], set[int]] = {}
    for i in range(n):
        history = given.history[i] if found.history[i] else -1
        behind.setdefault((found.start[i], found.wanted[i], history), set()).add(int(given.client[i]))
    assert min(map(len, behind.values())) >= least
    # and isn't far larger than that: something was told apart
    assert len(behind) > 200 / least / 4
