"""The truths of an invented world: the curve of time, rounding, variants by name."""

import numpy as np
import pytest
import statsmodels.api as sm

from outcomes.demo.simulate import simulate_log
from outcomes.demo.worlds import WORLD_NAMES, World, world
from outcomes.errors import InputError


def test_power_curve():
    # 0.5 ** 0.62 and 1
    np.testing.assert_allclose(World().progress(np.array([22.5, 45.0])), [0.650670927, 1.0], rtol=1e-8)


def test_saturating_curve():
    # (1 - exp(-20/40)) / (1 - exp(-45/40)) = 0.3934693 / 0.6753475
    curve = world("saturating").progress(np.array([20.0, 45.0]))
    np.testing.assert_allclose(curve, [0.58261756, 1.0], rtol=1e-6)


def test_saturating_is_near_the_power_curve():
    minutes = np.arange(10.0, 61.0)
    gap = world("saturating").progress(minutes) - World().progress(minutes)
    assert 0.03 < np.abs(gap).max() < 0.07


def test_expected_rate_at_the_references():
    one = np.ones(1)
    rate = World().expected_log_rate(
        peroxide=6 * one, heat=0 * one, hair=0 * one, later=0 * one, true_start=5 * one
    )
    assert np.exp(rate[0]) == pytest.approx(4.3)


def test_expected_rate_with_everything():
    one = np.ones(1)
    rate = World().expected_log_rate(
        peroxide=12 * one, heat=0.22 * one, hair=-0.1 * one, later=one, true_start=8 * one
    )
    # log 4.3 + 0.42 log 2 + 0.22 - 0.10 - 0.12 - 0.02 * 3
    assert rate[0] == pytest.approx(1.458615023 + 0.291121816 + 0.22 - 0.10 - 0.12 - 0.06)


def test_readings_are_half_steps_within_the_scale():
    levels = World().rounded(np.array([0.2, 3.24, 3.25, 9.74, 9.75, 11.3]))
    np.testing.assert_array_equal(levels, [1.0, 3.0, 3.5, 9.5, 10.0, 10.0])


def test_variants_change_what_they_say():
    assert set(WORLD_NAMES) == {
        "plain", "no_looks", "look_bias", "heaped_results", "heavy_tails", "saturating", "reread_starts",
        "left_to_clock", "light_reader", "rounded_minutes_5", "rounded_minutes_15", "irregular_looks",
        "double_error", "slow_dropout", "new_product", "slower_quarter",
    }  # fmt: skip
    assert world("look_bias").look_bias == -0.3
    assert world("heaped_results").heaped_share == 0.8
    assert not world("no_looks").looks_recorded
    assert not world("left_to_clock").looks_recorded
    assert world("left_to_clock").clock_share == 0.4
    assert world("plain", tau_look=0.3).tau_look == 0.3


def test_unknown_names_are_refused():
    with pytest.raises(InputError, match="expected one of plain"):
        world("sunny")
    with pytest.raises(InputError, match="expected 'power' or 'saturating'"):
        World(shape="straight").progress(np.ones(1))


def _bias(tables, truth, rows):
    """Mean of results as written minus the true level, results within the scale."""
    written = tables["visits"]["achieved_level"].to_numpy()[rows]
    true = truth.rows["true_level"].to_numpy()[rows]
    inside = (true > 2) & (true < 9)
    return float((written - true)[inside].mean())


def test_the_busiest_stylist_reads_light():
    made = world("light_reader", copied_share=0.0)
    tables, truth = simulate_log(made, 2000, 3)
    who = truth.stylists.loc[truth.stylists["eye"] > 0, "stylist"].tolist()
    assert who == [truth.stylists.loc[truth.stylists["share"].idxmax(), "stylist"]]
    own = (tables["visits"]["stylist"] == who[0]).to_numpy()
    assert _bias(tables, truth, own) - _bias(tables, truth, ~own) == pytest.approx(0.5, abs=0.05)


@pytest.mark.parametrize("step", [5, 15])
def test_minutes_are_written_coarsely(step):
    made = world(f"rounded_minutes_{step}")
    tables, _ = simulate_log(made, 600, 3)
    visits, checks = tables["visits"], tables["checks"]
    assert (visits["minutes"] % step == 0).all()
    assert (checks["minutes"] % step == 0).all()
    assert visits["minutes"].min() >= step
    assert not checks.duplicated(["visit", "zone", "minutes"]).any()
    rinse = checks.merge(visits[["visit", "zone", "minutes"]], on=["visit", "zone"])
    assert (rinse["minutes_x"] <= rinse["minutes_y"]).all()
    # quarters of an hour put looks a few minutes before the rinse at its minute, though they read too dark
    assert step == 5 or (rinse["minutes_x"] == rinse["minutes_y"]).mean() > 0.1


def test_looks_come_irregularly():
    gaps = {}
    for name in ("plain", "irregular_looks"):
        checks = simulate_log(world(name), 1500, 3)[0]["checks"]
        gap = checks.groupby(["visit", "zone"])["minutes"].diff().dropna()
        gaps[name] = np.log(gap).std()
    assert gaps["irregular_looks"] > 1.5 * gaps["plain"]


def test_reading_errors_are_doubled():
    tables, truth = simulate_log(world("double_error", copied_share=0.0), 3000, 3)
    true = truth.rows["true_level"].to_numpy()
    inside = (true > 2) & (true < 9)
    error = (tables["visits"]["achieved_level"].to_numpy() - true)[inside]
    # a reading's own error, and that of rounding to half steps
    assert error.std() == pytest.approx(np.hypot(0.36, 0.5 / np.sqrt(12)), abs=0.02)


def test_slow_clients_leave_more_often():
    tables, truth = simulate_log(world("slow_dropout"), 4000, 3)
    effect = tables["visits"]["client"].map(truth.clients.set_index("client")["effect"]).to_numpy()
    failed = ~truth.rows["success"].to_numpy()
    gave_up = truth.rows["gave_up"].to_numpy()[failed]
    slow = effect[failed] < np.median(effect[failed])
    assert gave_up[slow].mean() > 1.5 * gave_up[~slow].mean()


def test_the_last_quarter_is_slower():
    for name in ("new_product", "slower_quarter"):
        tables, truth = simulate_log(world(name), 4000, 3)
        visits = tables["visits"]
        last = (visits["date"] >= np.datetime64("2023-01-03") + np.timedelta64(548 - 91, "D")).to_numpy()
        rows = truth.rows
        rest = rows["log_rate"] - rows["case_effect"] - rows["visit_effect"]
        model = sm.OLS(
            rest,
            np.column_stack(
                [np.ones(len(visits)), last, np.log(visits["peroxide_pct"]), rows["true_start"]]
                + [visits["hair"] == word for word in ("coloured", "lightened")]
                + [visits["heat"] == word for word in ("low", "medium", "high")]
                + [rows["session"] > 1]
            ).astype(float),
        ).fit()
        assert model.params.iloc[1] == pytest.approx(np.log(0.85), abs=0.03)
        assert set(visits["product"][last]) == ({"P5"} if name == "new_product" else {"P1", "P2", "P3", "P4"})
        assert "P5" not in set(visits["product"][~last])
