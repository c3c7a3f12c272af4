"""A whole invented log: its form, the course of its courses, and that a plain regression goes wrong on it."""

import numpy as np
import pandas as pd
import pytest

from outcomes.demo.columns import COLUMNS
from outcomes.demo.simulate import simulate_log
from outcomes.demo.worlds import WORLD_NAMES, world
from outcomes.errors import InputError
from outcomes.log.schema import TABLES, columns

N = 3000


@pytest.fixture(scope="module")
def plain():
    return simulate_log(world(), N, 11)


@pytest.mark.parametrize("name", WORLD_NAMES)
def test_canonical_columns_in_every_world(name):
    tables, truth = simulate_log(world(name), 300, 2)
    assert len(tables["visits"]) == len(truth.rows) == 300
    for table, frame in tables.items():
        assert tuple(frame.columns) == COLUMNS[table]
        assert list(frame.columns) == [column.name for column in columns(table)]
    assert set(tables) == set(TABLES)
    assert (len(tables["checks"]) > 0) == world(name).looks_recorded


def test_same_seed_same_log(plain):
    again, _ = simulate_log(world(), N, 11)
    other, _ = simulate_log(world(), N, 12)
    for table, frame in plain[0].items():
        pd.testing.assert_frame_equal(frame, again[table])
    assert not plain[0]["visits"]["minutes"].equals(other["visits"]["minutes"])


def test_rows_are_unique_and_in_order_of_date(plain):
    visits = plain[0]["visits"]
    assert not visits.duplicated(["visit", "zone"]).any()
    assert visits["date"].is_monotonic_increasing
    assert visits["date"].min() >= pd.Timestamp("2023-01-03")
    assert visits["date"].max() < pd.Timestamp("2023-01-03") + pd.Timedelta(days=548)
    assert not visits["date"].dt.day_of_week.isin([0, 6]).any()  # closed on Sundays and Mondays


def test_numbers_keep_to_the_log_s_ranges(plain):
    visits = plain[0]["visits"]
    for column in ("start_level", "goal_level", "achieved_level"):
        assert visits[column].between(1, 10).all()
        assert (visits[column] % 0.5 == 0).all()
    assert (visits["goal_level"] > visits["start_level"]).all()
    assert visits["planned_minutes"].between(20, 60).all()
    assert (visits["minutes"] <= visits["planned_minutes"]).all()
    assert (visits["minutes"] >= 2).all()
    assert set(visits["peroxide_pct"]) == {3.0, 6.0, 9.0, 12.0}
    assert visits["condition_after"].between(1, 5).all()


def test_stops_are_a_plausible_mix(plain):
    shares = plain[0]["visits"]["stop"].value_counts(normalize=True)
    assert 0.5 < shares["target"] < 0.75
    assert 0.2 < shares["time"] < 0.45
    assert 0.005 < shares["condition"] < 0.05
    assert "other" not in shares


def test_checks_are_the_looks_below_the_goal(plain):
    visits, checks = plain[0]["visits"], plain[0]["checks"]
    joined = checks.merge(visits, on=["visit", "zone"], suffixes=("", "_rinsed"))
    assert len(joined) == len(checks)
    assert (joined["level"] < joined["goal_level"]).all()
    assert (joined["minutes"] <= joined["minutes_rinsed"]).all()
    target = joined[joined["stop"] == "target"]
    assert (target["minutes"] < target["minutes_rinsed"]).all()
    counted = checks.groupby(["visit", "zone"]).size()
    counted = counted.reindex(pd.MultiIndex.from_frame(visits[["visit", "zone"]]), fill_value=0)
    np.testing.assert_array_equal(counted.to_numpy(), visits["looks"].to_numpy())


def test_intervals_between_looks_lie_mostly_in_5_to_15(plain):
    checks = plain[0]["checks"]
    before = checks.groupby(["visit", "zone"])["minutes"].shift().fillna(0.0)
    interval = checks["minutes"] - before
    assert (interval >= 2).all()
    assert interval.between(5, 15).mean() > 0.9
    by_stylist = interval.groupby(
        checks["visit"].map(plain[0]["visits"].set_index("visit")["stylist"])
    ).mean()
    assert by_stylist.max() - by_stylist.min() > 3
    assert interval.groupby(level=0).first().std() > 1


def sessions_in_pairs(tables, truth):
    """Each row that has a later one in its course, beside that one."""
    rows = tables["visits"].join(truth.rows[["true_start", "true_level", "session"]])
    nxt = rows.assign(session=rows["session"] - 1)
    return rows.merge(nxt, on=["course", "session"], suffixes=("", "_next"))


