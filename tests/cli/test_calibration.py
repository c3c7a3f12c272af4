import json
from dataclasses import replace

import pandas as pd
import pytest

from outcomes.calibration.audit import COLUMNS, TABLES, with_audit
from outcomes.cli.main import main
from outcomes.demo.simulate import simulate_log
from outcomes.demo.worlds import world
from outcomes.predictive.saved import save_model
from tests.show.figures.test_calibration import invented

KEYS = {*TABLES, "heights", "by_chance", "recalibration", "notes", "shape", "limits"}


@pytest.fixture
def model(predictive, tmp_path):
    save_model(with_audit(predictive, invented()), tmp_path / "m.json")
    return tmp_path / "m.json"


@pytest.fixture(scope="module")
def log():
    return simulate_log(world("plain"), 300, 21)[0]


def test_json_of_a_model(model, capsys):
    assert main(["calibration", str(model), "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert set(found) == {"lift", "fade", "fade_left_out"}
    assert found["fade"] == {}
    assert set(found["lift"]) == KEYS
    assert any("can't be told from speed of lift" in limit for limit in found["lift"]["limits"])
    row = found["lift"]["coverage"][0]
    assert set(row) == {"group", "reading", "nominal", "observed", "low", "high", "printed", "n"}
    assert row["reading"] in ("first", "later")
    assert {"predicted", "observed", "low", "high", "n"} <= set(found["lift"]["reach"][0])


def test_words_for_people(model, capsys):
    assert main(["calibration", str(model)]) == 0
    said = capsys.readouterr().out
    assert said.startswith("A band meant to hold 8 times in 10 held ")
    rows = invented().coverage.set_index(["group", "reading", "nominal"])
    share = rows.loc[("new clients", "first", 0.8), "observed"]
    assert f"held {100 * share:.0f} % of the time" in " ".join(said.split())
    assert "Bias by eye can't be told from speed of lift" in " ".join(said.split())
    assert all(len(line) <= 80 for line in said.splitlines())


def test_a_folder_of_tables_and_figures(model, tmp_path, capsys):
    folder = tmp_path / "audit"
    assert main(["calibration", str(model), "--to", str(folder)]) == 0
    names = {path.name for path in folder.iterdir()}
    figures = {f"{name}.{kind}" for name in ("coverage", "reliability", "pit") for kind in ("png", "svg")}
    assert names == {f"{table}.csv" for table in TABLES} | figures
    assert all(path.stat().st_size for path in folder.iterdir())


def test_a_table_without_a_row_has_its_headings(predictive, tmp_path):
    nothing = replace(invented(), flags=pd.DataFrame(columns=list(COLUMNS["flags"])))
    save_model(with_audit(predictive, nothing), tmp_path / "m.json")
    assert main(["calibration", str(tmp_path / "m.json"), "--to", str(tmp_path / "audit")]) == 0
    for table in TABLES:
        found = pd.read_csv(tmp_path / "audit" / f"{table}.csv")
        assert tuple(found.columns) == COLUMNS[table]
        assert len(found) == (0 if table == "flags" else len(getattr(nothing, table)))


def test_a_model_whose_bands_were_not_checked(predictive, tmp_path, capsys):
    save_model(predictive, tmp_path / "bare.json")
    assert main(["calibration", str(tmp_path / "bare.json")]) == 2
    assert "its bands weren't checked" in capsys.readouterr().err


@pytest.mark.parametrize("source", ["nothing", "nothing.model.json"])
def test_no_such_source(source, capsys):
    assert main(["calibration", source]) == 2
    said = capsys.readouterr().err
    assert said.count("\n") == 1
    assert "nothing" in said


def test_a_file_where_a_folder_is_wanted(model, capsys):
    assert main(["calibration", str(model), "--to", str(model)]) == 2
    assert "found a file" in capsys.readouterr().err


@pytest.mark.slow
def test_a_log_is_fitted_and_checked(log, tmp_path, capsys):
    for name in ("visits", "checks"):
        log[name].to_csv(tmp_path / f"{name}.csv", index=False)
    assert main(["calibration", str(tmp_path), "--json"]) == 0
    found = json.loads(capsys.readouterr().out)["lift"]
    assert set(found) == KEYS | {"other"}
    assert len(found["scores"]) == 4
    assert {"model", "crps", "interval_score_80", "log_score", "n"} == set(found["scores"][0])
    assert {"spread", "reading", "df", "later"} <= set(found["recalibration"])
    assert any("told by those before" in row["group"] for row in found["coverage"])


def test_a_log_of_too_few_clients(log, tmp_path, capsys):
    log["visits"].iloc[:12].to_csv(tmp_path / "visits.csv", index=False)
    assert main(["calibration", str(tmp_path)]) == 2
    assert "that takes 20 clients, and the log has" in capsys.readouterr().err
