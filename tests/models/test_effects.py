"""Effects in words: every category is read against what this log has."""

import numpy as np
import pytest

from outcomes.demo.simulate import simulate_log
from outcomes.demo.worlds import world
from outcomes.models.effects import effects_table, rate_effects
from outcomes.models.lift import LiftModel
from tests.models.logs import as_log


@pytest.fixture(scope="module")
def heated():
    """A model of visits that all had heat, some of them without a wrap given."""
    tables, _ = simulate_log(world("plain"), 700, 3)
    visits = tables["visits"]
    kept = visits[visits["heat"] != "none"]
    kept = kept.assign(wrap=kept["wrap"].where(np.arange(len(kept)) % 7 > 0))
    checks = tables["checks"]
    log = as_log(
        {
            "visits": kept,
            "checks": checks[checks["visit"].isin(kept["visit"])],
            "washes": tables["washes"].iloc[:0],
        }
    )
    return LiftModel(shapes=("power",)).fit(log)


def test_the_reference_is_the_one_that_the_log_has(heated):
    frame = effects_table(heated.fit_, heated.design_).set_index("term")
    (reference,) = {"low", "medium", "high"} - {
        term[5:-1] for term in frame.index if term.startswith("heat[")
    }
    for term, row in frame[frame.index.str.startswith("heat[")].iterrows():
        assert row["meaning"] == f"{term[5:-1]} heat against {reference} heat"
        assert row["ratio"] == pytest.approx(np.exp(heated.fit_.coefficients[term]))


def test_values_that_were_not_given_come_last(heated):
    terms = effects_table(heated.fit_, heated.design_)["term"].tolist()
    given = [not term.endswith("[not given]") for term in terms]
    assert given == sorted(given, reverse=True)
    assert not all(given)


def test_the_model_file_keeps_the_same_numbers(heated):
    kept = rate_effects(heated.fit_, heated.design_)
    frame = effects_table(heated.fit_, heated.design_).set_index("term")
    for term in kept["terms"]:
        name = "ratio" if "ratio" in term else "value"
        assert term[name] == frame.loc[term["term"], name]
        assert (term["low"], term["high"]) == tuple(frame.loc[term["term"], ["low", "high"]])
    assert kept["sd"]["reading"] == heated.fit_.reading_sd["result"]
    assert kept["shape"]["value"] == heated.fit_.shape.value
