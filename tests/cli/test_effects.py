import json

import pytest

from outcomes.cli.main import main
from outcomes.predictive.saved import save_model


@pytest.fixture
def model(predictive, tmp_path) -> str:
    save_model(predictive, tmp_path / "m.json")
    return str(tmp_path / "m.json")


def test_json_keys(model, capsys):
    assert main(["effects", model, "--json"]) == 0
    printed = json.loads(capsys.readouterr().out)
    assert printed["notes"] == ["implied looks: 120"]
    lift = printed["lift"]
    assert set(lift) == {"shape", "terms", "coverage", "sd"}
    assert set(lift["shape"]) == {"family", "value", "low", "high"}
    assert lift["terms"][0] == {"term": "peroxide", "value": 0.42, "low": 0.36, "high": 0.48}
    assert lift["terms"][1] == {"term": "heat[low]", "ratio": 1.08, "low": 1.04, "high": 1.13}
    assert set(lift["sd"]) == {"stylist", "client", "product", "visit", "reading", "look"}


def test_text(model, capsys):
    assert main(["effects", model]) == 0
    lines = [line.split() for line in capsys.readouterr().out.splitlines()]
    assert ["peroxide", "0.42", "0.36", "to", "0.48", "exponent", "on", "peroxide/6"] in lines
    assert ["heat[low]", "x", "1.08", "1.04", "to", "1.13", "rate", "against", "no", "heat"] in lines
    assert ["shape", "0.62", "0.59", "to", "0.65", "power"] in lines
    # what a fit has to say of its numbers goes with them
    assert ["note:", "implied", "looks:", "120"] in lines


def test_damaged_model(capsys, tmp_path):
    (tmp_path / "m.json").write_text("{")
    assert main(["effects", str(tmp_path / "m.json")]) == 2
    assert capsys.readouterr().err.count("\n") == 1
