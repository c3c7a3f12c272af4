"""What many tests start from: an invented distribution, known by construction, and a small fitted log."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from outcomes.predictive.condition_chain import ConditionLosses
from outcomes.predictive.distribution import Basis
from outcomes.predictive.hazard import ConditionHazard
from outcomes.predictive.lift import LiftPredictive
from outcomes.predictive.practice import LookGaps, Practice
from outcomes.predictive.support import Support
from outcomes.predictive.tally import Tally
from outcomes.predictive.visit_times import VisitTimes
from outcomes.readings.learn import learn_design

TEXTURES = ("fine", "medium", "coarse")
EFFECTS: dict[str, Any] = {
    "shape": {"family": "power", "value": 0.62, "low": 0.59, "high": 0.65},
    "terms": [
        {"term": "peroxide", "value": 0.42, "low": 0.36, "high": 0.48, "meaning": "exponent on peroxide/6"},
        {"term": "heat[low]", "ratio": 1.08, "low": 1.04, "high": 1.13, "meaning": "rate against no heat"},
    ],
    "coverage": 0.95,
    "sd": {"stylist": 0.1, "client": 0.2, "product": 0.05, "visit": 0.14, "reading": 0.18, "look": 0.25},
}


def invented_predictive(**changes: Any) -> LiftPredictive:
    """A distribution as a fit of some 1,600 visits leaves it; `changes` replace draws or fields."""
    rng = np.random.default_rng(7)
    n, d = 1600, 400
    columns = {
        "hair": rng.choice(np.array(["natural", "coloured", "lightened"], dtype=object), n),
        "heat": rng.choice(np.array(["none", "low", "medium", "high"], dtype=object), n),
        "texture": rng.choice(np.array([*TEXTURES, None], dtype=object), n),
        "peroxide_pct": rng.choice([3.0, 6.0, 9.0, 12.0], n),
        "start_level": rng.choice(np.arange(2.0, 8.0, 0.5), n),
    }
    design = learn_design(columns, rng.random(n) < 0.3)
    truth = {
        "intercept": np.log(4.3), "peroxide": 0.42, "heat[low]": 0.08, "heat[medium]": 0.17,
        "heat[high]": 0.22, "hair[coloured]": -0.18, "hair[lightened]": -0.10, "texture[fine]": 0.06,
        "texture[coarse]": -0.07,
        "start_level[1]": -0.02, "later_session": -0.12,
    }  # fmt: skip
    centre = np.array([truth.get(name, 0.0) for name in design.names])
    spread = {"sd_client": 0.2, "sd_stylist": 0.1, "sd_product": 0.05, "sd_visit": 0.14}
    draws = {name: np.full(d, sd) * np.exp(0.08 * rng.standard_normal(d)) for name, sd in spread.items()}
    draws |= {
        "coefficients": centre + 0.02 * rng.standard_normal((d, len(centre))),
        "shape": 0.62 + 0.012 * rng.standard_normal(d),
        "sd_result": np.full(d, 0.18),
        "sd_look": np.full(d, 0.25),
        "look_offset": np.full(d, -0.05),
        "sd_start": np.full(d, 0.23),
        "stylist": np.array([-0.1, 0.0, 0.12]) + 0.02 * rng.standard_normal((d, 3)),
        "product": np.array([-0.03, 0.04]) + 0.02 * rng.standard_normal((d, 2)),
    }
    draws |= {name: value for name, value in changes.items() if name in draws}
    saturating = np.full(np.shape(draws["shape"])[:1], float(changes.get("family") == "saturating"))
    draws["saturating"] = changes.get("saturating", saturating)
    texture = (("fine", 0.2), ("medium", 0.5), ("coarse", 0.2), (None, 0.1))
    hazard = np.array([-6.0, 0.2, 0.5, 0.1, 0.2, 0.5, 0.3])
    fields: dict[str, Any] = {
        "family": "power",
        "design": design,
        "draws": draws,
        "stylists": ("S1", "S2", "S3"),
        "stylist_visits": np.array([700, 600, 300]),
        "products": ("P1", "P2"),
        "product_visits": np.array([900, 500]),
        "look_gaps": LookGaps(
            np.array([5.0, 8.0, 12.0]),
            np.array([0.3, 0.4, 0.3]),
            np.array([[0.8, 0.2, 0.0], [0.1, 0.6, 0.3], [0.0, 0.2, 0.8]]),
        ),
        "covariates": {hair: {"texture": texture} for hair in ("natural", "coloured", "lightened")},
        "later_hair": {hair: {"lightened": 1.0} for hair in ("natural", "coloured", "lightened")},
        "hazard": ConditionHazard(hazard, 0.4, 0.6, 25, n),
        "support": Support(
            {
                "start_level": (1.5, 2.0, 8.0, 9.0),
                "goal_level": (5.0, 6.0, 10.0, 10.0),
                "gain": (0.5, 1.0, 7.0, 8.0),
                "peroxide_pct": (3.0, 3.0, 12.0, 12.0),
                "minutes": (8.0, 10.0, 60.0, 75.0),
            },
            {
                "hair": {"natural": 700, "coloured": 500, "lightened": 400},
                "heat": {"none": 600, "low": 500, "medium": 488, "high": 12},
                "stylist": {"S1": 700, "S2": 600, "S3": 300},
            },
            {1: 300, 2: 250, 3: 80, 4: 20, 5: 3},
        ),
        "basis": Basis(1600, 530, 3),
        "effects": EFFECTS,
        "notes": ("implied looks: 120",),
        "practice": Practice(),
    }
    fields |= {name: value for name, value in changes.items() if name in fields}
    return LiftPredictive(**fields)


@pytest.fixture(scope="session")
def make_predictive() -> Callable[..., LiftPredictive]:
    return invented_predictive


@pytest.fixture(scope="session")
def predictive() -> LiftPredictive:
    return invented_predictive()


@pytest.fixture(scope="session")
def small() -> SimpleNamespace:
    """One small invented log, fitted, calibrated and audited once."""
    # loaded by those tests alone that ask for it
    from outcomes.calibration.audit import audit
    from outcomes.calibration.calibrate import calibrate
    from outcomes.calibration.checked import check_readings
    from outcomes.demo.simulate import simulate_log
    from outcomes.demo.worlds import world
    from outcomes.models.lift import LiftModel
    from tests.models.logs import as_log

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


@pytest.fixture(scope="session")
def team() -> SimpleNamespace:
    """An invented log of six stylists or so, the truth behind it, and the lift model of it."""
    from outcomes.demo.simulate import simulate_log
    from outcomes.demo.worlds import world
    from outcomes.models.lift import LiftModel
    from tests.models.logs import as_log

    tables, truth = simulate_log(world("plain"), 900, 5)
    log = as_log(tables)
    return SimpleNamespace(log=log, truth=truth, model=LiftModel(shapes=("power",)).fit(log))


@pytest.fixture(scope="session")
def costed() -> LiftPredictive:
    """The invented distribution with chair time, pauses and losses of condition known besides.

    Besides processing, first visits take 120 or 180 minutes, later ones 100; pauses are 6 or 8 weeks. Nobody
    differs from another but by chance: a session takes off 0.3 points, 0.2 more for each doubling of the
    developer or so, with an sd of 0.4; a fifth of hair that lost gets a point back.
    """
    first = np.zeros(37)
    first[[24, 36]] = 0.5
    later = np.zeros(21)
    later[20] = 1.0
    weeks = np.zeros(9)
    weeks[[6, 8]] = 0.75, 0.25
    times = VisitTimes(Tally(5.0, first, 80), Tally(5.0, later, 40), weeks=Tally(1.0, weeks, 30))
    coefficients = np.array([[0.3, 0.05, 0.3, 0.0, 0.0, 0.0, 0.0, 0.0]])
    recovery = np.array([[0.0, 0.0, 1.0, 0.0, 0.0], [0.0, 0.0, 0.8, 0.2, 0.0]])
    losses = ConditionLosses(coefficients, 0.0, 0.4, recovery, 120, 35)
    return replace(invented_predictive(), visit_times=times, condition_losses=losses)
