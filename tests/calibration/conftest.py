"""One small invented log, fitted, calibrated and audited once."""

from types import SimpleNamespace

import pytest

from outcomes.calibration.audit import audit
from outcomes.calibration.calibrate import calibrate
from outcomes.calibration.checked import check_readings
from outcomes.demo.simulate import simulate_log
from outcomes.demo.worlds import world
from outcomes.models.lift import LiftModel
from tests.models.logs import as_log


@pytest.fixture(scope="session")
def small():
    log = as_log(simulate_log(world("plain"), 400, 21)[0])
    model = LiftModel().fit(log)
    calibrated = calibrate(model)
    return SimpleNamespace(
        log=log,
        model=model,
        calibrated=calibrated,
        checked=check_readings(model.told_rows_, calibrated.held_out, 1),
        audit=audit(model, calibrated, log),
    )
