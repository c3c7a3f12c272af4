"""A folder that logs are merged into: what happens to each row, and a kill at any moment."""

from __future__ import annotations

import csv
import os
import shutil
import sys
from datetime import UTC, datetime

import pandas as pd
import pytest

from outcomes.errors import InputError
from outcomes.log.incoming import bring_in
from outcomes.log.mapfile import NO_MAP, LogMap
from outcomes.log.read import read_log
from outcomes.log.store import merge_into
from outcomes.log.swapped import current_files
from tests.log.conftest import csv_text

NOW = datetime(2026, 1, 2, 3, 4, 5, tzinfo=UTC)


@pytest.fixture
def log(tmp_path):
    def write(name, visits, **tables):
        place = tmp_path / name
        place.mkdir()
        (place / "visits.csv").write_text(csv_text(visits), encoding="utf-8")
        for table, rows in tables.items():
            (place / f"{table}.csv").write_text(csv_text(rows), encoding="utf-8")
        return place

    return write


@pytest.fixture
def merge(tmp_path):
    def run(*paths, shared=False, **rest):
        logs = [bring_in(path, NO_MAP, **rest) for path in paths]
        return merge_into(tmp_path / "group", logs, shared=shared, now=NOW)

    return run


def journal(tmp_path):
    with (tmp_path / "group" / "journal.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def held(tmp_path):
    found = read_log(tmp_path / "group")
    assert all(count["set_aside"] == 0 for count in found.counts.values())
    return found


def files(folder):
    return {p.name: p.read_bytes() for p in folder.iterdir() if p.name != ".lock"}


def counts(merged, name, table="visits"):
    return {key: n for key, n in merged.counts[name][table].items() if n}


CHECKS = [{"visit": "V1", "minutes": "20", "level": "5"}]
WASHES = [{"visit": "V1", "washes": "6", "level": "7"}]


def test_rows_of_two_logs_become_one_log(tmp_path, log, merge, visit):
    one = log("june", [visit()], checks=CHECKS)
    two = log("july", [visit(visit="V2", date="2024-07-01")], washes=[WASHES[0] | {"visit": "V2"}])
    merged = merge(one, two)
    assert counts(merged, "june") == {"in": 1, "added": 1}
    assert counts(merged, "july", "washes") == {"in": 1, "added": 1}
    found = held(tmp_path)
    assert found.visits["visit"].tolist() == ["V1", "V2"]
    assert found.checks["visit"].tolist() == ["V1"]
    assert found.washes["visit"].tolist() == ["V2"]
    names = ("action", "table", "visit", "file", "row")
    assert [tuple(row[name] for name in names) for row in journal(tmp_path)] == [
        ("added", "visits", "V1", "june/visits.csv", "2"),
        ("added", "checks", "V1", "june/checks.csv", "2"),
        ("added", "visits", "V2", "july/visits.csv", "2"),
        ("added", "washes", "V2", "july/washes.csv", "2"),
    ]  # fmt: skip
    assert {row["when"] for row in journal(tmp_path)} == {"2026-01-02T03:04:05Z"}


def test_the_same_rows_again_change_no_byte(tmp_path, log, merge, visit):
    path = log("june", [visit(), visit(visit="V2", minutes="x")], checks=CHECKS, washes=WASHES)
    first = merge(path)
    assert counts(first, "june") == {"in": 2, "added": 1, "set_aside": 1}
    before = files(tmp_path / "group")
    again = merge(path, path)
    assert counts(again, "june") == {"in": 2, "unchanged": 1, "set_aside": 1}
    assert counts(again, "june (2)", "washes") == {"in": 1, "unchanged": 1}
    assert not again.changes
    assert files(tmp_path / "group") == before
    assert sum(row["action"] == "set_aside" for row in journal(tmp_path)) == 1


def test_the_same_rows_in_another_spelling_are_the_same(tmp_path, log, merge, visit):
    merge(log("june", [visit()]))
    before = files(tmp_path / "group")
    merged = merge(
        log("again", [visit(minutes="0:45", peroxide_pct="20 vol", date="14.03.2024", hair="Virgin")])
    )
    assert counts(merged, "again") == {"in": 1, "unchanged": 1}
    assert files(tmp_path / "group") == before


def test_a_corrected_row_replaces_the_old_one_and_both_are_told(tmp_path, log, merge, visit):
    merge(log("june", [visit(), visit(visit="V2")], checks=CHECKS, washes=WASHES))
    merged = merge(
        log("mended", [visit(achieved_level="7")], checks=[CHECKS[0] | {"level": "5.5"}],
            washes=[WASHES[0] | {"level": "6.5"}, WASHES[0] | {"washes": "12", "level": "6"}]),
    )  # fmt: skip
    assert counts(merged, "mended") == {"in": 1, "corrected": 1}
    assert counts(merged, "mended", "checks") == {"in": 1, "corrected": 1}
    assert counts(merged, "mended", "washes") == {"in": 2, "corrected": 1, "added": 1}
    found = held(tmp_path)
    assert found.visits[["visit", "achieved_level"]].to_numpy().tolist() == [["V1", 7.0], ["V2", 7.5]]
    assert found.checks["level"].tolist() == [5.5]
    assert found.washes[["washes", "level"]].to_numpy().tolist() == [[6.0, 6.5], [12.0, 6.0]]
    told = [row for row in journal(tmp_path) if row["action"] == "corrected"]
    assert ['"achieved_level": 7.5' in row["before"] for row in told] == [True, False, False]
    assert ['"achieved_level": 7,' in row["after"] for row in told] == [True, False, False]
    assert told[1]["before"] == '{"visit": "V1", "zone": "lengths", "minutes": 20, "level": 5}'


def test_readings_find_a_visit_that_an_earlier_log_brought(tmp_path, log, merge, visit):
    merge(log("june", [visit()]))
    merge(log("july", [visit(visit="V2")], washes=[WASHES[0], WASHES[0] | {"visit": "V9"}]))
    assert held(tmp_path).washes["visit"].tolist() == ["V1"]
    (aside,) = (row for row in journal(tmp_path) if row["action"] == "set_aside")
    assert (aside["visit"], aside["file"], aside["row"]) == ("V9", "july/washes.csv", "3")
    assert "a visit that has zone lengths in visits" in aside["reason"]
    # the visit comes later: the same log once more brings its reading in
    merge(log("august", [visit(visit="V9")]))
    merge(tmp_path / "july")
    assert held(tmp_path).washes["visit"].tolist() == ["V1", "V9"]


def test_a_code_of_another_client_and_day_is_set_aside_with_its_readings(tmp_path, log, merge, visit):
    merge(log("north", [visit()], checks=CHECKS))
    other = visit(client="C9", date="2024-05-05", stylist="S9")
    merged = merge(log("south", [other], checks=[CHECKS[0] | {"level": "6"}]))
    assert counts(merged, "south") == {"in": 1, "set_aside": 1}
    assert counts(merged, "south", "checks") == {"in": 1, "set_aside": 1}
    assert held(tmp_path).visits["client"].tolist() == ["C1"]
    assert held(tmp_path).checks["level"].tolist() == [5.0]
    first, *_ = (row for row in journal(tmp_path) if row["action"] == "set_aside")
    assert "stands for another client or day" in first["reason"]
    assert '"client": "C9"' in first["after"]


def test_a_corrected_client_or_day_alone_is_a_correction(tmp_path, log, merge, visit):
    merge(log("june", [visit()]))
    assert counts(merge(log("a", [visit(client="C2")])), "a") == {"in": 1, "corrected": 1}
    assert counts(merge(log("b", [visit(client="C2", date="2024-03-15")])), "b") == {"in": 1, "corrected": 1}
    assert held(tmp_path).visits[["client"]].to_numpy().tolist() == [["C2"]]


def test_codes_that_begin_anew_every_month_write_nothing_over(tmp_path, log, merge, visit):
    """Visit 1 of July and visit 1 of August: the same client on another day, and another client that day."""
    merge(log("july", [visit(visit="1"), visit(visit="2", client="C2")]))
    later = {"start_level": "6", "hair": "lightened", "achieved_level": "8"}
    august = [visit(visit="1", date="2024-04-14", **later), visit(visit="2", client="C3", **later)]
    merged = merge(log("august", august))
    assert counts(merged, "august") == {"in": 2, "set_aside": 2}
    assert held(tmp_path).visits["start_level"].tolist() == [4.0, 4.0]
    told = [row["reason"] for row in journal(tmp_path) if row["action"] == "set_aside"]
    assert all("stands for another client or day in the merged log" in reason for reason in told)


def test_a_new_zone_of_another_client_or_day_is_another_visit(tmp_path, log, merge, visit):
    merge(log("june", [visit()]))
    merged = merge(log("later", [visit(zone="roots", date="2024-03-15")]))
    assert counts(merged, "later") == {"in": 1, "set_aside": 1}


def test_a_log_that_lacks_a_column_keeps_what_is_known_of_it(tmp_path, log, merge, visit):
    looked = [CHECKS[0] | {"read_on": "wet"}]
    first = log("whole", [visit(chair_minutes="150", product="P1")], checks=looked)
    merge(first, salon="N")
    again = [visit(minutes="50", product="", chair_minutes=""), visit(visit="V2", product="P2")]
    merged = merge(log("without", again, checks=[CHECKS[0] | {"level": "5.5"}]))
    assert counts(merged, "without") == {"in": 2, "corrected": 1, "added": 1}
    row = held(tmp_path).visits.iloc[0]
    assert (row["salon"], row["chair_minutes"], row["minutes"]) == ("N", 150, 50)
    assert pd.isna(row["product"])  # a column with words in it says that there was none
    assert held(tmp_path).checks[["level", "read_on"]].to_numpy().tolist() == [[5.5, "wet"]]
    assert not merge(log("same", [visit(minutes="50")])).changes


def test_a_correction_that_parts_the_zones_of_a_visit_is_not_taken(tmp_path, log, merge, visit):
    merge(log("june", [visit(), visit(zone="roots")]))
    merged = merge(log("mended", [visit(client="C2")]))
    assert counts(merged, "mended") == {"in": 1, "set_aside": 1}
    assert held(tmp_path).visits["client"].tolist() == ["C1", "C1"]
    # both rows together are a correction
    merged = merge(log("both", [visit(client="C2"), visit(zone="roots", client="C2")]))
    assert counts(merged, "both") == {"in": 2, "corrected": 2}
    assert held(tmp_path).visits["client"].tolist() == ["C2", "C2"]


def test_a_look_past_the_corrected_rinse_is_set_aside_and_not_lost(tmp_path, log, merge, visit):
    merge(log("june", [visit()], checks=[CHECKS[0], CHECKS[0] | {"minutes": "40", "level": "7"}]))
    merge(log("mended", [visit(minutes="30")]))
    assert held(tmp_path).checks["minutes"].tolist() == [20.0]
    (aside,) = (row for row in journal(tmp_path) if row["action"] == "set_aside")
    assert aside["file"] == "(the merged log)"
    assert '"minutes": 40, "level": 7' in aside["after"]
    assert "at most 30, when it was rinsed" in aside["reason"]


def test_codes_of_two_salons_are_refused_told_apart_or_shared(tmp_path, log, merge, visit):
    north = log("north", [visit(salon="N")], checks=CHECKS)
    south = log(
        "south",
        [visit(salon="S", visit="V7", date="2024-06-01", course="K1")],
        washes=[WASHES[0] | {"visit": "V7"}],
    )
    with pytest.raises(InputError) as refused:
        merge(north, south)
    assert "1 client code (C1 in N and in S) and 1 stylist code (S1 in N and in S)" in str(refused.value)
    assert not (tmp_path / "group" / "visits.csv").exists()
    merge(north, south, apart=True)
    found = held(tmp_path)
    assert found.visits[["visit", "client", "stylist"]].to_numpy().tolist() == [
        ["N-V1", "N-C1", "N-S1"], ["S-V7", "S-C1", "S-S1"],
    ]  # fmt: skip
    assert found.visits["course"].tolist()[1] == "S-K1"
    assert (found.checks["visit"].tolist(), found.washes["visit"].tolist()) == (["N-V1"], ["S-V7"])
    shutil.rmtree(tmp_path / "group")
    merge(north, south, shared=True)
    assert held(tmp_path).visits["client"].tolist() == ["C1", "C1"]
    # what was shared once is no news the next time
    assert not merge(north, south).changes


def test_one_visit_code_of_two_salons_is_set_aside_even_where_people_are_shared(tmp_path, log, merge, visit):
    merged = merge(log("north", [visit(salon="N")]), log("south", [visit(salon="S")]), shared=True)
    assert counts(merged, "south") == {"in": 1, "set_aside": 1}
    assert held(tmp_path).visits["salon"].tolist() == ["N"]


def test_a_salon_may_be_named_for_rows_that_do_not_say_it(tmp_path, log, merge, visit):
    path = log("north", [visit(), visit(visit="V2", salon="X")])
    with pytest.raises(InputError, match=r"row 2 says no salon.*--salon"):
        merge(path, apart=True)
    merge(path, apart=True, salon="N")
    assert held(tmp_path).visits["visit"].tolist() == ["N-V1", "X-V2"]


def test_a_folder_of_something_else_is_left_alone(tmp_path, log, merge, visit):
    path = log("june", [visit()])
    group = tmp_path / "group"
    group.mkdir()
    (group / "visits.parquet").write_text("x")
    with pytest.raises(InputError, match=r"already holds visits\.parquet"):
        merge(path)
    (group / "visits.parquet").unlink()
    (group / "journal.csv").write_text("my,diary\n")
    with pytest.raises(InputError, match="not the journal"):
        merge(path)
    (group / "journal.csv").unlink()
    (group / "visits.csv").write_text(csv_text([visit(), visit(visit="V2", minutes="x")]))
    with pytest.raises(InputError, match="1 of its rows can't be used"):
        merge(path)
    assert (group / "visits.csv").read_text() == csv_text([visit(), visit(visit="V2", minutes="x")])


def test_formulas_stay_text(tmp_path, log, merge, visit):
    merge(log("june", [visit(client="=1+1", product="@x")]))
    text = (tmp_path / "group" / "visits.csv").read_text()
    assert "'=1+1" in text
    assert held(tmp_path).visits["client"].tolist() == ["=1+1"]
    merge(log("mended", [visit(client="=1+1", product="+y")]))
    assert all(not (row["before"] + row["after"]).startswith(("=", "+", "@")) for row in journal(tmp_path))


def test_a_map_makes_codes_and_the_same_day_is_the_same_visit(tmp_path, visit):
    rows = [{k: v for k, v in visit().items() if k != "visit"}]
    (tmp_path / "a.csv").write_text(csv_text(rows), encoding="utf-8")
    said = LogMap(visit_codes="client and date")
    for changes in (True, False):
        merged = merge_into(tmp_path / "group", [bring_in(tmp_path / "a.csv", said)], now=NOW)
        assert merged.changes is changes
    assert held(tmp_path).visits["visit"].tolist() == ["C1 2024-03-14"]


_CHANGES = {"open", "os.rename", "os.remove", "os.mkdir", "os.truncate"}


def _killed_after(steps, run):
    """Run in a child process that ends at once, as by SIGKILL, before its n-th change to a file.

    Returns whether it came to its end.
    """
    child = os.fork()
    if child == 0:
        left = [steps]

        def count(event, args):
            if event not in _CHANGES:
                return
            # an opening for reading changes nothing
            if event == "open" and not (isinstance(args[2], int) and args[2] & (os.O_WRONLY | os.O_RDWR)):
                return
            left[0] -= 1
            if left[0] < 0:
                os._exit(9)

        sys.addaudithook(count)
        try:
            run()
            os._exit(0)
        except BaseException:
            os._exit(3)
    return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])


