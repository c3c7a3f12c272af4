import numpy as np
import pandas as pd
import pytest
from scipy.stats import norm

from outcomes.calibration.coverage import (
    coverage_table,
    flags_table,
    inside_share,
    printed_holds,
    reading_weights,
)
from outcomes.calibration.shares import wilson


def readings(low, high, client, label="all", reading="first"):
    return pd.DataFrame({"client": client, "reading": reading, "low": low, "high": high, "group all": label})


def test_shares_inside_by_hand():
    low, high = np.array([0.0, 0.05, 0.4, 0.85, 0.95]), np.array([0.2, 0.15, 0.6, 0.95, 1.0])
    assert inside_share(low, high, 0.8) == pytest.approx([0.5, 0.5, 1.0, 0.5, 0.0])
    assert inside_share(low, high, 0.5) == pytest.approx([0.0, 0.0, 1.0, 0.0, 0.0])
    # a printed band takes in every level that its ends fall on
    assert printed_holds(low, high, 0.8).tolist() == [True, True, True, True, False]


def test_uniform_values_are_covered_as_stated():
    rng = np.random.default_rng(1)
    ends = np.sort(rng.random((20000, 2)), axis=1)
    u = ends[:, 0] + rng.random(20000) * (ends[:, 1] - ends[:, 0])
    assert inside_share(*ends.T, 0.8).mean() == pytest.approx(((u > 0.1) & (u < 0.9)).mean(), abs=0.01)


def test_a_few_clients_with_most_rows_do_not_speak_for_all():
    # 97 clients with one reading inside, 3 with 300 readings outside
    low = np.concatenate([np.full(97, 0.4), np.full(900, 0.96)])
    client = np.concatenate([np.arange(97), np.repeat([97, 98, 99], 300)])
    row = coverage_table(readings(low, low + 0.04, client)).set_index("nominal").loc[0.8]
    # 1 + 1/2 + ... + 1/300 each, by hand: 6.2827
    held = 97 / (97 + 3 * 6.2826638802995)
    assert row["observed"] == pytest.approx(held)
    assert row["n"] == 100
    # Kish's effective number of 97 ones and three of 6.28
    n = (97 + 3 * 6.2826638802995) ** 2 / (97 + 3 * 6.2826638802995**2)
    assert [row["low"], row["high"]] == pytest.approx(np.array(wilson(held * n, n)))
    assert held > 0.8 > 97 / 997


def test_looking_less_often_at_fast_hair_tilts_nothing():
    """Whoever reads darker than the middle is read again, up to eight times; every reading is as expected."""
    rng = np.random.default_rng(8)
    u = rng.random((4000, 8))
    read = np.cumprod(np.column_stack([np.ones(4000), u[:, :-1] < 0.5]), axis=1).astype(bool)
    client = np.nonzero(read)[0]
    weight, value = reading_weights(client), u[read]
    assert weight @ value / weight.sum() == pytest.approx(0.5, abs=0.015)
    even = 1.0 / np.bincount(client)[client]
    assert even @ value / even.sum() > 0.55
    assert not len(flags_table(readings(value, value, client)))


def test_groups_of_fewer_than_20_clients_are_left_out():
    frame = readings(np.full(39, 0.4), np.full(39, 0.5), np.arange(39))
    frame["group half"] = ["small"] * 19 + ["large"] * 20
    assert set(coverage_table(frame)["group"]) == {"all", "large"}


def drawn(seed, scale=1.0, shift=0.0, clients=400):
    """Readings of which each was expected to be standard normal, as intervals of 0.4."""
    rng = np.random.default_rng(seed)
    client = np.repeat(np.arange(clients), 3)
    z = np.floor((shift + scale * rng.standard_normal(3 * clients)) / 0.4) * 0.4
    frame = readings(norm.cdf(z), norm.cdf(z + 0.4), client)
    frame["group half"] = np.where(client % 2, "odd", "even")
    return frame


def test_honest_readings_are_seldom_called_off():
    called = [len(flags_table(drawn(seed))) > 0 for seed in range(40)]
    assert sum(called) <= 4


def test_too_narrow_too_wide_and_to_one_side():
    narrow = flags_table(drawn(1, scale=1.33)).set_index(["group", "what"])
    assert {("all", "coverage"), ("odd", "coverage")} <= set(narrow.index)
    assert narrow.loc[("all", "coverage"), "observed"] == pytest.approx(
        2 * norm.cdf(1.2816 / 1.33) - 1, abs=0.03
    )
    wide = flags_table(drawn(2, scale=0.75)).set_index(["group", "what"])
    assert wide.loc[("all", "coverage"), "observed"] > 0.85
    aside = flags_table(drawn(3, shift=0.5)).set_index(["group", "what"])
    assert aside.loc[("all", "centre"), "observed"] == pytest.approx(norm.cdf(0.5 / np.sqrt(2)), abs=0.03)


def test_one_group_that_is_off_is_named():
    frame = drawn(4)
    odd = frame["group half"] == "odd"
    other = drawn(5, shift=-0.6)
    frame.loc[odd, ["low", "high"]] = other.loc[odd, ["low", "high"]]
    flags = flags_table(frame)
    assert ("odd", "centre") in set(zip(flags["group"], flags["what"], strict=True))
    assert "even" not in set(flags["group"])


def test_first_and_later_readings_together_tell_what_neither_does():
    """Readings scatter an eighth more than expected, 150 clients: neither kind alone is far enough off."""
    parts = []
    for seed, reading in ((34, "first"), (35, "later")):
        part = drawn(seed, scale=1.12, clients=150).assign(reading=reading).drop(columns="group half")
        alone = flags_table(part)
        assert not len(alone)
        parts.append(part)
    named = flags_table(pd.concat(parts))
    assert set(named["reading"]) == {"first", "later"}
    assert set(named["what"]) == {"coverage"}
    assert named["p"].iloc[0] == named["p"].iloc[1]
