import numpy as np
import pandas as pd
import pytest
from lifelines import KaplanMeierFitter

from outcomes.calibration.reliability import _by_chance, longest_time, reach_table, sessions_table


def test_as_lifelines_by_size_of_the_stated_chance():
    rng = np.random.default_rng(1)
    chance = rng.random(600)
    time = rng.exponential(1.0 / chance)
    seen = rng.exponential(2.0, 600)
    done, followed = time <= seen, np.minimum(time, seen)
    table = _by_chance(chance, followed, done, 1.0)
    for row in table.to_dict("records"):
        here = (chance >= row["from"]) & (chance < row["to"])
        fitted = KaplanMeierFitter().fit(followed[here], done[here])
        assert row["observed"] == pytest.approx(1.0 - float(fitted.predict(1.0)), abs=1e-9)
        assert row["predicted"] == pytest.approx(chance[here].mean())
        assert row["left_failed"] == pytest.approx((done & (followed <= 1.0))[here].mean())
        assert row["n"] == here.sum()
        band = fitted.confidence_interval_survival_function_
        low, high = 1.0 - band.loc[:1.0].iloc[-1].to_numpy()[::-1]
        assert (row["low"], row["high"]) == (pytest.approx(low, abs=1e-6), pytest.approx(high, abs=1e-6))


def test_few_clients_make_no_row():
    chance = np.r_[np.full(19, 0.2), np.full(20, 0.6)]
    table = _by_chance(chance, np.ones(39), np.ones(39, bool), 1.0)
    assert table["n"].tolist() == [20]


def test_longest_time_is_the_planned_or_the_stylist_s_usual():
    visits = pd.DataFrame(
        {
            "stylist": ["A"] * 6 + ["B"] * 2,
            "minutes": [40.0, 42, 44, 46, 48, 20, 30, 35],
            "stop": ["time"] * 5 + ["target"] * 3,
            "planned_minutes": [np.nan] * 6 + [50.0, np.nan],
        }
    )
    # A's five visits rinsed for time have 44 in the middle; B has none, so all of them stand in
    assert longest_time(visits).tolist() == [44.0] * 6 + [50.0, 44.0]


def test_chances_on_an_honest_log_come_true(small):
    held = small.calibrated.held_out
    for table in (reach_table(small.checked, held, 1), sessions_table(small.checked, held, 1)):
        assert len(table) >= 3
        inside = (table["low"] <= table["predicted"]) & (table["predicted"] <= table["high"])
        assert inside.mean() > 0.6
        off = np.average(np.abs(table["predicted"] - table["observed"]), weights=table["n"])
        assert off < 0.1


def test_chances_of_another_plan_do_not(small):
    """The same clients told what somebody twice as fast would be told."""
    import dataclasses

    held = small.calibrated.held_out
    fast = []
    for one in held.predictives:
        coefficients = one.draws["coefficients"].copy()
        coefficients[:, list(one.design.names).index("intercept")] += np.log(2.0)
        fast.append(dataclasses.replace(one, draws={**one.draws, "coefficients": coefficients}))
    table = sessions_table(small.checked, dataclasses.replace(held, predictives=tuple(fast)), 1)
    first = table[table["sessions"] == 1]
    assert np.average(first["predicted"] - first["observed"], weights=first["n"]) > 0.1
