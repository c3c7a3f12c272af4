"""A whole log that may be handed on: what holds of its files, counted anew by plain pandas."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from outcomes.demo.simulate import simulate_log
from outcomes.demo.worlds import world
from outcomes.errors import InputError
from outcomes.log.read import read_log
from outcomes.log.schema import TABLES, columns
from outcomes.log.write import write_log
from outcomes.models.lift import LiftModel
from outcomes.protect.generalise import PERIODS
from outcomes.readings.courses import assign_courses
from tests.protect.small_logs import KEY, KNOWN, OTHER, joined, part, read_as, shared, small_log

CODES = [c.name for c in columns("visits") if c.kind == "text"]


@pytest.fixture(scope="module")
def log():
    return small_log(260, 110, 1)


@pytest.fixture(scope="module")
def made(log):
    return shared(log)


def test_it_reads_back_as_it_was_written_without_a_fault(made, tmp_path):
    released, _ = made
    write_log(released, tmp_path / "out")
    again = read_log(tmp_path / "out")
    assert again.faults.empty
    for table in TABLES:
        pd.testing.assert_frame_equal(getattr(again, table), getattr(released, table))
    assert again.given == released.given


@settings(max_examples=60, deadline=None, derandomize=True, suppress_health_check=[HealthCheck.too_slow])
@given(
    n=st.integers(1, 220),
    clients=st.integers(1, 150),
    least=st.integers(2, 5),
    seed=st.integers(0, 10_000),
    salons=st.integers(1, 2),
    days=st.sampled_from([1, 60, 900]),
    period=st.sampled_from(PERIODS),
)
def test_refused_or_enough_clients_share_every_combination(n, clients, least, seed, salons, days, period):
    log = small_log(n, clients, seed, salons=salons, days=days)
    try:
        released, done = shared(log, least=least, period=period)
    except InputError:
        return
    groups = released.visits.groupby(KNOWN, dropna=False)
    assert groups["client"].nunique().min() >= least
    assert len(released.visits) >= 0.95 * len(log.visits)
    assert done.rows["visits"]["released"] == len(released.visits)
    levels = released.visits[["start_level", "goal_level", "achieved_level"]]
    assert levels.min().min() >= 1
    assert levels.max().max() <= 10
    assert (levels["goal_level"] > levels["start_level"]).all()
    assert (levels["achieved_level"] >= levels["start_level"] - 0.5).all()
    assert not released.visits.duplicated(["visit", "zone"]).any()


def test_the_files_hold_no_code_and_no_day_of_the_log(log, made, tmp_path):
    released, _ = made
    text = "".join(path.read_text() for path in write_log(released, tmp_path / "out"))
    cells = {cell for line in text.splitlines() for cell in line.split(",")}
    for name in CODES:
        assert not cells & set(log.visits[name].dropna())
    assert set(released.visits["date"].dt.day) == {1}
    days = set(log.visits["date"].dt.strftime("%Y-%m-%d"))
    assert not {day for day in days if not day.endswith("-01")} & cells
    assert KEY.hex()[:12] not in text


def test_another_key_gives_other_pseudonyms_and_nothing_else(log, made):
    released, _ = made
    other, _ = shared(log, OTHER)
    for name in CODES:
        one, two = (set(x.visits[name].dropna()) for x in (released, other))
        assert not one & two
    rows = [x.visits.drop(columns=CODES).sort_values("chair_minutes") for x in (released, other)]
    assert rows[0].reset_index(drop=True).equals(rows[1].reset_index(drop=True))
    # and rows stand in another order
    assert rows[0].index.tolist() != rows[1].index.tolist()


def test_two_quarters_under_one_key_agree():
    """All visits of two quarters together, and of the second alone: the same client, stylist, visit codes."""
    log = small_log(500, 120, 8, days=180)
    quarter = log.visits["date"].dt.to_period("Q")
    both, _ = shared(log, period="quarter")
    one, _ = shared(part(log, quarter == quarter.max()), period="quarter")
    rows = one.visits.merge(both.visits, on="chair_minutes", suffixes=("", "_of_both"))
    assert 100 < len(rows) < len(both.visits)
    assert len(rows) > 0.9 * len(one.visits)  # each may have left others out
    for name in ("client", "stylist", "visit"):
        assert (rows[name] == rows[f"{name}_of_both"]).all()


def test_levels_gained_and_all_that_is_not_known_stay(log, made):
    rows = joined(log, made[0])
    moved = rows["start_level"] - rows["start_level_was"]
    result = (rows["achieved_level_was"] + moved).clip(1, 10)
    assert (rows["achieved_level"] == result).all()
    inside = result.between(1.5, 9.5)
    gained = rows["achieved_level"] - rows["start_level"]
    assert (gained == rows["achieved_level_was"] - rows["start_level_was"])[inside].all()
    for name in ("minutes", "peroxide_pct", "heat", "stop", "hair", "root_level", "root_tone"):
        assert (rows[name] == rows[f"{name}_was"]).all()
    # a measured level would say where a moved one was
    assert rows.loc[moved != 0, "start_L"].isna().all()
    assert rows.loc[moved == 0, "start_L"].equals(rows.loc[moved == 0, "start_L_was"])
    assert (moved != 0).sum() > 20


def test_looks_and_later_readings_follow_their_row(log, made):
    released, _ = made
    rows = joined(log, released)
    rows["moved"] = rows["start_level"] - rows["start_level_was"]
    was = log.checks.merge(rows, left_on=["visit", "zone"], right_on=["visit_was", "zone_was"])
    found = released.checks.merge(
        was[["visit_y", "zone_y", "level", "moved"]],
        left_on=["visit", "zone"],
        right_on=["visit_y", "zone_y"],
        suffixes=("", "_was"),
    )
    assert len(found) == len(released.checks) > 50
    assert (found["level"] == (found["level_was"] + found["moved"]).clip(1, 10)).all()
    roots = released.washes["zone"] == "roots"
    assert (released.washes.loc[roots, "level"] == 7.0).all()  # the root shade's own
    assert not (released.washes.loc[~roots, "level"] == 7.0).all()
    known = set(zip(released.visits["visit"], released.visits["zone"], strict=True))
    lengths = released.washes[~roots]
    assert set(zip(lengths["visit"], lengths["zone"], strict=True)) <= known
    assert set(released.washes["visit"]) <= set(released.visits["visit"])


def test_rows_stand_in_the_order_of_their_new_dates_and_codes(made):
    released, _ = made
    keys = released.visits[["date", "visit", "zone"]]
    pd.testing.assert_frame_equal(keys, keys.sort_values(["date", "visit", "zone"], ignore_index=True))
    place = dict(zip(released.visits["visit"], range(len(released.visits)), strict=True))
    for table in (released.checks, released.washes):
        assert table["visit"].map(place).is_monotonic_increasing


@pytest.mark.parametrize("period", PERIODS)
def test_two_visits_of_one_month_keep_their_order(period):
    log = small_log(900, 300, 7, salons=1, days=300)
    released, _ = shared(log, period=period)
    rows = joined(log, released)
    rows["number"] = rows["visit_was"].str.slice(1).astype(int)
    rows = rows.sort_values(["client", "date_was", "number"]).drop_duplicates("visit")
    month = rows["date_was"].dt.to_period("M").astype(str)
    again = rows.duplicated("client") & (month == month.shift())
    assert again.sum() > 10
    assert (rows["visit"] > rows["visit"].shift())[rows.duplicated("client")].all()


def test_courses_are_those_of_the_log(log, made):
    """The reader, which has no exact dates any more, puts the same rows together, and with the same end."""
    rows = joined(log, made[0])
    before = assign_courses(log.visits)
    after = assign_courses(made[0].visits)
    was = before.iloc[(rows["chair_minutes"] - 10).astype(int)].reset_index(drop=True)
    pairs = set(zip(was["course"], after["course"], strict=True))
    assert len(pairs) == was["course"].nunique() == after["course"].nunique()
    assert (after["end"] == was["end"]).all()
    complete = was.groupby("course")["course"].transform("size") == was["course"].map(
        before["course"].value_counts()
    )
    assert complete.mean() > 0.9
    assert (after["session"] == was["session"])[complete].all()


def test_a_course_code_of_the_log_gets_a_pseudonym():
    log = small_log(200, 60, 4)
    coded = replace(log, visits=log.visits.assign(course="K" + log.visits["client"].str.slice(1)))
    released, _ = shared(coded)
    assert released.visits["course"].str.fullmatch("k[0-9a-f]{12}").all()
    chains = assign_courses(coded.visits)["course"].nunique()
    assert assign_courses(released.visits)["course"].nunique() <= chains


@pytest.mark.parametrize("least", [1, 0, -3])
def test_fewer_than_two_clients_is_no_protection(log, least):
    with pytest.raises(InputError, match="expected 2 or more"):
        shared(log, least=least)


def test_no_visits(log):
    empty = read_as(log.visits.iloc[:0], log.checks.iloc[:0], log.washes.iloc[:0])
    with pytest.raises(InputError, match="no visit that can be used"):
        shared(empty)


def test_a_log_of_visits_alone(log):
    alone = read_as(log.visits, log.checks.iloc[:0], log.washes.iloc[:0])
    released, _ = shared(alone)
    assert len(released.checks) == len(released.washes) == 0


def test_the_log_itself_stays_as_it_was(log):
    again = small_log(260, 110, 1)
    shared(log)
    for table in TABLES:
        pd.testing.assert_frame_equal(getattr(log, table), getattr(again, table))


def test_lift_can_be_fitted():
    """300 invented visits; estimates that words given up don't bear on stay within 3 standard errors."""
    from tests.models.logs import as_log

    log = as_log(simulate_log(world("plain"), 300, 1)[0])
    released, done = shared(log, least=5)
    assert done.clients_after >= 5
    before, after = (LiftModel(shapes=("power",)).fit(one).fit_ for one in (log, released))
    se = pd.Series(np.sqrt(np.diagonal(before.joint_covariance)), index=before.joint_covariance.index)
    for term in ("peroxide", "heat[low]", "heat[medium]", "heat[high]", "zone[roots]"):
        assert abs(after.coefficients[term] - before.coefficients[term]) < 1.5 * se[term]
    assert before.shape is not None
    assert after.shape is not None
    assert abs(after.shape.value - before.shape.value) < 3.0 * se["shape"]