@pytest.mark.slow
def test_a_kill_at_any_moment_leaves_the_old_log_or_the_new_one(tmp_path, log, merge, visit):
    merge(log("june", [visit(), visit(visit="V2")], checks=CHECKS))
    later = log("july", [visit(achieved_level="7"), visit(visit="V3")], washes=WASHES,
                checks=[CHECKS[0] | {"level": "5.5"}])  # fmt: skip
    old = tmp_path / "old"
    shutil.copytree(tmp_path / "group", old)
    merge(later)
    new = tmp_path / "new"
    shutil.copytree(tmp_path / "group", new)
    tables = ("visits", "checks", "washes")
    wanted = {where: [getattr(read_log(where), table) for table in tables] for where in (old, new)}
    names = [*(f"{table}.csv" for table in tables), "journal.csv"]
    written = {
        where: [(where / name).read_bytes() if (where / name).exists() else b"" for name in names]
        for where in (old, new)
    }
    ended, seen = None, []
    for steps in range(200):
        shutil.rmtree(tmp_path / "group")
        shutil.copytree(old, tmp_path / "group")
        ended = _killed_after(steps, lambda: merge(later))
        assert ended in (0, 9)
        pending = current_files(tmp_path / "group")
        now = [(pending.get(name) or tmp_path / "group" / name) for name in names]
        now = [path.read_bytes() if path.exists() else b"" for path in now]
        same = [now == texts for texts in written.values()]
        assert sum(same) == 1, f"neither log after {steps} changes"
        seen.append(same.index(True))
        if steps % 4 and ended:
            continue
        found = [getattr(held(tmp_path), table) for table in tables]
        expected = wanted[(old, new)[seen[-1]]]
        assert all(map(pd.DataFrame.equals, found, expected))
        # whoever merges next finishes or repeats it, and leaves nothing behind
        merge(later)
        assert files(tmp_path / "group").keys() == files(new).keys()
        for table in tables:
            assert (tmp_path / "group" / f"{table}.csv").read_bytes() == (new / f"{table}.csv").read_bytes()
        assert [row | {"when": ""} for row in journal(tmp_path)] == [
            row | {"when": ""}
            for row in csv.DictReader((new / "journal.csv").open(encoding="utf-8", newline=""))
        ]
        if ended == 0:
            break
    assert ended == 0
    assert seen == sorted(seen)  # once new, it stays new
    assert seen.count(0) >= 8
    assert seen.count(1) >= 5
