"""How stylists write results: decided right in simulated logs, and harmless where nothing tells."""

import numpy as np
import pandas as pd
import pytest

from outcomes.demo.simulate import simulate_log
from outcomes.demo.worlds import world
from outcomes.models.lift import LiftModel
from tests.models.logs import as_log


def _decided(name: str, seed: int):
    """Habits by stylist, beside whether each of them copies looks."""
    tables, truth = simulate_log(world(name), 1600, seed)
    model = LiftModel(shapes=("power",)).fit(as_log(tables))
    copies = truth.stylists.set_index("stylist")["copies"]
    return model.habits_.frame.set_index("stylist").assign(copies=copies)


@pytest.mark.slow
@pytest.mark.parametrize("name", ["plain", "no_looks"])
def test_nobody_writes_the_goal_unseen_and_copies_are_told_apart(name):
    found = _decided(name, 0)
    assert not found["heaped"].any()
    # a stylist of a few dozen visits may be in doubt; the others aren't
    sure = found[found["visits"] >= 40]
    assert len(sure) >= 8
    assert (sure["reread"] != sure["copies"]).mean() >= 0.9


def test_results_written_as_the_goal_in_four_of_five_are_found():
    found = _decided("heaped_results", 0)
    often = found[found["visits"] >= 30]
    assert len(often) >= 8
    assert often["heaped"].all()


def _part(log, rows):
    kept = log.visits[rows]
    return as_log(
        {
            "visits": kept,
            "checks": log.checks[log.checks["visit"].isin(kept["visit"])],
            "washes": log.washes.iloc[:0],
        }
    )


@pytest.fixture(scope="module")
def log():
    return as_log(simulate_log(world("plain"), 400, 2)[0])


@pytest.mark.slow
@pytest.mark.parametrize("looks", [True, False])
def test_a_log_of_target_stops_alone_fits(log, looks):
    part = _part(log, (log.visits["stop"] == "target").to_numpy())
    if not looks:
        part = as_log(
            {
                "visits": part.visits.assign(looks=np.nan),
                "checks": part.checks.iloc[:0],
                "washes": part.washes,
            }
        )
    model = LiftModel(shapes=("power",)).fit(part)
    assert model.fit_.converged
    assert np.isfinite(model.fit_.coefficients).all()
    assert 0.2 < model.fit_.shape.value < 2.0
    assert any("Every stop is `target`" in note for note in model.notes_)


def test_a_log_of_time_stops_alone_fits_and_says_so(log):
    model = LiftModel().fit(_part(log, (log.visits["stop"] == "time").to_numpy()))
    assert model.fit_.converged
    assert model.fit_.shape.low < 0.62 < model.fit_.shape.high
    assert any("No visit was stopped at its goal: every stop is `time`" in note for note in model.notes_)


def test_a_log_of_one_visit_fits(log):
    model = LiftModel().fit(_part(log, np.arange(len(log.visits)) == 0))
    assert isinstance(model.habits_.frame, pd.DataFrame)
    assert model.fit_.shape.high / model.fit_.shape.low > 2.0  # the prior's doubt


def test_a_log_without_product_says_nothing_of_products(log):
    bare = as_log(
        {
            "visits": log.visits.assign(product=pd.Series(np.nan, log.visits.index, dtype=object)),
            "checks": log.checks,
            "washes": log.washes,
        }
    )
    model = LiftModel(shapes=("power",)).fit(bare)
    assert "product" not in model.fit_.group_sd
    # a lightener new to the log differs as those of the trade do (prior log sd -2.7, sd 0.9)
    assert np.log(model.predictive_.draws["sd_product"]).mean() == pytest.approx(-2.7, abs=0.15)
    assert model.predictive_.draws["product"].shape == (400, 0)
