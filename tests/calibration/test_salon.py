"""All that a log tells in one model file; and fade's calibration through the same folds as lift's."""

import numpy as np
import pytest

from outcomes.calibration.audit import BandAudit, audit_fade
from outcomes.calibration.calibrate import calibrate
from outcomes.calibration.salon import fit_fade
from outcomes.demo.simulate import simulate_log
from outcomes.demo.worlds import world
from outcomes.models.fade import FadeModel
from outcomes.predictive.saved import SalonModel, load_model, save_model
from tests.models.logs import as_log


@pytest.fixture(scope="module")
def log():
    return as_log(simulate_log(world("plain", wash_share=0.6), 900, 41)[0])


@pytest.fixture(scope="module")
def fitted(log):
    return fit_fade(log)


def test_every_measure_is_fitted_and_checked(fitted):
    fade, left_out = fitted
    assert left_out == {}
    assert set(fade) == {"level", "tone_left", "delta_e"}
    for one in fade.values():
        assert one.basis.calibrated
        assert BandAudit.from_dict(one.audit).to_dict() == one.audit


def test_it_comes_back_from_the_file(fitted, predictive, tmp_path):
    fade, _ = fitted
    save_model(SalonModel(predictive, fade, {"delta_e": "why"}), tmp_path / "m.json")
    again = load_model(tmp_path / "m.json")
    assert again.left_out == {"delta_e": "why"}
    for measure, one in fade.items():
        two = again.fade[measure]
        for name in ("family", "measure", "stylists", "products", "support", "basis", "follow_up", "notes"):
            assert getattr(two, name) == getattr(one, name)
        for name, values in one.draws.items():
            assert np.allclose(two.draws[name], values, rtol=1e-6, atol=1e-12)
        assert np.allclose(two.covariance, one.covariance, rtol=1e-5)
        assert two.design.names == one.design.names


def test_everybody_is_everybody(fitted):
    """No zone, and no other group, holds more clients than the group of all; one zone is called "all"."""
    fade, _ = fitted
    for one in fade.values():
        rows = [row for row in one.audit["coverage"] if row["reading"] == "first" and row["nominal"] == 0.8]
        n = {row["group"]: row["n"] for row in rows}
        assert n["all"] == max(n.values())
        assert n["all"] == one.basis.clients
    assert "zone lengths" in {row["group"] for row in fade["tone_left"].audit["coverage"]}


def test_a_thin_measure_is_left_out_and_the_rest_fitted(log):
    import dataclasses

    roots = dataclasses.replace(log, washes=log.washes.assign(L=np.nan, a=np.nan, b=np.nan, tone_left=np.nan))
    fade, left_out = fit_fade(roots)
    assert set(fade) == {"level"}
    assert "read for 0 clients; 10 are needed" in left_out["tone_left"]
    assert "the colour (L, a, b)" in left_out["delta_e"]


def test_bands_of_fade_hold_out_of_fold(log):
    """Coverage of readings of clients left out within 4 standard errors of what is stated."""
    model = FadeModel("level").fit(log)
    audit = audit_fade(model, calibrate(model), log)
    table = audit.coverage.set_index(["group", "reading", "nominal"])
    for nominal in (0.5, 0.8, 0.95):
        row = table.loc[("new clients", "first", nominal)]
        assert row["n"] > 150
        assert row["observed"] == pytest.approx(nominal, abs=4 * np.sqrt(nominal * (1 - nominal) / row["n"]))
    groups = set(audit.coverage["group"])
    assert {"shampoo plain", "more than 15 washes", "root tone neutral"} <= groups
    assert any(group.endswith("told by those before") for group in groups)
    # a band of a third of the width is found out
    narrow = calibrate(model).held_out.with_recalibration(
        calibrate(model).recalibrated.recalibration.__class__(spread=0.33, reading=0.33)
    )
    from outcomes.calibration.checked import check_readings
    from outcomes.calibration.coverage import flags_table

    flags = flags_table(check_readings(model.told_rows_, narrow, 1).frame)
    assert (flags["observed"] < flags["expected"]).any()
