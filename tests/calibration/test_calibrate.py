import numpy as np
import pytest

from outcomes.calibration.audit import Audit, with_audit
from outcomes.calibration.calibrate import calibrate
from outcomes.demo.simulate import simulate_log
from outcomes.demo.worlds import world
from outcomes.models.lift import LiftModel
from outcomes.predictive.distribution import Recalibration
from outcomes.predictive.saved import load_model, save_model
from tests.models.logs import as_log

pytestmark = pytest.mark.slow


def test_what_was_found_is_held_by_the_forecast(small):
    found = small.calibrated
    predictive = found.predictive_
    assert predictive.basis.calibrated
    assert predictive.recalibration == found.recalibrated.recalibration
    assert 0.8 < predictive.recalibration.spread < 1.25
    assert found.notes == ()
    assert len(found.held_out.predictives) == 5


def test_both_shapes_are_told_of(small):
    other = small.calibrated.predictive_.effects["other"]
    assert {"family", "value", "low", "high", "share", "score_difference", "score_difference_se"} <= set(
        other
    )
    compared = small.calibrated.comparison
    assert {compared.better, compared.other} == {"power", "saturating"}
    assert other["family"] == compared.other
    assert other["value"] == small.model.fits_[compared.other].shape.value
    draws = small.calibrated.predictive_.draws
    assert draws["saturating"].mean() == pytest.approx(
        compared.share if compared.other == "saturating" else 1 - compared.share, abs=0.01
    )


def test_neither_shape_clearly_better_uses_both():
    """60 visits can't tell the shapes apart by more than two standard errors."""
    log = as_log(simulate_log(world("saturating"), 90, 5)[0])
    found = calibrate(LiftModel().fit(log))
    compared = found.comparison
    assert compared.difference < 2 * compared.se
    assert 0 < compared.share < 1
    draws = found.predictive_.draws["saturating"]
    assert 0 < draws.mean() < 1
    assert found.predictive_.effects["other"]["share"] == compared.share


def test_the_model_file_keeps_recalibration_and_audit(small, tmp_path):
    predictive = with_audit(small.calibrated.predictive_, small.audit)
    save_model(predictive, tmp_path / "m.json")
    again = load_model(tmp_path / "m.json").lift
    assert again.recalibration.spread == pytest.approx(predictive.recalibration.spread, rel=1e-6)
    assert again.recalibration.later == pytest.approx(predictive.recalibration.later, rel=1e-6)
    assert again.audit == predictive.audit
    assert Audit.from_dict(again.audit).to_dict() == again.audit


def test_a_log_without_looks_is_not_rescaled():
    log = as_log(simulate_log(world("no_looks"), 250, 4)[0])
    found = calibrate(LiftModel(shapes=("power",)).fit(log))
    assert found.predictive_.recalibration == Recalibration()
    assert not found.predictive_.basis.calibrated
    assert any("no looks are written down" in note for note in found.predictive_.notes)
    assert found.comparison is None
    assert found.held_out is not None


def test_a_dozen_clients_are_too_few(small):
    clients = small.log.visits["client"].unique()[:12]
    visits = small.log.visits[small.log.visits["client"].isin(clients)]
    tables = {"visits": visits, "checks": small.log.checks, "washes": small.log.washes.iloc[:0]}
    found = calibrate(LiftModel(shapes=("power",)).fit(as_log(tables)))
    assert found.held_out is None
    assert not found.predictive_.basis.calibrated
    assert "that takes 20 clients, and the log has 12" in found.predictive_.notes[-1]


def test_an_empty_log_s_starter_is_left_alone(small):
    tables = {name: getattr(small.log, name).iloc[:0] for name in ("visits", "checks", "washes")}
    model = LiftModel().fit(as_log(tables))
    found = calibrate(model)
    assert found.predictive_.basis.starter
    assert np.array_equal(found.predictive_.draws["shape"], model.predictive_.draws["shape"])
