"""`outcomes anonymise`: what is written, said and refused; the work itself is tested elsewhere."""

from __future__ import annotations

import json
import stat
from contextlib import nullcontext, suppress

import pandas as pd
import pytest

from outcomes.calibration.moved import Moved
from outcomes.cli.main import main
from outcomes.demo.simulate import simulate_log
from outcomes.demo.worlds import world
from outcomes.log.read import read_log
from outcomes.log.write import write_log
from tests.models.logs import as_log
from tests.protect.small_logs import KNOWN, small_log

MOVED = Moved(
    pd.DataFrame(
        [("lift", "heat[low]", "ratio", 1.1, 1.2, 0.1, 0.87)],
        columns=["model", "term", "kind", "before", "after", "se", "moved"],
    ),
    {},
)


@pytest.fixture
def unfitted(monkeypatch):
    """Fits are stood in for."""
    monkeypatch.setattr(
        "outcomes.calibration.moved.estimates_moved", lambda log, changed, doing=nullcontext: MOVED
    )


@pytest.fixture
def salon(tmp_path):
    """A log with a column of remarks, a code that would run as a formula, and a row that is set aside."""
    place = tmp_path / "salon"
    log = small_log(240, 100, 6)
    log.visits["client"] = log.visits["client"].replace({"C1": "=1+1"})
    write_log(log, place)
    first, *lines = (place / "visits.csv").read_text().splitlines()
    lines = [f"{line},Ann's daughter {i}" for i, line in enumerate(lines)]
    bad = lines[0].replace("V0,", "V9999,").replace(",roots,", ",nowhere,").replace(",lengths,", ",nowhere,")
    bad = bad.replace(",all,", ",nowhere,").replace("C", "Cset aside", 1)
    (place / "visits.csv").write_text("\n".join([f"{first},remark", *lines, bad]) + "\n")
    return place


@pytest.fixture
def places(salon, tmp_path):
    command = [str(salon), "--to", str(tmp_path / "shared"), "--key-file", str(tmp_path / "salon.key")]
    return [*command, "--period", "year"]


def all_text(folder):
    return "".join(path.read_text() for path in sorted(folder.iterdir()))


@pytest.mark.usefixtures("unfitted")
def test_files_key_and_report(places, tmp_path, capsys):
    assert main(["anonymise", *places, "--min-clients", "3"]) == 0
    out = capsys.readouterr().out
    key = tmp_path / "salon.key"
    assert stat.S_IMODE(key.stat().st_mode) == 0o600
    assert sorted(path.name for path in (tmp_path / "shared").iterdir()) == [
        "checks.csv", "visits.csv", "washes.csv"
    ]  # fmt: skip
    assert f"{key}: the key, made for its owner alone" in out
    assert "1 set aside stay here" in out
    assert 'column "remark" isn\'t part of a visit log' in " ".join(out.split())
    assert max(len(line) for line in out.splitlines() if str(tmp_path) not in line) <= 80
    # no remark, no row that was set aside, no formula, and nothing of the key, in any file or on the screen
    written = all_text(tmp_path / "shared")
    for secret in ("Ann", "V9999", "set aside", "=1+1", key.read_text().strip(), key.read_text()[:16]):
        assert secret not in written
    assert key.read_text().strip() not in out
    again = read_log(tmp_path / "shared")
    assert again.faults.empty
    assert again.visits.groupby(KNOWN, dropna=False)["client"].nunique().min() >= 3


