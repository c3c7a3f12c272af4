import re

import numpy as np
import pytest

import outcomes
from outcomes.answers.question import ask
from outcomes.answers.sessions import answer_all, sessions
from outcomes.errors import InputError
from outcomes.predictive.hazard import ConditionHazard
from outcomes.predictive.practice import LookGaps
from outcomes.predictive.support import Support
from outcomes.readings.learn import learn_design

PLAN = (3, 9.5, "natural", 6, "low", 45)


@pytest.fixture(scope="module")
def answer(predictive):
    return sessions(predictive, *PLAN)


def test_json_has_exactly_the_promised_keys(answer):
    found = answer.to_dict()
    assert set(found) == {
        "inputs", "sessions", "median", "band", "reach_today", "levels", "coverage", "support",
        "support_notes", "basis", "cautions", "sentence",
    }  # fmt: skip
    assert list(found["sessions"]) == ["1", "2", "3", "4", "5", "6", "more"]
    assert set(found["band"]) == {"coverage", "low", "high"}
    assert set(found["reach_today"]) == {"probability", "low", "high"}
    assert set(found["levels"][0]) == {"session", "median", "low", "high", "holds"}
    assert found["basis"] == {"visits": 1600, "clients": 530, "stylists": 3, "calibrated": False}
    assert found["coverage"] == found["band"]["coverage"] == 0.8
    assert found["inputs"]["averaged"]["texture"] == {
        "fine": 0.2,
        "medium": 0.5,
        "coarse": 0.2,
        "not given": 0.1,
    }


def test_chances_add_up_and_lead_to_median_and_band(answer):
    found = answer.to_dict()
    assert sum(found["sessions"].values()) == pytest.approx(1.0, abs=1e-9)
    cumulative = np.cumsum(list(found["sessions"].values()))
    assert found["median"] == np.flatnonzero(cumulative >= 0.5)[0] + 1
    assert found["band"]["low"] == np.flatnonzero(cumulative >= 0.1)[0] + 1
    assert found["band"]["high"] == np.flatnonzero(cumulative >= 0.9)[0] + 1
    today = found["reach_today"]
    assert today["probability"] == found["sessions"]["1"]
    assert 0 <= today["low"] < today["probability"] < today["high"] <= 1


def test_levels_lie_on_the_grid_and_rise(answer):
    for level in answer.levels:
        assert level.low <= level.median <= level.high
        assert level.median * 2 == round(level.median * 2)
    assert [level.session for level in answer.levels] == [1, 2, 3, 4, 5, 6]
    assert answer.levels[0].median < answer.levels[1].median


def test_the_sentence_is_its_text(answer):
    assert str(answer) == answer.sentence == answer.to_dict()["sentence"]
    assert answer.sentence.startswith("2 sessions, most likely; ")


def test_same_seed_same_answer(predictive, answer):
    assert sessions(predictive, *PLAN).to_dict() == answer.to_dict()
    assert sessions(predictive, *PLAN, seed=2).to_dict() != answer.to_dict()


def test_many_at_once_agree_with_single_answers(predictive, answer):
    asked = [ask(predictive, *PLAN), ask(predictive, 5, 8, "coloured", 9, "none", 35, "S3")]
    single = [answer, sessions(predictive, 5, 8, "coloured", 9, "none", 35, "S3")]
    for many, one in zip(answer_all(predictive, asked), single, strict=True):
        # four standard errors of at most 0.01
        assert many.sessions == pytest.approx(one.sessions, abs=0.04)
        assert many.median == one.median


def test_outside_has_a_wide_band_a_reason_and_no_headline(predictive, answer):
    outside = sessions(predictive, *PLAN[:5], 120)
    inside = sessions(predictive, *PLAN[:5], 60)
    found = outside.to_dict()
    assert found["support"] == "outside"
    assert found["median"] is None
    assert found["band"]["coverage"] == 0.95
    assert found["band"]["low"] == 1
    assert found["band"]["high"] >= 3
    assert "120 minutes" in found["support_notes"][0]
    assert not re.search(r"\d", found["sentence"])
    assert inside.support == "inside"


def test_edge_is_said(predictive):
    edge = sessions(predictive, 3, 9.5, "natural", 6, "high", 45)
    assert edge.support == "edge"
    assert edge.support_notes == ("only 12 logged visits had heat high",)
    assert edge.sentence.endswith("take it with care.")


def test_more_sessions_than_any_course_had_are_outside(predictive):
    assert sessions(predictive, 3, 9.5, "coloured", 3, "none", 10).support == "outside"


def test_beyond_the_limit(predictive):
    found = sessions(predictive, 3, 9.5, "natural", 3, "none", 30, limit=1).to_dict()
    assert found["median"] is None
    assert found["band"] == {"coverage": 0.8, "low": None, "high": None}
    assert list(found["sessions"]) == ["1", "more"]
    assert "More than 1 session" in found["sentence"]


def test_heat_that_was_never_logged_is_outside_and_worked_out_as_the_nearest(make_predictive):
    base = make_predictive()
    words = {"hair": ["natural", "coloured", "lightened"] * 2, "heat": ["none", "low"] * 3}
    columns = {name: np.array(values, dtype=object) for name, values in words.items()}
    columns |= {"peroxide_pct": np.full(6, 6.0), "start_level": np.full(6, 3.0)}
    design = learn_design(columns, np.zeros(6, dtype=bool))
    assert design.names == ("intercept", "heat[low]", "hair[coloured]", "hair[lightened]")
    support = Support(
        base.support.numbers,
        {**base.support.categories, "heat": {"none": 600, "low": 500}},
        base.support.sessions,
    )
    predictive = make_predictive(
        design=design,
        coefficients=np.tile([1.4, 0.1, -0.1, -0.1], (400, 1)),
        covariates={},
        support=support,
        hazard=ConditionHazard(np.array([-60.0, 0, 0, 0, 0, 0, 0]), None, None, 0, 10),
    )
    high, low = (sessions(predictive, 3, 8, "natural", 6, heat, 45) for heat in ("high", "low"))
    assert high.support == "outside"
    assert high.sessions == low.sessions
    assert high.support_notes[-1] == "heat high is worked out as low, the nearest that was logged"


def test_new_in_a_log_of_one_stylist_says_what_is_not_known(make_predictive):
    alone = make_predictive(
        stylists=("S1",), stylist_visits=np.array([1600]), stylist=np.zeros((400, 1)),
        look_gaps=LookGaps(np.array([8.0]), np.ones(1), np.ones((1, 1))),
    )  # fmt: skip
    found = sessions(alone, *PLAN, "new")
    assert found.support == "edge"
    assert "isn't known" in found.support_notes[0]


@pytest.mark.parametrize(
    ("option", "said"),
    [({"limit": 0}, "limit: found 0; expected a whole number from 1 to 12"), ({"limit": 13}, "limit"),
     ({"seed": -1}, "seed: found -1"), ({"seed": 1.5}, "seed")],
)  # fmt: skip
def test_limit_and_seed(predictive, option, said):
    with pytest.raises(InputError, match=said):
        sessions(predictive, *PLAN, **option)


def test_it_is_a_public_name(predictive, answer):
    assert outcomes.sessions(predictive, *PLAN) == answer
