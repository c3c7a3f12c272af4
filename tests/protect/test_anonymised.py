"""The report on a log that may be handed on: its numbers counted anew by plain pandas."""

from __future__ import annotations

from dataclasses import replace

import pytest

from outcomes.log.schema import TABLES
from tests.protect.small_logs import KNOWN, joined, shared, small_log


@pytest.fixture(scope="module")
def log():
    return small_log(260, 110, 1)


@pytest.fixture(scope="module")
def made(log):
    return shared(log)


def test_rows_in_are_rows_that_leave_and_rows_left_out(log, made):
    released, done = made
    for table in TABLES:
        n = done.rows[table]
        assert n["in"] == len(getattr(log, table)) == n["released"] + n["left_out"]
        assert n["released"] == len(getattr(released, table))
    assert done.rows["visits"]["left_out"] <= 0.05 * len(log.visits)


def test_k_before_and_after_are_what_pandas_counts(log, made):
    released, done = made
    before = log.visits.assign(date=log.visits["date"].dt.to_period("M"))
    clients = before.groupby(KNOWN, dropna=False)["client"].transform("nunique")
    assert done.clients_before == clients.min() == 1
    assert done.rows_below == (clients < 3).sum()
    groups = released.visits.groupby(KNOWN, dropna=False)
    assert done.clients_after == groups["client"].nunique().min() >= 3
    assert done.combinations == groups.ngroups
    alike = groups["achieved_level"].min() == groups["achieved_level"].max()
    assert done.same_result == alike.sum()
    assert done.same_result_rows == groups.size()[alike].sum()


def test_only_used_rows_leave(log):
    """`visits` of a log that was read holds used rows alone; those set aside are counted."""
    counts = {**log.counts, "visits": {"in": len(log.visits) + 7, "used": len(log.visits), "set_aside": 7}}
    noted = replace(
        log,
        counts=counts,
        notes=(
            'visits.csv: column "remark" isn\'t part of a visit log and was kept out',
            "visits.csv: peroxide_pct: 20 vol as 6 (9 cells)",
        ),
    )
    released, done = shared(noted)
    assert done.rows["visits"]["set_aside"] == 7
    assert done.kept_out == (noted.notes[0],)
    assert released.notes == ()
    assert released.faults.empty
    assert released.warnings.empty


def test_changes_are_counted(log, made):
    released, done = made
    rows = joined(log, released)
    changes = {change.column: change for change in done.changes}
    away = (rows["start_level"] - rows["start_level_was"]).abs()
    assert changes["start_level"].cells == (away > 0).sum()
    assert changes["start_level"].mean == pytest.approx(away[away > 0].mean(), abs=0.005)
    assert changes["start_level"].most == away.max()
    way = (rows["goal_level"] - rows["start_level"]) - (rows["goal_level_was"] - rows["start_level_was"])
    assert changes["goal_level"].cells == (way != 0).sum()
    for name in ("texture", "colour_history", "product", "salon"):
        assert changes[name].of == rows[f"{name}_was"].notna().sum()
        assert changes[name].cells == (rows[f"{name}_was"].notna() & rows[name].isna()).sum()
    assert changes["zone"].cells == (rows["zone"] != rows["zone_was"]).sum()
    assert done.to_dict()["changes"][0]["column"] == "date"
