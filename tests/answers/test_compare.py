"""Plans side by side: the same hair on the same days."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from outcomes.answers.compare import NO_ADVICE, compare, read_options
from outcomes.answers.earlier import read_past
from outcomes.answers.question import ask
from outcomes.answers.sessions import sessions
from outcomes.errors import InputError


@pytest.fixture(scope="module")
def question(predictive):
    return ask(predictive, 3, 9, "natural", 6, "low", 40)


def test_names_say_what_differs(question):
    named = [name for name, _ in read_options(question, ["heat=none", "peroxide=20 vol, heat=high"])]
    assert named == ["low heat", "no heat", "high heat"]
    named = [name for name, _ in read_options(question, ["peroxide=9"])]
    assert named == ["6 %", "9 %"]


@pytest.mark.parametrize(
    ("texts", "wrong"),
    [
        (["strength=9"], "found 'strength=9'; expected peroxide, heat, minutes"),
        (["peroxide=12.5"], "expected at most 12 %"),
        (["peroxide=6"], "the same plan twice"),
        (["heat=medium", "heat=medium"], "the same plan twice"),
        ([f"minutes={k}" for k in range(10, 18)], "found 8 options; expected 7 at most"),
    ],
)
def test_options_that_can_not_be_used(question, texts, wrong):
    with pytest.raises(InputError, match=wrong):
        read_options(question, texts)


def test_every_option_is_answered_as_it_is_alone(predictive, question):
    found = compare(predictive, read_options(question, ["peroxide=9"]))
    alone = sessions(predictive, 3, 9, "natural", 9, "low", 40)
    assert found.options[1].answer.sessions == pytest.approx(alone.sessions, abs=1e-12)


def test_a_pair_is_the_same_the_other_way_round(predictive, question):
    one = compare(predictive, read_options(question, ["peroxide=9"])).pairs[0]
    nine = dataclasses.replace(question, peroxide=9.0)
    other = compare(predictive, read_options(nine, ["peroxide=6"])).pairs[0]
    assert one.fewer + one.equal + one.more == pytest.approx(1.0)
    assert (one.fewer, one.equal, one.more) == pytest.approx((other.more, other.equal, other.fewer), abs=1e-9)
    assert one.more > 0.1 > one.fewer


def test_where_all_clients_are_alike_sessions_are_independent(make_predictive):
    """Only the eye errs, so the chance follows from the two distributions alone."""
    nothing = dict.fromkeys(("sd_client", "sd_stylist", "sd_product", "sd_visit", "sd_start"), np.zeros(1))
    design = make_predictive().design
    values = {"intercept": np.log(2.2), "peroxide": 0.42}
    alike = make_predictive(
        **nothing,
        coefficients=np.array([[values.get(name, 0.0) for name in design.names]]),
        shape=np.array([0.6]), sd_result=np.array([0.4]), sd_look=np.array([0.4]), look_offset=np.zeros(1),
        stylist=np.zeros((1, 3)), product=np.zeros((1, 2)),
        look_gaps=dataclasses.replace(
            make_predictive().look_gaps, minutes=np.zeros(0), share=np.zeros(0), by_stylist=np.zeros((3, 0))
        ),
        hazard=dataclasses.replace(make_predictive().hazard, coefficients=np.array([-50.0, *[0.0] * 6])),
    )  # fmt: skip
    question = ask(alike, 4, 7, "natural", 6, "low", 40)
    found = compare(alike, read_options(question, ["peroxide=9"]))
    first, second = (np.array(one.answer.sessions) for one in found.options)
    joint = np.outer(first, second)
    pair = found.pairs[0]
    assert pair.fewer == pytest.approx(np.triu(joint, 1).sum(), abs=1e-3)
    assert pair.more == pytest.approx(np.tril(joint, -1).sum(), abs=1e-3)
    assert 0.02 < pair.fewer < pair.more


def test_what_the_log_does_not_cover_has_no_number(predictive, question):
    found = compare(predictive, read_options(question, ["minutes=150"]))
    assert found.pairs == ()
    outside = found.to_dict()["options"][1]
    assert (outside["support"], outside["median"], outside["stopped_for_condition"]) == (
        "outside",
        None,
        None,
    )
    assert found.to_dict()["note"] == NO_ADVICE


def test_plans_that_look_alike_are_the_same(question):
    with pytest.raises(InputError, match=r"the same plan twice: 'minutes=45\.0000001'"):
        read_options(question, ["minutes=45", "minutes=45.0000001"])


def test_hair_of_a_course_that_goes_on_is_stopped_as_often_as_that_of_later_sessions(predictive):
    """The hazard's own odds, mixed over the hair of later sessions by hand."""
    plan = ask(predictive, 7, 9, "natural", 12, "high", 60)
    past = read_past(predictive, plan, "start=3,achieved=7,minutes=40,peroxide=6,heat=low,stop=time")
    (own, _) = compare(predictive, read_options(plan, "peroxide=6"), past=past).options
    one, minutes, strength, heat, coloured, lightened, later = predictive.hazard.coefficients
    kept = dict.fromkeys(predictive.later_hair["natural"], 1.0)
    for hair in kept:
        effect = {"natural": 0.0, "coloured": coloured, "lightened": lightened}[hair]
        for period in range(1, 13):
            odds = one + strength * np.log(2) + 3 * heat + effect + later + minutes * (5 * period - 30) / 15
            kept[hair] /= 1 + np.exp(odds)
    expected = sum(share * (1 - kept[hair]) for hair, share in predictive.later_hair["natural"].items())
    assert own.stopped == pytest.approx(expected, rel=1e-9)
