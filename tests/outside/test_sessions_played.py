"""Sessions for a goal against an invented salon, played many times by code of its own.

The distribution is given the truth of the salon in place of a fit, so what is compared is the process
alone: looks at the stylists' intervals, stops for goal, time and condition, the client carried over, what
a question leaves open. 20,000 courses a plan leave a total variation distance of about 0.003 by
themselves. Look intervals that change from look to look, and condition that wears from session to
session, are simplified by the predictive one: hence 0.01.
"""

from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest

from outcomes.answers.sessions import sessions
from outcomes.demo.simulate import simulate_log
from outcomes.demo.truth import random_plans, true_session_chances
from outcomes.demo.worlds import REFERENCE_MINUTES, world
from outcomes.models import describe
from outcomes.models.condition import fit_condition_hazard
from outcomes.predictive.lift import LiftPredictive
from outcomes.readings.courses import assign_courses
from outcomes.readings.design import Design
from outcomes.readings.learn import learn_design
from outcomes.readings.looks import look_gaps, typical_gaps

EFFECTS = {"shape": {}, "terms": [], "coverage": 0.95, "sd": {}}


def _true_coefficients(salon, design: Design) -> list[float]:
    middle = next(term for term in design.terms if term.name == "start_level").knots[1]
    plain = {
        "intercept": salon.log_rate + salon.start_slope * (middle - 5.0),
        "peroxide": salon.peroxide_exponent,
        "start_level[1]": salon.start_slope,
        "start_level[2]": 0.0,
        "later_session": salon.later,
        "mix_ratio": salon.mix_exponent,
        "applications": salon.second_application / np.log(2.0),  # 1 or 2 applications
    }
    values = []
    for name in design.names:
        term, _, category = name.rstrip("]").partition("[")
        values.append(plain[name] if name in plain else getattr(salon, term)[category])
    return values


def _truth_as_predictive(salon, tables, truth) -> LiftPredictive:
    visits = tables["visits"]
    courses = assign_courses(visits)
    visits = visits.assign(course=courses["course"], session=courses["session"])
    later = (courses["session"] > 1).to_numpy()
    words = ("hair", "heat", "texture", "zone", "wrap", "colour_history")
    numbers = ("peroxide_pct", "start_level", "mix_ratio", "applications")
    columns = {name: visits[name].astype(object).to_numpy() for name in words}
    columns |= {name: visits[name].to_numpy(dtype=float) for name in numbers}
    design = learn_design(columns, later)
    stylists, products = truth.stylists, truth.products
    codes = tuple(stylists["stylist"])
    sds = {
        "client": salon.sd_client,
        "stylist": salon.sd_stylist,
        "product": salon.sd_product,
        "visit": salon.sd_visit,
    }
    sds |= {"result": salon.tau_result, "look": salon.tau_look}
    sds["start"] = np.sqrt(salon.tau_result**2 + salon.step**2 / 12)
    theta = salon.theta if salon.shape == "power" else salon.theta / REFERENCE_MINUTES
    return LiftPredictive(
        family=salon.shape,
        design=design,
        draws={f"sd_{name}": np.array([sd]) for name, sd in sds.items()}
        | {
            "coefficients": np.array([_true_coefficients(salon, design)]),
            "shape": np.array([theta]),
            "saturating": np.array([float(salon.shape == "saturating")]),
            "look_offset": np.array([salon.look_bias]),
            "stylist": stylists["effect"].to_numpy()[None],
            "product": products["effect"].to_numpy()[None],
        },
        stylists=codes,
        stylist_visits=describe.code_visits(visits, "stylist", codes),
        products=tuple(products["product"]),
        product_visits=describe.code_visits(visits, "product", tuple(products["product"])),
        look_gaps=describe.look_gap_shares(
            typical_gaps(look_gaps(SimpleNamespace(visits=visits, checks=tables["checks"]))), codes
        ),
        covariates=describe.case_mix(visits),
        later_hair=describe.later_hair(visits),
        hazard=fit_condition_hazard(visits, later).hazard,
        support=describe.support_of(visits),
        basis=describe.basis_of(visits),
        effects=EFFECTS,
    )


@pytest.mark.parametrize("name", ["plain", "saturating", "look_bias"])
def test_chances_are_those_of_the_salon(name):
    salon = world(name)
    tables, truth = simulate_log(salon, 1600, seed=3)
    predictive = _truth_as_predictive(salon, tables, truth)
    distance, first = [], []
    for seed, plan in enumerate(random_plans(salon, tables, 15, seed=5)):
        asked = pd.Series(vars(plan))[["start", "goal", "hair", "peroxide", "heat", "minutes"]]
        found = np.array(sessions(predictive, *asked).sessions)
        played = true_session_chances(salon, truth, plan, n_courses=20_000, seed=seed).probabilities
        distance.append(0.5 * np.abs(found - played).sum())
        first.append(found[0] - played[0])
    assert np.mean(distance) < 0.01
    assert max(distance) < 0.025
    assert abs(np.mean(first)) < 0.005
