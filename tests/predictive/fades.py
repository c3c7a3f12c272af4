"""An invented distribution of fade, known by construction, for tests of answers and commands."""

from __future__ import annotations

import numpy as np

from outcomes.predictive.distribution import Basis
from outcomes.predictive.fade import FadePredictive, FollowUp
from outcomes.predictive.support import Support
from outcomes.readings.covariates import FADE
from outcomes.readings.learn import learn_design

TONES = ("neutral", "ash", "copper")
SHAMPOOS = ("plain", "sulphate_free", "pigmented")
TONERS = ("neutral", "silver", "beige")
EFFECTS = {
    "neutral": 0.0,
    "ash": 0.15,
    "copper": 0.3,
    "sulphate_free": -0.2,
    "pigmented": -0.45,
    "silver": 0.3,
    "beige": -0.1,
}


def invented_fade(
    measure: str = "level",
    *,
    family: str = "power",
    theta: float = 0.8,
    intercept: float = np.log(0.55),
    sd_client: float = 0.25,
    sd_visit: float = 0.0,
    sd_estimate: float = 0.0,
    longest: float = 60.0,
) -> FadePredictive:
    """Known parameters, or drawn about them with sd `sd_estimate` each, independently."""
    rng = np.random.default_rng(5)
    n, d = 900, 400
    roots = measure == "level"
    columns = {
        "zone": np.full(n, "roots" if roots else "lengths", dtype=object),
        "root_level": np.resize(np.arange(3.0, 9.0, 0.5), n),
        "root_tone": rng.choice(np.array(TONES, dtype=object), n),
        "toner_tone": rng.choice(np.array(TONERS, dtype=object), n),
        "shampoo": rng.choice(np.array(SHAMPOOS, dtype=object), n),
        "hair": np.full(n, "natural", dtype=object),
        "condition_after": np.full(n, 4.0),
    }
    design = learn_design(columns, covariates=FADE[measure])
    mean = np.array([intercept if name == "intercept" else _effect(name) for name in design.names])
    draws = {name: np.zeros(d) for name in ("sd_stylist", "sd_product", "look_offset", "sd_start")}
    draws |= {
        "coefficients": mean + sd_estimate * rng.standard_normal((d, len(mean))),
        "shape": np.full(d, theta),
        "saturating": np.full(d, float(family == "saturating")),
        "sd_client": np.full(d, sd_client),
        "sd_visit": np.full(d, sd_visit),
        "sd_result": np.full(d, 0.2),
        "sd_look": np.full(d, 0.2),
        "stylist": np.zeros((d, 2)),
        "product": np.zeros((d, 0)),
    }
    words = (
        {"root_tone": TONES, "shampoo": SHAMPOOS} if roots else {"toner_tone": TONERS, "shampoo": SHAMPOOS}
    )
    follow_up = {column: {word: FollowUp(200, 100, 120) for word in of} for column, of in words.items()}
    if roots:
        follow_up["root_level"] = {f"{level:g}": FollowUp(60, 30, 75) for level in np.arange(3.0, 9.0, 0.5)}
    follow_up[""] = {"": FollowUp(600, 300, n)}
    place = "roots" if roots else "toned"
    shares = {column: tuple((word, 1.0 / len(of)) for word in of) for column, of in words.items()}
    shares |= {"hair": (("natural", 1.0),), "zone": ((str(columns["zone"][0]), 1.0),)}
    if roots:
        levels = np.arange(3.0, 9.0, 0.5)
        shares["root_level"] = tuple((float(level), 1.0 / len(levels)) for level in levels)
    counts = {column: {word: 120 for word in of} for column, of in words.items()}
    counts |= {"shade": {f"{level:g} {tone}": 25 for level in np.arange(3.0, 9.0, 0.5) for tone in TONES}}
    numbers = {"washes": (3.0, 4.0, longest - 5.0, longest)}
    if roots:
        numbers["root_level"] = (3.0, 3.5, 8.0, 8.5)
    return FadePredictive(
        measure=measure,
        family=family,
        design=design,
        draws=draws,
        stylists=("S1", "S2"),
        stylist_visits=np.array([500, 400]),
        products=(),
        product_visits=np.zeros(0, dtype=np.int64),
        support=Support(numbers, counts, {}),
        basis=Basis(n, 300, 2, calibrated=True),
        effects={
            "shape": {"family": family, "value": theta, "low": theta - 0.1, "high": theta + 0.1},
            "terms": [{"term": "root_tone[ash]", "ratio": 1.16, "low": 1.05, "high": 1.28, "meaning": "ash"}],
            "coverage": 0.95,
            "sd": {"stylist": 0.05, "client": sd_client, "product": None, "visit": sd_visit, "reading": 0.2},
        },
        notes=("an invented log",),
        covariates={place: shares},
        follow_up=follow_up,
        estimates=mean,
        covariance=max(sd_estimate, 0.05) ** 2 * np.eye(len(mean)),
    )


def _effect(name: str) -> float:
    return EFFECTS.get(name.partition("[")[2].rstrip("]"), 0.0)
