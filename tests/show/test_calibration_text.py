"""The audit in words: every sentence says what its numbers say, and no more."""

from __future__ import annotations

import pytest

from outcomes.show.calibration_text import calibration_text, flag_sentence, rescaled, verdict
from tests.show.figures.test_calibration import invented

EFFECTS = {"shape": {"family": "power", "value": 0.62}}


def flag(**changes):
    plain = {"group": "peroxide 9 %", "reading": "first", "what": "coverage", "n": 212}
    return {**plain, "observed": 0.71, "expected": 0.8, "p": 0.001, **changes}


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({}, "(212 clients): the 80 % band held 71 % of the time, so it is too narrow"),
        ({"observed": 0.9, "n": 1}, "the 80 % band held 90 % of the time, so it is wider than need be"),
        (
            {"what": "centre", "expected": 0.5, "observed": 0.61},
            "hair read lighter than expected; what came lay above 61 % of what was thought possible",
        ),
        (
            {"what": "centre", "expected": 0.5, "observed": 0.37, "reading": "later"},
            "later readings (212 clients): hair read darker than expected; what came lay below 63 %",
        ),
    ],
)
def test_what_is_off(changes, said):
    assert said in flag_sentence(flag(**changes))


def test_the_verdict_counts_groups_not_flags():
    found = invented().to_dict()
    first = next(
        row
        for row in found["coverage"]
        if (row["group"], row["reading"], row["nominal"]) == ("new clients", "first", 0.8)
    )
    told = verdict({**found, "flags": []})
    assert f"held {100 * first['observed']:.0f} % of the time" in told
    assert told.endswith("No band is off by more than chance allows.")
    assert verdict({**found, "flags": [flag(), flag(what="centre")]}).endswith("One group is off: see below.")
    assert "2 groups are off" in verdict({**found, "flags": [flag(), flag(group="coloured hair")]})
    assert verdict({**found, "coverage": []}) == "Too few clients came to check the bands on."


def test_what_was_rescaled():
    none = {"clients": 0}
    assert rescaled(none) == ["nothing: there was too little to rescale bands by"]
    some = {"spread": 1.123, "reading": 0.98, "df": 4.0, "later": 1.2, "clients": 700, "clients_again": 310}
    assert rescaled(some) == [
        "spread between visits times 1.12; error of a reading times 0.98; from 700 clients",
        "far-off rates are likelier than a normal distribution has it: Student's t with 4 degrees of freedom",
        "a visit's own luck when the client is known, times 1.20; from 310 clients",
    ]
    assert len(rescaled({**some, "df": None, "clients_again": 0})) == 1


def test_shapes_and_eyes_are_told_where_there_are_any():
    other = {"family": "saturating", "value": 1.1, "score_difference": 1.24, "score_difference_se": 0.9}
    mixed = EFFECTS | {"other": other | {"clients": 640, "share": 0.3}}
    bias = {"stylist": "S02", "reading": "look", "value": 0.42, "low": 0.2, "high": 0.64, "n": 31}
    said = " ".join(calibration_text(invented().to_dict(), mixed | {"reading_bias": [bias]}).split())
    assert "neither is clearly better (power before saturating: log score 1.2 better, standard" in said
    assert "saturating with a share of 30 %" in said
    assert "S02, looks: +0.4 level (+0.2 to +0.6), 31 measured" in said
    assert "Bias by eye can't be told" not in said
    alone = EFFECTS | {"other": other | {"clients": 640, "share": 0.0}}
    said = " ".join(calibration_text(invented().to_dict(), alone).split())
    assert "shape: power expected unseen clients better than saturating" in said
    assert "Bias by eye can't be told" in said


def test_nothing_to_say_is_said():
    empty = {key: [] for key in ("coverage", "flags", "reach", "sessions", "scores")} | {"notes": ["a note"]}
    said = calibration_text(empty | {"recalibration": {}}, EFFECTS)
    assert said.count("too few") == 3
    assert "note: a note" in said
