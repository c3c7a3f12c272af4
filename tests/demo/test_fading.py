"""Readings after washes against the stated fade; tolerances are 4 standard errors."""

import numpy as np
import pytest

from outcomes.demo.fading import FADE_THETA, ROOT_TONE, SHAMPOO, TONER_TONE
from outcomes.demo.simulate import simulate_log
from outcomes.demo.worlds import world


@pytest.fixture(scope="module")
def faded():
    tables, _ = simulate_log(world("plain", wash_share=1.0), 4000, 6)
    visits = tables["visits"][["visit", "salon", "root_level", "root_tone", "toner_tone"]]
    return tables["washes"].merge(visits.drop_duplicates("visit"), on="visit")


def mean_factor(rows, tones, column):
    """Mean rate over its base: tone and shampoo known, client and visit log-normal (0.25 and 0.15)."""
    fixed = rows[column].map(tones) + rows["shampoo"].map(SHAMPOO)
    return np.exp(fixed + (0.25**2 + 0.15**2) / 2) * (rows["washes"] / 10) ** FADE_THETA


def test_root_shades_drift_at_the_stated_rate(faded):
    roots = faded[(faded["zone"] == "roots") & (faded["root_level"] < 7)]
    drift = roots["level"] - roots["root_level"]
    expected = 0.55 * mean_factor(roots, ROOT_TONE, "root_tone")
    error = (drift - expected).groupby(roots["visit"]).mean()
    assert abs(error.mean()) < 4 * error.std() / np.sqrt(len(error))
    assert len(error) > 500


def test_toner_washes_out(faded):
    tone = faded[(faded["zone"] != "roots") & (faded["washes"] > 0)]
    assert tone["tone_left"].dropna().isin([0, 25, 50, 75, 100]).all()
    by_washes = tone["tone_left"].groupby(np.minimum(tone["washes"] // 10, 3)).mean()
    assert by_washes.is_monotonic_decreasing
    # about the median visit: 100 exp(-0.45) = 64 % after 10 washes of a beige toner with plain shampoo
    near = tone[
        tone["washes"].between(9, 11) & (tone["toner_tone"] == "beige") & (tone["shampoo"] == "plain")
    ]
    assert near["tone_left"].mean() == pytest.approx(64, abs=8)
    assert set(tone["toner_tone"]) == set(TONER_TONE)


def test_readings_are_in_order_and_once(faded):
    assert not faded.duplicated(["visit", "zone", "washes"]).any()
    assert (faded.groupby(["visit", "zone"], sort=False)["washes"].diff().dropna() > 0).all()
    assert faded["washes"].between(0, 200).all()


def test_one_salon_measures_from_no_washes_on(faded):
    measured = faded[faded["L"].notna()]
    assert set(measured["salon"]) == {"L1"}
    assert (measured.groupby(["visit", "zone"])["washes"].min() == 0).all()
    # the violet toner washes out, so b* rises
    first = measured.groupby(["visit", "zone"])["b"].first()
    last = measured.groupby(["visit", "zone"])["b"].last()
    assert (last - first).mean() > 1
