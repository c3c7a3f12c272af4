import dataclasses
import hashlib
import json
import os
from pathlib import Path

import numpy as np
import pytest

from outcomes.errors import InputError, ModelFileError
from outcomes.predictive.distribution import DRAWS
from outcomes.predictive.saved import as_predictive, load_model, model_text, save_model


@pytest.fixture
def model(predictive, tmp_path) -> Path:
    save_model(predictive, tmp_path / "salon.model.json")
    return tmp_path / "salon.model.json"


def _changed(model: Path, change) -> None:
    """Write the file anew with a changed content and the checksum that belongs to it."""
    stored = json.loads(model.read_text())
    change(stored["lift"])
    stored.pop("checksum")
    first = {key: stored.pop(key) for key in ("format", "version")}
    body = json.dumps(stored)[1:] + "\n"
    checksum = "sha256:" + hashlib.sha256(body.encode()).hexdigest()
    model.write_text(json.dumps(first | {"checksum": checksum})[:-1] + ",\n" + body)


def test_round_trip(predictive, model):
    again = load_model(model).lift
    for name in (*DRAWS, "coefficients", "stylist", "product"):
        assert np.allclose(again.draws[name], predictive.draws[name], rtol=1e-6, atol=1e-12)
    for field in (
        "family",
        "stylists",
        "products",
        "covariates",
        "later_hair",
        "support",
        "basis",
        "effects",
        "notes",
    ):
        assert getattr(again, field) == getattr(predictive, field)
    assert again.recalibration == predictive.recalibration
    assert again.design.names == predictive.design.names
    assert np.array_equal(again.look_gaps.by_stylist, predictive.look_gaps.by_stylist)
    assert np.array_equal(again.hazard.coefficients, predictive.hazard.coefficients)


def test_saving_what_was_loaded_gives_the_same_text(model):
    assert model_text(load_model(model)) == model.read_text()


def test_a_person_reads_first_what_it_is(model):
    lines = model.read_text().splitlines()
    assert '"format": "outcomes-model", "version": 5' in lines[0]
    assert lines[1].startswith('"summary"')
    assert json.loads(model.read_text())["summary"]["rests_on"] == "1600 visits of 530 clients by 3 stylists"
    assert model.stat().st_size < 1_000_000


def test_no_products_and_no_looks_come_back(make_predictive, tmp_path):
    from outcomes.predictive.practice import LookGaps

    bare = make_predictive(
        products=(), product_visits=np.zeros(0, dtype=np.int64), product=np.zeros((400, 0)),
        look_gaps=LookGaps(np.zeros(0), np.zeros(0), np.zeros((3, 0))),
    )  # fmt: skip
    save_model(bare, tmp_path / "bare.json")
    again = load_model(tmp_path / "bare.json").lift
    assert again.draws["product"].shape == (400, 0)
    assert again.look_gaps.by_stylist.shape == (3, 0)


def test_how_stylists_work_comes_back(make_predictive, tmp_path):
    from outcomes.predictive.practice import Practice

    shares = {"reread": np.array([1.0, 0.0, 1.0]), "unseen": np.array([0.0, 0.25, 0.0])}
    save_model(make_predictive(practice=Practice(**shares)), tmp_path / "habits.json")
    again = load_model(tmp_path / "habits.json").lift.practice
    assert again.reread.tolist() == [1.0, 0.0, 1.0]
    assert again.unseen.tolist() == [0.0, 0.25, 0.0]


def test_an_audit_of_version_2_comes_without_its_pair_for_all_bars(make_predictive, tmp_path):
    tables = {name: [] for name in ("coverage", "reach", "sessions", "scores", "flags")}
    by_chance = {"first": [0.8, 1.2], "later": [[0.9, 1.1], [0.8, 1.2]]}
    found = {**tables, "heights": {}, "by_chance": by_chance, "recalibration": {}, "notes": []}
    save_model(dataclasses.replace(make_predictive(), audit=found), tmp_path / "old.json")
    again = load_model(tmp_path / "old.json").lift.audit["by_chance"]
    assert again == {"first": [], "later": [[0.9, 1.1], [0.8, 1.2]]}


def test_line_ends_of_another_system_are_no_damage(predictive, model):
    model.write_bytes(model.read_bytes().replace(b"\n", b"\r\n"))
    assert load_model(model).lift.stylists == predictive.stylists


