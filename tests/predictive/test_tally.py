"""Sums over visits: by hand, against every combination, and what can't be."""

from itertools import product

import numpy as np
import pytest

from outcomes.errors import InputError
from outcomes.predictive.tally import Tally, capped, raised, several, smallest, until_done


def test_sums_are_those_of_every_combination():
    first = Tally(5.0, np.array([0.0, 0.2, 0.5, 0.3]), 40)
    later = Tally(5.0, np.array([0.1, 0.6, 0.3]), 40)
    by_hand = np.zeros(8)
    for a, b, c in product(range(4), range(3), range(3)):
        by_hand[a + b + c] += first.shares[a] * later.shares[b] * later.shares[c]
    sums = several(first, later, 3)
    assert np.allclose(sums[2], by_hand, atol=1e-15)
    assert [shares.sum() for shares in sums] == pytest.approx([1.0, 1.0, 1.0])


def test_a_fixed_amount_more_for_each_visit_but_the_last_moves_the_sums():
    """Of 11.6 steps: 0, 11.6 and 23.2 of them before the last, to the nearest; the last takes 3 or 5."""
    last = np.array([0.0, 0.0, 0.0, 0.5, 0.0, 0.5])
    found = raised([np.array([1.0]), np.array([0.0, 1.0]), np.array([0.25, 0.75])], 11.6, last)
    assert [np.flatnonzero(shares).tolist() for shares in found] == [[3, 5], [16, 18], [26, 27, 28, 29]]
    assert found[2][26:].tolist() == [0.125, 0.375, 0.125, 0.375]


def test_a_cap_takes_what_is_above_it():
    tally = Tally(5.0, np.array([0.0, 0.25, 0.25, 0.5]), 40)
    assert capped(tally, 2).tolist() == [0.0, 0.25, 0.75]
    assert capped(tally, 5).tolist() == [0.0, 0.25, 0.25, 0.5, 0.0, 0.0]
    assert capped(Tally.nothing(5.0), 2).tolist() == [0.0, 0.0, 1.0]


def test_one_amount_for_sure_adds_up_to_its_multiples():
    always = Tally.always(47.5)
    sums = several(always, always, 4)
    assert [int(shares.argmax()) * always.step for shares in sums] == [47.5, 95.0, 142.5, 190.0]
    assert all(shares.max() == 1.0 for shares in sums)


def test_a_course_mixes_them_and_leaves_the_rest_open():
    always = Tally.always(60.0)
    chances = until_done((0.2, 0.5, 0.2, 0.1), several(always, always, 3))
    assert chances.tolist() == pytest.approx([0.0, 0.2, 0.5, 0.2])
    assert 1.0 - chances.sum() == pytest.approx(0.1)


def test_smallest_amount_within_a_share():
    chances = np.array([0.0, 0.1, 0.4, 0.3, 0.1])
    assert [smallest(chances, share) for share in (0.1, 0.11, 0.5, 0.51, 0.9)] == [1, 2, 2, 3, 4]
    assert smallest(chances, 0.91) is None


@pytest.mark.parametrize(
    ("step", "shares", "said"),
    [(0.0, [1.0], "step"), (5.0, [0.5, 0.4], "shares"), (5.0, [1.5, -0.5], "shares")],
)
def test_what_is_no_tally(step, shares, said):
    with pytest.raises(InputError, match=said):
        Tally(step, np.array(shares), 3)


def test_nothing_is_known_of_nothing():
    assert not Tally.nothing(5.0).is_known
    assert Tally.always(3.0).is_known
