"""Readings after washes: bounds by hand, zones, what doesn't serve."""

import dataclasses

import numpy as np
import pandas as pd
import pytest

from outcomes.demo.fading import FADE_THETA, LOG_ROOT_RATE, LOG_TONE_RATE, ROOT_TONE, SHAMPOO, TONER_TONE
from outcomes.demo.simulate import simulate_log
from outcomes.demo.worlds import world
from outcomes.engine import fit_interval_mixed
from outcomes.errors import InputError
from outcomes.readings.fade import fade_readings, readings_by_shade
from tests.readings.conftest import build_log, canonical

INF = np.inf


def log_of(washes, *visits):
    log = build_log(list(visits) or [{"root_level": 6.0, "root_tone": "ash"}])
    rows = [{"visit": "V0", "zone": "roots", **row} for row in washes]
    return dataclasses.replace(log, washes=canonical("washes", rows))


def test_levels_drifted_from_the_root_shade():
    levels = {3: 5.5, 6: 6.0, 9: 6.5, 12: 7.5, 30: 10.0}
    found = fade_readings(log_of([{"washes": w, "level": y} for w, y in levels.items()]), "level")
    assert found.washes.tolist() == [3, 6, 9, 12, 30]
    assert found.exposure.tolist() == [0.3, 0.6, 0.9, 1.2, 3.0]
    # darker than applied and just as applied: less than half a step; 10 is the end of the scale
    assert found.lower.tolist() == [-INF, -INF, 0.25, 1.25, 3.75]
    assert found.upper.tolist() == [0.25, 0.25, 0.75, 1.75, INF]
    assert found.notes == ()
    assert list(found.frame().columns) == ["visit", "client", "zone", "shampoo", "washes", "lower", "upper"]


def test_shares_of_tone_left():
    shares = [100.0, 75.0, 50.0, 25.0, 0.0]
    washes = [{"zone": "lengths", "washes": 3 * k, "tone_left": share} for k, share in enumerate(shares)]
    found = fade_readings(log_of(washes), "tone_left")
    # 87.5, 62.5, 37.5 and 12.5 % part the steps
    edges = [0.133531, 0.470004, 0.980829, 2.079442]
    assert found.lower.tolist() == pytest.approx([-INF, *edges], abs=1e-6)
    assert found.upper.tolist() == pytest.approx([*edges, INF], abs=1e-6)


def test_colour_is_compared_with_the_reading_at_0_washes():
    """Pair 1 of Sharma, Wu & Dalal (2005), table 1: 2.0425."""
    start, after = {"L": 50.0, "a": 2.6772, "b": -79.7751}, {"L": 50.0, "a": 0.0, "b": -82.7485}
    washes = [{"zone": "lengths", "washes": 0, **start}, {"zone": "lengths", "washes": 7, **after}]
    found = fade_readings(log_of([*washes, {"zone": "ends", "washes": 7, **after}]), "delta_e")
    assert found.washes.tolist() == [7]
    assert found.lower == pytest.approx([2.0425], abs=1e-4)
    assert (found.lower == found.upper).all()
    assert found.visits["zone"].tolist() == ["lengths"]
    # the same pair by CIE 1976: 4.0011 in that table; steps 3 and 2-3 of ISO 105-A02 stand for 3.4 and 4.8
    (row,) = found.frame().to_dict("records")
    assert row["cielab_difference"] == pytest.approx(4.0011, abs=1e-4)
    assert row["nearest_grey_scale_step"] == "3"
    assert (row["visit"], row["zone"], row["washes"]) == ("V0", "lengths", 7)
    (note,) = found.notes
    assert note.startswith("1 reading after washes doesn't serve: the colour wasn't measured at 0 washes")


def test_zones_are_kept_apart_and_the_root_shade_needs_no_row_of_its_own():
    visits = [{"visit": "V0", "root_level": 5.0}, {"visit": "V1", "zone": "roots", "root_level": 6.0}]
    washes = [
        {"washes": 10, "level": 6.0},
        {"washes": 10, "level": 8.0, "zone": "lengths"},  # not the root shade
        {"washes": 10, "tone_left": 50.0, "zone": "lengths"},
        {"washes": 4, "level": 6.5, "visit": "V1"},
    ]
    log = log_of(washes, *visits)
    level, tone = fade_readings(log, "level"), fade_readings(log, "tone_left")
    assert level.visits[["visit", "zone"]].to_numpy().tolist() == [["V0", "roots"], ["V1", "roots"]]
    assert level.visit.tolist() == [0, 1]
    assert level.lower.tolist() == [0.75, 0.25]
    assert tone.visits[["visit", "zone"]].to_numpy().tolist() == [["V0", "lengths"]]