def test_courses_go_on_from_the_true_level(plain):
    pairs = sessions_in_pairs(*plain)
    assert len(pairs) > 300
    np.testing.assert_array_equal(pairs["start_level_next"], pairs["achieved_level"])
    np.testing.assert_array_equal(pairs["true_start_next"], pairs["true_level"])
    assert (pairs["hair_next"] == "lightened").all()
    assert (pairs["stop"] != "target").all()
    assert (pairs["achieved_level"] < pairs["goal_level"]).all()
    assert (pairs["goal_level"] == pairs["goal_level_next"]).all()
    assert (pairs["date_next"] - pairs["date"] >= pd.Timedelta(days=24)).all()


def test_reread_starts_are_new_readings():
    pairs = sessions_in_pairs(*simulate_log(world("reread_starts"), N, 11))
    assert 0.1 < (pairs["start_level_next"] != pairs["achieved_level"]).mean() < 0.7
    np.testing.assert_array_equal(pairs["true_start_next"], pairs["true_level"])
    error = (pairs["start_level_next"] - pairs["true_start_next"])[
        pairs["goal_level"] - pairs["true_level"] > 1
    ]
    # rounding and reading error: sqrt(0.18**2 + 0.5**2 / 12) = 0.231
    assert error.std() == pytest.approx(0.231, abs=4 * 0.231 / np.sqrt(2 * len(error)))


def test_ends_of_courses(plain):
    tables, truth = plain
    visits = tables["visits"].join(truth.rows[["success", "gave_up"]])
    last = visits[~visits["course"].duplicated(keep="last")]
    assert visits["course_end"].notna().sum() == len(last)
    assert set(last["course_end"]) == {"reached", "given_up", "open"}
    reached = last["course_end"] == "reached"
    np.testing.assert_array_equal(
        reached, (last["stop"] == "target") | (last["achieved_level"] >= last["goal_level"])
    )
    assert visits["course"].nunique() > visits["client"].nunique()  # several courses for some clients


def test_first_starts_are_readings_of_the_true_level(plain):
    tables, truth = plain
    first = (truth.rows["session"] == 1).to_numpy()
    error = (tables["visits"]["start_level"] - truth.rows["true_start"])[first]
    assert abs(error.mean()) < 4 * 0.231 / np.sqrt(first.sum())
    assert error.std() == pytest.approx(0.231, abs=4 * 0.231 / np.sqrt(2 * first.sum()))


def test_spreads_are_those_of_the_world(plain):
    truth = plain[1]
    clients = truth.clients["effect"]
    # those with more visits aren't faster: the clients in the log are a fair draw
    assert clients.std() == pytest.approx(0.20, abs=4 * 0.20 / np.sqrt(2 * len(clients)))
    assert truth.rows["visit_effect"].std() == pytest.approx(0.14, abs=4 * 0.14 / np.sqrt(2 * N))
    assert len(truth.stylists) == N / 120
    assert truth.stylists["visits"].sum() == N


def test_heavy_tails_keep_the_sd():
    clients = simulate_log(world("heavy_tails"), 20_000, 3)[1].clients["effect"] / 0.20
    # share beyond 3 sd: t with 4 df beyond 3 sqrt(2) = 4.243 has 0.01324; a normal one 0.0027
    assert (clients.abs() > 3).mean() == pytest.approx(0.01324, abs=4 * np.sqrt(0.01324 / len(clients)))


def test_later_sessions_and_choices_follow_the_need(plain):
    visits = plain[0]["visits"]
    need = (visits["goal_level"] - visits["start_level"]).groupby(visits["peroxide_pct"]).mean()
    assert need.is_monotonic_increasing
    assert need[12.0] - need[3.0] > 1.5


def test_results_written_as_the_goal():
    heaped = simulate_log(world("heaped_results"), N, 4)[0]["visits"]
    target = heaped[heaped["stop"] == "target"]
    assert (target["achieved_level"] == target["goal_level"]).mean() > 0.8


def test_half_of_the_stylists_copy_the_look(plain):
    tables, truth = plain
    assert truth.stylists["copies"].sum() == round(len(truth.stylists) / 2)
    visits = tables["visits"].merge(truth.stylists[["stylist", "copies"]], on="stylist")
    below = visits[(visits["stop"] == "target") & (visits["achieved_level"] < visits["goal_level"])]
    assert len(below) > 20
    assert not below["copies"].any()