@pytest.mark.parametrize("keep", [0.0, 0.001, 0.3, 0.999])
def test_cut_short(model, keep):
    raw = model.read_bytes()
    model.write_bytes(raw[: int(len(raw) * keep)])
    with pytest.raises(ModelFileError, match=r"empty|damaged|cut short"):
        load_model(model)


def test_one_changed_figure_is_noticed(model):
    text = model.read_text()
    model.write_text(text.replace('"visits": [700', '"visits": [701'))
    with pytest.raises(ModelFileError, match="checksum"):
        load_model(model)


@pytest.mark.parametrize("text", ["[]", "{}", '{"format": "other", "version": 1}', "3", "null"])
def test_other_json(model, text):
    model.write_text(text)
    with pytest.raises(ModelFileError, match="not a model file"):
        load_model(model)


def test_newer_version_names_both(model):
    model.write_text(model.read_text().replace('"version": 5', '"version": 6', 1))
    with pytest.raises(ModelFileError, match="found version 6, and this program reads up to 5"):
        load_model(model)


@pytest.mark.parametrize("raw", [b"\xff\xfe\x00", b"\x80\x04\x95\x00pickle"])
def test_not_text(model, raw):
    model.write_bytes(raw)
    with pytest.raises(ModelFileError, match="UTF-8"):
        load_model(model)


def test_no_file_and_a_folder(tmp_path):
    for path in (tmp_path / "none.json", tmp_path):
        with pytest.raises(ModelFileError, match="can't be read"):
            load_model(path)


CHANGES = {
    "lift.family": lambda lift: lift.pop("family"),
    "lift.draws": lambda lift: lift.update(draws=[1, 2]),
    "lift.draws.sd_visit": lambda lift: lift["draws"].update(sd_visit=["a"] * 400),
    "lift.draws.shape": lambda lift: lift["draws"].update(shape=[[0.6]] * 400),
    "draws.sd_look": lambda lift: lift["draws"].update(sd_look=[0.2] * 3),
    "draws.stylist": lambda lift: lift["draws"].update(stylist=[[float("nan")] * 3] * 400),
    "lift.stylists.codes": lambda lift: lift["stylists"].update(codes=[1, 2, 3]),
    "lift.hazard.stops": lambda lift: lift["hazard"].update(stops=-1),
    "lift.support.numbers": lambda lift: lift["support"]["numbers"].update(minutes=[1, 2]),
    "lift.support.sessions": lambda lift: lift["support"].update(sessions={"one": 3}),
    "lift.covariates": lambda lift: lift["covariates"].update(natural={"texture": [["fine"]]}),
    "lift.later_hair": lambda lift: lift["later_hair"].update(natural={"grey": 1.0}),
    "lift.effects": lambda lift: lift["effects"].pop("shape"),
    "lift.basis.calibrated": lambda lift: lift["basis"].update(calibrated="no"),
    "lift.step": lambda lift: lift.update(step="half"),
    "lift.notes": lambda lift: lift.update(notes="none"),
    "design": lambda lift: lift["design"].update(names=["unheard"]),
}


@pytest.mark.parametrize("field", CHANGES)
def test_a_field_that_is_not_as_it_should_be_is_named(model, field):
    _changed(model, CHANGES[field])
    with pytest.raises(ModelFileError) as caught:
        load_model(model)
    assert field in str(caught.value)
    assert "\n" not in str(caught.value)
    assert "outcomes fit" in str(caught.value)


def test_a_failed_write_leaves_the_old_file_and_no_other(predictive, model, monkeypatch):
    before = model.read_bytes()

    def fail(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", fail)
    with pytest.raises(InputError, match="No space left"):
        save_model(predictive, model)
    assert model.read_bytes() == before
    assert [path.name for path in model.parent.iterdir()] == [model.name]


def test_a_folder_that_is_not_there(predictive, tmp_path):
    with pytest.raises(InputError, match="can't be written"):
        save_model(predictive, tmp_path / "none" / "m.json")


def test_a_fitted_estimator_stands_for_its_distribution(predictive):
    class Fitted:
        predictive_ = predictive

    assert as_predictive(Fitted()) is predictive
    with pytest.raises(InputError, match="without a fit"):
        as_predictive(object())
