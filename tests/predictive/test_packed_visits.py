"""Chair time, pauses and condition in the model file: there and back, damaged, and absent in older ones."""

import hashlib
import json

import numpy as np
import pytest

from outcomes.errors import ModelFileError
from outcomes.predictive.saved import load_model, model_text, save_model


@pytest.fixture
def model(costed, tmp_path):
    save_model(costed, tmp_path / "salon.model.json")
    return tmp_path / "salon.model.json"


def _changed(model, change, version=5):
    stored = json.loads(model.read_text())
    change(stored["lift"])
    body = json.dumps({k: v for k, v in stored.items() if k not in ("format", "version", "checksum")})[1:]
    checksum = "sha256:" + hashlib.sha256(f"{body}\n".encode()).hexdigest()
    first = json.dumps({"format": stored["format"], "version": version, "checksum": checksum})
    model.write_text(first[:-1] + ",\n" + body + "\n")


def test_they_come_back(costed, model):
    again = load_model(model).lift
    for name in ("first", "later", "last", "weeks"):
        found, kept = getattr(again.visit_times, name), getattr(costed.visit_times, name)
        assert (found.step, found.count) == (kept.step, kept.count)
        assert found.shares.tolist() == kept.shares.tolist()
    for name in ("coefficients", "sd_client", "sd_session", "recovery", "visits", "pauses"):
        assert np.array_equal(getattr(again.condition_losses, name), getattr(costed.condition_losses, name))
    assert model_text(load_model(model)) == model.read_text()


def test_an_older_file_knows_nothing_of_them(model):
    _changed(model, lambda lift: [lift.pop(name) for name in ("visit_times", "condition_losses")], version=4)
    again = load_model(model).lift
    assert not again.visit_times.first.is_known
    assert not again.condition_losses.is_known


CHANGES = {
    "visit_times.besides_first": lambda lift: lift["visit_times"]["besides_first"].update(shares=[0.5]),
    "visit_times.weeks.count": lambda lift: lift["visit_times"]["weeks"].update(count=-1),
    "visit_times.together": lambda lift: lift["visit_times"].update(together="no"),
    "condition_losses.coefficients": lambda lift: lift["condition_losses"].update(coefficients=[[0.1]]),
    "condition_losses.sd_session": lambda lift: lift["condition_losses"].update(sd_session=0.0),
    "condition_losses.recovery": lambda lift: lift["condition_losses"].update(recovery=[[1.0]]),
    "condition_losses.pauses": lambda lift: lift["condition_losses"].pop("pauses"),
}


@pytest.mark.parametrize("field", CHANGES)
def test_a_field_that_is_not_as_it_should_be_is_named(model, field):
    _changed(model, CHANGES[field])
    with pytest.raises(ModelFileError) as caught:
        load_model(model)
    assert field in str(caught.value)
    assert "\n" not in str(caught.value)
