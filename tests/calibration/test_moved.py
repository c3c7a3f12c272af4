"""How far estimates move, worked out by hand, and from two fits."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest

import outcomes.calibration.moved as module
from outcomes.calibration.moved import Moved, compare_terms, estimates_moved, terms_of
from outcomes.demo.simulate import simulate_log
from outcomes.demo.worlds import world
from outcomes.errors import FitError, InputError
from outcomes.models.lift import LiftModel
from tests.models.logs import as_log


def terms(**rows):
    """term -> (kind, value, se)."""
    frame = pd.DataFrame(
        [(name.replace("_", " "), *row) for name, row in rows.items()],
        columns=["term", "kind", "value", "se"],
    )
    return frame.set_index("term")


BEFORE = terms(
    heat=("ratio", 1.10, 0.02),
    peroxide=("value", 0.40, 0.05),
    texture=("ratio", 0.90, 0.03),
    clients=("spread", 0.20, 0.10),
    stylists=("spread", 0.00, 0.30),
    fixed=("value", 1.0, 0.0),
)
AFTER = terms(
    heat=("ratio", 1.21, 0.03),
    peroxide=("value", 0.38, 0.06),
    clients=("spread", 0.10, 0.10),
    stylists=("spread", 0.10, 0.30),
    fixed=("value", 2.0, 0.1),
    new=("ratio", 2.0, 0.1),
)


def test_by_hand():
    """log 1.21 - log 1.10 = log 1.1 = 0.09531, over 0.02; -0.02 over 0.05; -log 2 = -0.69315 over 0.1."""
    found = compare_terms(BEFORE, AFTER).set_index("term")
    assert found["moved"]["heat"] == pytest.approx(4.7655, abs=1e-4)
    assert found["moved"]["peroxide"] == pytest.approx(-0.4)
    assert found["moved"]["clients"] == pytest.approx(-6.9315, abs=1e-4)
    assert np.isnan(found["after"]["texture"])
    assert found["moved"][["texture", "stylists", "fixed"]].isna().all()
    assert found["after"]["fixed"] == 2.0
    assert list(found.index) == list(BEFORE.index)  # a new term has nothing to be compared with


def test_what_is_told():
    moved = Moved(compare_terms(BEFORE, AFTER).assign(model="lift"), {"level": "nobody read it"})
    assert moved.furthest[["model", "term"]].to_numpy().tolist() == [["lift", "clients"]]
    told = moved.to_dict()
    assert told["left_out"] == {"level": "nobody read it"}
    assert told["furthest"] == {"lift": {"term": "clients", "moved": -6.9315}}
    heat, *_, fixed = told["models"]["lift"]
    assert heat == {
        "term": "heat", "kind": "ratio", "before": 1.1, "after": 1.21, "se": 0.02, "moved": 4.7655
    }  # fmt: skip
    assert fixed["moved"] is None
    assert moved.frame().equals(moved.table)


@pytest.fixture(scope="module")
def fitted():
    log = as_log(simulate_log(world("plain"), 120, 5)[0])
    return log, LiftModel(shapes=("power",)).fit(log)


def test_terms_are_the_fit_s_own(fitted):
    _, model = fitted
    found = terms_of(model)
    fit = model.fit_
    se = pd.Series(np.sqrt(np.diagonal(fit.joint_covariance)), index=fit.joint_covariance.index)
    effects = model.effects().set_index("term")
    assert found["value"]["peroxide"] == effects["value"]["peroxide"] == fit.coefficients["peroxide"]
    assert found["value"]["heat[low]"] == pytest.approx(effects["ratio"]["heat[low]"])
    assert found["kind"]["heat[low]"] == "ratio"
    assert found["se"]["heat[low]"] == se["heat[low]"]
    assert found["value"]["rate of all references"] == pytest.approx(np.exp(fit.coefficients["intercept"]))
    assert found["value"]["power shape"] == fit.shape.value
    assert found["value"]["spread of clients"] == fit.group_sd["client"]
    assert found["se"]["spread of clients"] == se["log_sd:client"]
    assert found["value"]["error of a look"] == fit.reading_sd["look"]
    assert set(effects.index) <= set(found.index)


@pytest.mark.slow
def test_the_same_log_twice_has_not_moved(fitted):
    log, _ = fitted
    moved = estimates_moved(log, replace(log, visits=log.visits.copy()))
    told = moved.table["moved"].dropna()
    assert len(told) > 20
    assert (told == 0).all()
    assert moved.table["after"].notna().all()
    assert set(moved.table["model"]) | set(moved.left_out) == {"lift", "level", "tone_left", "delta_e"}


@pytest.mark.slow
def test_against_two_fits(fitted):
    """A log whose results were read half a level lighter, from the differences of its two fits."""
    log, _ = fitted
    visits = log.visits.assign(achieved_level=(log.visits["achieved_level"] + 0.5).clip(upper=10))
    lighter = replace(log, visits=visits, washes=log.washes.iloc[:0])
    moved = estimates_moved(log, lighter)
    before, after = (LiftModel().fit(one).fit_ for one in (log, lighter))
    se = np.sqrt(before.joint_covariance.loc["heat[low]", "heat[low]"])
    of_heat = moved.table.set_index(["model", "term"]).loc[("lift", "heat[low]")]
    difference = after.coefficients["heat[low]"] - before.coefficients["heat[low]"]
    assert of_heat["moved"] == pytest.approx(difference / se)
    assert of_heat["before"] == pytest.approx(np.exp(before.coefficients["heat[low]"]))
    # and what can't be fitted any more is said
    assert moved.left_out["level"].startswith("not the changed log: the level of a root shade after washes")


def test_a_model_that_fails_leaves_the_others(monkeypatch, fitted):
    log, model = fitted
    changed, said = replace(log), []

    def stand_in(name, one):
        if name == "level":
            raise InputError("nobody read it")
        if name == "delta_e" and one is changed:
            raise FitError("no shape")
        return model

    monkeypatch.setattr(module, "_fitted", stand_in)

    class Doing:
        def __init__(self, what):
            said.append(what)

        def __enter__(self):
            return None

        def __exit__(self, *told):
            return False

    moved = estimates_moved(log, changed, doing=Doing)
    assert moved.left_out == {"level": "nobody read it", "delta_e": "not the changed log: no shape"}
    assert moved.table["model"].unique().tolist() == ["lift", "tone_left"]
    assert said[:2] == ["fitting lift, the log as it is", "fitting lift, the changed log"]


def test_nothing_could_be_fitted(monkeypatch):
    def fails(name, one):
        raise FitError("no shape")

    monkeypatch.setattr(module, "_fitted", fails)
    moved = estimates_moved(SimpleNamespace(), SimpleNamespace())
    assert len(moved.left_out) == 4
    assert moved.furthest.empty
    assert moved.to_dict()["models"] == {}