def test_a_root_shade_of_unknown_level_does_not_serve():
    found = fade_readings(log_of([{"washes": 4, "level": 6.0}], {"root_tone": "ash"}), "level")
    assert len(found.washes) == len(found.visits) == 0
    assert "root_level" in found.notes[0]


def test_the_shampoo_is_the_one_that_most_readings_name():
    named = ["plain", None, "pigmented", "pigmented"]
    washes = [{"washes": 3 * k, "level": 6.5, "shampoo": word} for k, word in enumerate(named, start=1)]
    assert fade_readings(log_of(washes), "level").visits["shampoo"].tolist() == ["pigmented"]
    assert fade_readings(log_of(washes[:1] + washes[2:3]), "level").visits["shampoo"].tolist() == [
        "pigmented"
    ]
    (nobody,) = fade_readings(log_of(washes[1:2]), "level").visits["shampoo"].tolist()
    assert nobody is None or nobody != nobody


def test_readings_stand_in_order_of_washes():
    found = fade_readings(log_of([{"washes": w, "level": 7.0} for w in (9, 2, 5)]), "level")
    assert found.washes.tolist() == [2, 5, 9]


def test_a_log_without_washes_and_an_unknown_measure():
    assert len(fade_readings(build_log([{}]), "delta_e").washes) == 0
    with pytest.raises(InputError, match="one of level, tone_left, delta_e"):
        fade_readings(build_log([{}]), "shine")


@pytest.mark.parametrize("measure", ["level", "tone_left"])
def test_the_engine_finds_what_the_simulator_put_in(measure):
    """Written apart from the model (`outcomes.demo.fading`): shape 0.8, rates by tone and shampoo."""
    tables = simulate_log(world("plain"), 1600, 11)[0]
    log = dataclasses.replace(build_log([{}]), visits=tables["visits"], washes=tables["washes"])
    found = fade_readings(log, measure)
    column, first, effects = (
        ("root_tone", LOG_ROOT_RATE, ROOT_TONE)
        if measure == "level"
        else ("toner_tone", LOG_TONE_RATE, TONER_TONE)
    )
    truth = {"intercept": first}
    design = pd.DataFrame({"intercept": np.ones(len(found.visits))})
    for name, values in ((column, effects), ("shampoo", SHAMPOO)):
        for word in (word for word, effect in values.items() if effect):
            design[f"{name}[{word}]"] = (found.visits[name] == word).astype(float)
            truth[f"{name}[{word}]"] = values[word]
    of = found.visit
    groups = {"visit": pd.Series(of), "client": found.visits["client"].iloc[of].reset_index(drop=True)}
    rows = design.iloc[of].reset_index(drop=True)
    fit = fit_interval_mixed(
        found.lower, found.upper, rows, groups, link="log", exposure=found.exposure, shape="power"
    )
    assert fit.converged
    assert fit.shape.low < FADE_THETA < fit.shape.high
    away = (fit.coefficients - pd.Series(truth)) / np.sqrt(np.diagonal(fit.covariance))
    # ten estimates at most: one is 3 standard errors off in 3 of 100 right fits
    assert (away.abs() < 3).all()
    assert 0.15 < fit.group_sd["client"] < 0.35


def test_readings_counted_for_a_figure():
    levels = [{"washes": 3, "level": 5.5}, {"washes": 6, "level": 7.0}, {"washes": 6, "level": 10.0}]
    found = readings_by_shade(log_of(levels), "level", "root_tone")
    assert found.to_numpy().tolist() == [["ash", 3.0, 0.0, 1], ["ash", 6.0, 1.0, 1], ["ash", 6.0, 4.0, 1]]
    shares = [{"zone": "lengths", "washes": 4, "tone_left": share} for share in (100.0, 75.0, 0.0, 75.0)]
    log = log_of(shares, {"toner_tone": "silver", "root_level": 6.0, "root_tone": "ash"})
    found = readings_by_shade(log, "tone_left", "toner_tone")
    assert found.to_numpy().tolist() == [
        ["silver", 4.0, 0.0, 1], ["silver", 4.0, 75.0, 2], ["silver", 4.0, 100.0, 1],
    ]  # fmt: skip
    # a root shade says nothing of the lengths
    assert len(readings_by_shade(log, "tone_left", "root_tone")) == 0
