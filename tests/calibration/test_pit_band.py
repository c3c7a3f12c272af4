"""How far the bars of a PIT histogram go by chance."""

import numpy as np
import pytest

from outcomes.calibration.scores import interval_pit_band, interval_pit_heights, rank_counts_band
from outcomes.errors import InputError


def _told(rng, clients, each, cut=6):
    """Intervals of true predictions, `each` of a client, as a coarse reading leaves them."""
    u = rng.random((clients, each))
    chance = np.sort(rng.random((clients, each, cut)), axis=2)
    ends = np.concatenate([np.zeros((clients, each, 1)), chance, np.ones((clients, each, 1))], axis=2)
    place = (ends <= u[..., None]).sum(axis=2) - 1
    low, high = (np.take_along_axis(ends, at[..., None], axis=2).ravel() for at in (place, place + 1))
    return low, high, np.repeat(np.arange(clients), each)


@pytest.mark.parametrize(("clients", "each"), [(20, 1), (60, 1), (200, 1), (200, 5)])
def test_all_bars_lie_within_as_often_as_is_said(clients, each):
    rng = np.random.default_rng(11)
    held = 0
    for _ in range(400):
        low, high, client = _told(rng, clients, each)
        heights = interval_pit_heights(low, high, 10)  # each client has as many
        least, most = interval_pit_band(low, high, 10, client)
        held += bool(((least <= heights) & (heights <= most)).all())
    assert 0.91 <= held / 400 <= 0.995


def test_it_is_narrower_than_that_of_points():
    low, high, client = _told(np.random.default_rng(2), 1000, 3)
    least, most = interval_pit_band(low, high, 10, client)
    counts = np.array(rank_counts_band(1000, 10, 0.995)) / 100
    assert (least > counts[0]).all()
    assert (most < counts[1]).all()
    # points are their own intervals: then it's that of counts
    points = np.random.default_rng(3).random(1000)
    least, most = interval_pit_band(points, points, 10, np.arange(1000))
    assert [least.mean(), most.mean()] == pytest.approx(counts, abs=0.03)


def test_the_same_reading_over_and_over_tells_no_more():
    rng = np.random.default_rng(5)
    low, high, client = _told(rng, 100, 1)
    once = interval_pit_band(low, high, 10, client)
    again = interval_pit_band(np.repeat(low, 7), np.repeat(high, 7), 10, np.repeat(client, 7))
    np.testing.assert_allclose(once, again)


def test_weights_count_as_copies_do():
    rng = np.random.default_rng(6)
    low, high, client = _told(rng, 100, 2)
    copies = 1 + np.arange(200) % 3
    whole = interval_pit_band(
        *(np.repeat(values, copies) for values in (low, high)), 10, np.repeat(client, copies)
    )
    np.testing.assert_allclose(interval_pit_band(low, high, 10, client, copies), whole)


def test_a_bar_that_nobody_is_in_is_off():
    low = np.full(50, 0.5)
    heights = interval_pit_heights(low, low + 0.5, 10)
    least, most = interval_pit_band(low, low + 0.5, 10, np.arange(50))
    assert (heights[:5] < least[:5]).all()
    assert (least >= 0).all()
    assert (most > 1).all()


def test_what_is_no_histogram():
    with pytest.raises(InputError, match="bins 0"):
        interval_pit_band([0.1], [0.2], 0, [0])
    with pytest.raises(InputError, match="2 groups of 1"):
        interval_pit_band([0.1], [0.2], 10, [0, 1])
    with pytest.raises(InputError, match="confidence"):
        interval_pit_band([0.1], [0.2], 10, [0], confidence=1.5)
