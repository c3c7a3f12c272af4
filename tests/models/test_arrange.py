"""Readings laid out for the engine: kinds, groups, and what is left out with a note."""

import numpy as np
import pytest

from outcomes.demo.simulate import simulate_log
from outcomes.demo.worlds import world
from outcomes.models.arrange import arrange_lift
from outcomes.readings.covariates import design_columns
from outcomes.readings.learn import learn_design
from outcomes.readings.lift import lift_readings, look_at
from tests.models.logs import as_log


@pytest.fixture(scope="module")
def tables():
    return simulate_log(world("plain"), 300, 4)[0]


def _arranged(tables):
    looked = look_at(as_log(tables))
    design = learn_design(design_columns(looked.visits), looked.visits["later_session"].to_numpy())
    readings = lift_readings(looked, copied_kind="look")
    return readings, arrange_lift(readings, design), design


def test_one_row_a_reading(tables):
    readings, arranged, design = _arranged(tables)
    assert len(arranged.lower) == len(readings.lower) == len(arranged.design)
    assert list(arranged.design.columns) == list(design.names)
    assert set(arranged.groups) == {"visit", "client", "stylist", "product"}
    # a result that is the next start has no error of its own
    assert (arranged.kind[readings.linked_result] == "linked").all()
    np.testing.assert_array_equal(arranged.lower == arranged.upper, readings.linked_result)
    np.testing.assert_array_equal(arranged.additive["look"] == 1.0, arranged.kind == "look")


def test_a_group_of_one_is_left_out(tables):
    visits = tables["visits"].assign(stylist="S01", product="P1")
    _, arranged, _ = _arranged({**tables, "visits": visits})
    assert set(arranged.groups) == {"visit", "client"}
    assert arranged.notes == ("one product only: the spread between products isn't known from this log",)


def test_looks_that_nobody_wrote_down_share_an_offset(tables):
    bare = {**tables, "checks": tables["checks"].iloc[:0]}
    readings, arranged, _ = _arranged(bare)
    assert arranged.additive is not None
    np.testing.assert_array_equal(arranged.additive["look"] == 1.0, arranged.kind == "look")
    assert not (readings.origin == "look").any()