@pytest.mark.usefixtures("unfitted")
def test_json_is_one_object(places, capsys):
    assert main(["anonymise", *places, "--min-clients", "3", "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["clients_before"] == 1
    assert told["clients_after"] >= 3
    assert told["key_made"] is True
    assert told["files"] == ["visits.csv", "checks.csv", "washes.csv"]
    n = told["rows"]["visits"]
    assert n["set_aside"] == 1
    assert n["in"] == n["released"] + n["left_out"]
    assert told["moved"]["models"]["lift"][0]["term"] == "heat[low]"
    assert told["quasi_identifiers"] == KNOWN


@pytest.mark.usefixtures("unfitted")
def test_the_same_key_gives_the_same_files_and_another_key_others(salon, tmp_path):
    for folder, key in (("one", "a.key"), ("two", "a.key"), ("three", "b.key")):
        command = [
            str(salon),
            "--to",
            str(tmp_path / folder),
            "--key-file",
            str(tmp_path / key),
            "--period",
            "year",
        ]
        assert main(["anonymise", *command, "--min-clients", "3"]) == 0
    assert all_text(tmp_path / "one") == all_text(tmp_path / "two")
    clients = [set(read_log(tmp_path / name).visits["client"]) for name in ("one", "three")]
    assert not clients[0] & clients[1]


def refused(command, capsys):
    """The one line on standard error."""
    assert main(["anonymise", *command]) == 2
    printed = capsys.readouterr()
    assert printed.out == ""
    assert printed.err.startswith("outcomes: ")
    assert printed.err.count("\n") == 1
    return printed.err


def written(tmp_path):
    return sorted(path.name for path in tmp_path.iterdir())


@pytest.mark.usefixtures("unfitted")
def test_nothing_stays_where_writing_fails_half_way(places, tmp_path, capsys, monkeypatch):
    from outcomes.log import write

    whole = write.write_table

    def full(frame, table, path, form="csv"):
        if table == "checks":
            raise OSError(28, "No space left on device")
        whole(frame, table, path, form)

    monkeypatch.setattr(write, "write_table", full)
    for had in (False, True):
        if had:
            (tmp_path / "shared").mkdir()
        with suppress(OSError):
            main(["anonymise", *places, "--min-clients", "3"])
        capsys.readouterr()
        assert written(tmp_path) == (["salon", "shared"] if had else ["salon"])
    assert not list((tmp_path / "shared").iterdir())


def test_a_folder_that_holds_something(places, tmp_path, capsys):
    (tmp_path / "shared").mkdir()
    (tmp_path / "shared" / "visits.csv").write_text("another log")
    assert "found visits.csv in it" in refused(places, capsys)
    assert (tmp_path / "shared" / "visits.csv").read_text() == "another log"
    assert written(tmp_path) == ["salon", "shared"]


def test_the_log_s_own_folder_and_a_file_as_folder(places, salon, tmp_path, capsys):
    places[2] = str(salon)
    assert "in it; all of that folder will be handed on" in refused(places, capsys)
    places[2] = str(salon / "visits.csv")
    assert "found a file; name a folder" in refused(places, capsys)
    assert written(tmp_path) == ["salon"]


@pytest.mark.parametrize(
    ("key", "what"),
    [
        ("shared/k.key", "the folder to hand on"),
        ("salon/k.key", "the log"),
        ("salon/deep/../k.key", "the log"),
        ("shared", "the folder to hand on"),
    ],
)
def test_a_key_beside_what_it_protects(places, tmp_path, capsys, key, what):
    (tmp_path / "salon" / "deep").mkdir()
    places[4] = str(tmp_path / key)
    assert f"is, or lies in, {what}; keep the key apart from both" in refused(places, capsys)
    assert "shared" not in written(tmp_path)


def test_a_key_through_a_link_into_the_folder(places, salon, tmp_path, capsys):
    (tmp_path / "elsewhere").symlink_to(salon)
    places[4] = str(tmp_path / "elsewhere" / "k.key")
    assert "lies in, the log" in refused(places, capsys)


def test_keys_that_cannot_be_used(places, tmp_path, capsys):
    key = tmp_path / "salon.key"
    key.write_text("ab" * 32)
    key.chmod(0o644)
    assert f"chmod 600 {key}" in refused(places, capsys)
    key.chmod(0o600)
    key.write_text("short")
    assert "found no key in it" in refused(places, capsys)
    places[4] = str(tmp_path / "none" / "k.key")
    assert "found no folder for it" in refused(places, capsys)
    assert written(tmp_path) == ["salon", "salon.key"]


@pytest.mark.parametrize(
    ("few", "said"), [("1", "expected 2 or more"), ("x", "invalid int value"), ("99", "could be reached")]
)
def test_numbers_of_clients_that_do_not_do(places, tmp_path, capsys, few, said):
    assert said in refused([*places, "--min-clients", few], capsys)
    assert written(tmp_path) == ["salon"]


def test_a_log_that_cannot_be_used(places, salon, tmp_path, capsys):
    first = (salon / "visits.csv").read_text().splitlines()[0]
    (salon / "visits.csv").write_text(first + "\n" + "," * first.count(",") + "\n")
    refused(places, capsys)
    (salon / "visits.csv").unlink()
    assert "without visits.csv" in refused(places, capsys)
    assert written(tmp_path) == ["salon"]


@pytest.mark.usefixtures("unfitted")
def test_nothing_stays_half_written(places, tmp_path, capsys, monkeypatch):
    """The folder can't be made, after all was worked out: then no new key stays either."""
    (tmp_path / "wall").write_text("")
    places[2] = str(tmp_path / "wall" / "shared")
    assert "can't be written" in refused([*places, "--min-clients", "3"], capsys)
    assert written(tmp_path) == ["salon", "wall"]


@pytest.mark.slow
def test_a_log_is_handed_on_and_fitted(tmp_path, capsys):
    """300 invented visits from end to end, fits and all; what left is fitted by the command itself."""
    write_log(as_log(simulate_log(world("plain"), 300, 4)[0]), tmp_path / "log")
    command = [str(tmp_path / "log"), "--to", str(tmp_path / "shared"), "--key-file", str(tmp_path / "k")]
    command += ["--period", "year"]
    assert main(["anonymise", *command, "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["clients_after"] >= 5
    lift = {row["term"]: row for row in told["moved"]["models"]["lift"]}
    assert abs(lift["peroxide"]["moved"]) < 1.5
    assert abs(lift["power shape"]["moved"]) < 3.0
    assert all(
        abs(row["moved"]) < 0.5 for row in told["moved"]["models"]["level"] if row["moved"] is not None
    )
    assert main(["fit", str(tmp_path / "shared"), "--to", str(tmp_path / "m.json")]) == 0
    assert "300 visits" in capsys.readouterr().out