def test_no_looks_written_down():
    tables, truth = simulate_log(world("no_looks"), N, 11)
    visits = tables["visits"]
    assert tables["checks"].empty
    assert visits["looks"].isna().all()
    assert visits["look_every"].notna().mean() == pytest.approx(0.7, abs=4 * np.sqrt(0.21 / N))
    habit = visits["stylist"].map(truth.stylists.set_index("stylist")["interval"])
    known = visits["look_every"].notna()
    np.testing.assert_array_equal(visits["look_every"][known], habit[known])


def test_sessions_left_to_the_clock_run_to_their_time():
    """Nobody sees them reach the goal, nor the hair's condition: both stops are rarer by the share left."""
    n = 6_000
    seen, _ = simulate_log(world("no_looks"), n, 11)
    left, _ = simulate_log(world("left_to_clock"), n, 11)
    for stop in ("target", "condition"):
        looked, other = ((tables["visits"]["stop"] == stop).mean() for tables in (seen, left))
        # a first session seen to its goal needs no second, so later sessions differ a little too
        assert other == pytest.approx(0.6 * looked, abs=4 * np.sqrt(looked / n) + 0.03 * looked)
    alone, _ = simulate_log(world("left_to_clock", clock_share=1.0), 500, 1)
    assert set(alone["visits"]["stop"]) <= {"time", "other"}


def test_the_look_that_ended_a_visit_may_be_written():
    tables, _ = simulate_log(world("plain", final_look_share=1.0), 500, 1)
    joined = tables["checks"].merge(tables["visits"], on=["visit", "zone"], suffixes=("", "_rinsed"))
    ended = (joined["level"] >= joined["goal_level"]) & (joined["minutes"] == joined["minutes_rinsed"])
    assert ended.sum() == (tables["visits"]["stop"] == "target").sum()


def test_two_zones_share_a_visit():
    visits = simulate_log(world("plain", two_zone_share=0.3), 1000, 1)[0]["visits"]
    shared = visits[visits["visit"].duplicated(keep=False)].groupby("visit")
    assert len(shared) > 100
    for column in ("client", "stylist", "date"):
        assert (
            shared[column].transform("first") == visits[column][visits["visit"].duplicated(keep=False)]
        ).all()
    assert (shared["zone"].nunique() == 2).all()


def test_least_squares_on_final_rows_gets_the_shape_wrong(plain):
    """Fast hair is rinsed early, so log lift hardly grows with log minutes: well below the true 0.62."""
    visits = plain[0]["visits"]
    rows = visits[visits["achieved_level"] > visits["start_level"]]
    words = pd.get_dummies(rows[["heat", "hair", "texture", "zone", "wrap"]], drop_first=True, dtype=float)
    design = np.column_stack(
        [
            np.ones(len(rows)),
            np.log(rows["minutes"] / 45.0),
            np.log(rows["peroxide_pct"] / 6.0),
            rows["start_level"],
            rows["course"].duplicated(),
            words,
        ]
    ).astype(float)
    lift = np.log((rows["achieved_level"] - rows["start_level"]).to_numpy(dtype=float))
    shape = np.linalg.lstsq(design, lift, rcond=None)[0][1]
    assert 0.15 < shape < 0.45


def test_an_empty_log_is_refused():
    with pytest.raises(InputError, match="n_visits 0: expected 1 or more"):
        simulate_log(world(), 0, 1)


def test_quarters_of_a_stylist_move_rates_and_nothing_else():
    """Each client's first visit is drawn as without them; its log R gets what the stylist's columns say."""
    found = []
    for sd in (0.0, 0.2):
        tables, truth = simulate_log(world(n_stylists=5, sd_quarter=sd), 300, 3)
        rows = tables["visits"].assign(log_rate=truth.rows["log_rate"])
        found.append(rows.sort_values(["date", "visit"]).drop_duplicates("client").set_index("client"))
    still, moved = found
    both = still.index.intersection(moved.index)
    still, moved = still.loc[both], moved.loc[both]
    assert len(both) > 90
    for name in ("date", "stylist", "zone", "peroxide_pct", "goal_level"):
        assert (still[name] == moved[name]).all()
    effects = truth.stylists.set_index("stylist").filter(like="quarter_")
    quarter = (moved["date"].dt.year - 2023) * 4 + (moved["date"].dt.month - 1) // 3
    told = [effects.loc[code, f"quarter_{q}"] for code, q in zip(moved["stylist"], quarter, strict=True)]
    assert (moved["log_rate"] - still["log_rate"]).to_numpy() == pytest.approx(told)
    assert effects.shape == (5, 7)
    assert effects.to_numpy().std() == pytest.approx(0.2, rel=0.3)
