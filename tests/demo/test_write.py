"""The demo files: the same bytes as in data_demo, and every slip found where it was put."""

from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from outcomes.demo.write import NUMPY_VERSION, demo_world, faulty_log, salon_group, write_demo
from outcomes.log.read import read_log
from outcomes.log.schema import REASONS

DATA = Path(__file__).parents[2] / "data_demo"
FILES = sorted(
    f"{folder}/{name}.csv" for folder in ("salon_group", "faulty") for name in ("visits", "checks", "washes")
)


@pytest.fixture(scope="module")
def written(tmp_path_factory):
    return write_demo(tmp_path_factory.mktemp("demo"))


@pytest.mark.parametrize("name", ["README.md", *FILES])
def test_the_files_come_out_byte_for_byte(written, name):
    note = f"made with numpy {NUMPY_VERSION}, this is {np.__version__}"
    assert (written / name).read_bytes() == (DATA / name).read_bytes(), note


def test_nothing_else_is_written(written):
    assert sorted(str(p.relative_to(written)) for p in written.rglob("*.csv")) == sorted(FILES)
    assert all((written / name).stat().st_size < 3_000_000 for name in FILES)


def test_the_group_is_what_its_readme_says():
    tables, _, truth = salon_group()
    visits = tables["visits"]
    assert len(visits) == 2501
    assert set(visits["stylist"]) - {""} == {f"S{i:02d}" for i in range(1, 15)}
    assert set(visits["salon"]) == {"L1", "L2", "L3"}
    assert truth.world.theta == demo_world().theta == 0.62
    dates = pd.to_datetime(visits["date"], errors="coerce").dropna()
    assert dates.max() - dates.min() > pd.Timedelta(days=520)
    quiet = visits["stylist"].isin(["S05", "S09"])
    assert not tables["checks"]["visit"].isin(visits.loc[quiet, "visit"]).any()
    assert (visits.loc[visits["stylist"] == "S05", "looks"] == "").all()
    assert (visits.loc[visits["stylist"] == "S05", "look_every"] != "").all()


def test_minutes_are_heaped():
    visits = salon_group()[0]["visits"]
    minutes = pd.to_numeric(visits["minutes"], errors="coerce")
    fives = (minutes % 5 == 0).groupby(visits["stylist"]).mean()
    assert fives[["S03", "S07", "S11"]].min() > 0.97
    assert fives[["S01", "S02", "S04"]].max() < 0.7


@pytest.mark.parametrize(
    "name", ["texture", "mix_ratio", "quoted_sessions", "warmth", "root_level", "toner_tone"]
)
def test_optional_cells_are_missing(name):
    assert 0.01 < (salon_group()[0]["visits"][name] == "").mean() < 0.5


@pytest.mark.parametrize(
    ("folder", "slips"), [("salon_group", salon_group()[1]), ("faulty", faulty_log()[1])]
)
def test_every_slip_is_a_fault_and_nothing_else_is(written, folder, slips):
    log = read_log(written / folder)
    found = set(zip(log.faults["file"], log.faults["row"], log.faults["column"], strict=True))
    assert found == {(f"{slip.table}.csv", slip.row, slip.column) for slip in slips}
    for table, count in log.counts.items():
        assert count["in"] == count["used"] + count["set_aside"]
        assert count["set_aside"] == sum(slip.table == table for slip in slips)


def test_the_faulty_log_has_most_kinds_of_fault_and_says_no_more(written):
    log = read_log(written / "faulty")
    kinds = {code for code, reason in REASONS.items() if reason.kind == "fault"}
    assert len(kinds) / 2 < len(kinds & set(log.faults["code"])) < len(kinds)
    readme = (written / "README.md").read_text(encoding="utf-8")
    assert "most kinds of fault" in readme
    assert "every kind" not in readme + str(faulty_log.__doc__)
    assert set(log.faults["code"]) == {
        "missing", "unreadable", "no_such_date", "out_of_range", "off_grid", "goal_not_above_start",
        "achieved_below_start", "peroxide_limit", "repeated", "codes_collide", "after_rinse", "no_visit",
    }  # fmt: skip
    assert set(log.warnings["code"]) == {
        "target_below_goal", "heaped_minutes", "no_time_stops", "start_far_from_last", "level_jump",
    }  # fmt: skip
