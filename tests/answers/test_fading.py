"""Answers about fade from a distribution known by construction."""

import dataclasses
import json
import math

import numpy as np
import pytest
from scipy.stats import norm

from outcomes.answers.aftercare import aftercare
from outcomes.answers.fading import Band, mixed_band
from outcomes.answers.refresh import refresh
from outcomes.answers.root_shade import root_shade
from outcomes.answers.shades import fade
from outcomes.answers.study_size import study_size
from outcomes.answers.wording import CAUTIONS
from outcomes.errors import InputError
from outcomes.predictive.fade import FollowUp
from outcomes.predictive.saved import SalonModel
from tests.predictive.fades import invented_fade


@pytest.fixture(scope="module")
def by_level():
    return invented_fade()


@pytest.fixture(scope="module")
def salon(by_level, predictive):
    return SalonModel(predictive, {"level": by_level, "tone_left": invented_fade("tone_left")})


def test_a_band_by_hand():
    values = np.array([5.0, 1.0, 4.0, 2.0, 3.0, 6.0, 7.0, 8.0, 9.0, np.inf])
    assert Band.of(values) == Band(5.0, 1.0, 9.0)
    assert Band.of(np.full(4, np.inf)).to_dict() == {"median": None, "low": None, "high": None}
    # three quarters at 1, a quarter at 9: the upper end lies in the quarter
    assert mixed_band(np.ones(5), np.full(5, 9.0), 0.25) == Band(1.0, 1.0, 9.0)


def test_fade_by_shade(by_level):
    answer = fade(by_level, "root_tone", 10).to_dict()
    rows = {row["shade"]: row for row in answer["rows"]}
    assert list(rows) == ["neutral", "ash", "copper"]
    # averaged over shampoos: log ratios 0, -0.2 and -0.45 in thirds; R log-normal with sd 0.25 about each
    mixture = np.concatenate([
        0.55 * np.exp(shift + 0.25 * norm.ppf((np.arange(4000) + 0.5) / 4000)) for shift in (0.0, -0.2, -0.45)
    ])  # fmt: skip
    low, median, high = np.quantile(mixture, [0.1, 0.5, 0.9])
    found = rows["neutral"]["fade"]
    assert (found["low"], found["median"], found["high"]) == pytest.approx((low, median, high), rel=0.01)
    assert rows["neutral"]["per_wash"]["median"] == pytest.approx(found["median"] / 10, rel=1e-3)
    # washes until a level: 10 (1 / R)^(1 / 0.8), in the same order turned round
    until = rows["neutral"]["washes_to_one_level"]
    assert until["median"] == pytest.approx(10 * (1 / median) ** 1.25, rel=0.01)
    assert until["never"] == 0.0
    assert rows["copper"]["fade"]["median"] == pytest.approx(np.exp(0.3) * median, rel=0.01)
    assert rows["ash"]["ratio"]["value"] == pytest.approx(np.exp(0.15), abs=1e-4)
    assert rows["neutral"]["ratio"] == {"value": 1.0, "low": 1.0, "high": 1.0, "simultaneous": True}
    assert (rows["ash"]["clients"], rows["ash"]["visits"], rows["ash"]["support"]) == (100, 120, "inside")


def test_what_lies_past_the_log_is_said(by_level):
    short = invented_fade(longest=40.0)
    assert "40 washes at most" in fade(short, "root_tone").notes[0]
    long = invented_fade(longest=200.0)
    assert fade(long, "root_tone").notes == ()
    assert "60 washes at most" in fade(by_level, "root_tone", 61).notes[0]
    never = invented_fade(family="saturating", theta=0.5, longest=200.0)
    assert "200 washes at most" in fade(never, "root_tone").notes[0]


def test_ratios_hold_together(by_level):
    """Two independent estimates of sd 0.05: 95 % at once takes the normal's (1 + sqrt(0.95)) / 2."""
    rows = {row.shade: row.ratio for row in fade(by_level, "root_tone").rows}
    critical = norm.ppf(0.5 + 0.5 * math.sqrt(0.95))
    assert np.log(rows["ash"].high) == pytest.approx(0.15 + 0.05 * critical, abs=1e-4)
    assert np.log(rows["copper"].low) == pytest.approx(0.3 - 0.05 * critical, abs=1e-4)


def test_another_reference_and_all_pairs(by_level):
    answer = fade(by_level, "root_tone", reference="ash", all_pairs=True)
    rows = {row.shade: row.ratio for row in answer.rows}
    assert rows["neutral"].value == pytest.approx(np.exp(-0.15))
    assert [(one.shade, one.reference) for one in answer.pairs] == [
        ("ash", "neutral"), ("copper", "neutral"), ("copper", "ash"),
    ]  # fmt: skip
    assert answer.pairs[2].value == pytest.approx(np.exp(0.15))
    # a difference of two estimates, and three of them at once
    assert np.log(answer.pairs[2].high) - 0.15 > 0.05 * math.sqrt(2) * norm.ppf(0.975)


def test_levels_are_compared_along_their_line(by_level):
    answer = fade(by_level, "root_level", reference=6, washes=5)
    assert [row.shade for row in answer.rows] == [f"{level:g}" for level in np.arange(3, 9, 0.5)]
    rows = {row.shade: row.ratio for row in answer.rows}
    # one slope of sd 0.05: all ratios are one test, at 1.96 for every distance
    assert np.log(rows["8"].high) == pytest.approx(2 * 0.05 * norm.ppf(0.975), abs=1e-4)
    assert rows["8"].value == 1.0


def test_equivalence_stands_beside_its_ratio(by_level):
    rows = {row.shade: row.ratio for row in fade(by_level, "root_tone", margin=0.3).rows}
    upper = norm.sf((np.log(1.3) - 0.15) / 0.05)
    ash = rows["ash"].alike
    assert ash.p == pytest.approx(upper, rel=1e-4)
    assert (ash.equivalent, rows["copper"].alike.equivalent) == (bool(upper < 0.05), False)
    # the 90 % band decides, and stands beside the verdict
    assert (np.log(ash.low), np.log(ash.high)) == pytest.approx(0.15 + 0.05 * norm.ppf([0.05, 0.95]))
    assert ash.equivalent == (ash.low > 1 / 1.3 and ash.high < 1.3)
    assert "equivalence" not in fade(by_level, "root_tone").to_dict()["rows"][1]["ratio"]


def test_clients_who_were_never_read(by_level):
    """Half of them: the middle then lies where half slower and half usual clients have theirs."""
    answer = fade(by_level, "root_tone")
    slow, fast = (one for one in answer.dropout if one.shade == "neutral")
    assert (slow.missing, slow.rate, fast.rate) == (0.5, 0.75, 1.25)
    usual = answer.rows[0].fade
    assert 0.75 * usual.median < slow.fade.median < usual.median < fast.fade.median < 1.25 * usual.median
    assert slow.fade.low == pytest.approx(0.8 * usual.low, rel=0.1)


def test_root_shades_that_blend(by_level):
    answer = root_shade(by_level, 3, 9.5, 18, 6, shampoo="plain")
    found = answer.to_dict()
    assert {(one["root_level"], one["root_tone"]) for one in found["candidates"]} == {
        (level, tone) for level in np.arange(3, 6.5, 0.5) for tone in ("neutral", "ash", "copper")
    }
    # level 5 neutral: 5 + R 1.8^0.8 <= 6
    one = next(c for c in answer.candidates if (c.root_level, c.root_tone) == (5.0, "neutral"))
    assert one.blends == pytest.approx(norm.cdf(-np.log(0.55 * 1.8**0.8) / 0.25), abs=0.005)
    assert one.level_then.median == pytest.approx(5 + 0.55 * 1.8**0.8, abs=0.01)
    (slow, level_slow, blends_slow), (fast, level_fast, blends_fast) = one.moved
    assert (slow, fast, one.missing) == (0.75, 1.25, 0.5)
    assert blends_slow > one.blends > blends_fast
    assert level_slow.median < one.level_then.median < level_fast.median
    best = max(c.blends for c in answer.candidates)
    alike = [c for c in answer.candidates if c.support != "outside" and c.blends >= best - 0.05]
    assert answer.choice.root_level == max(c.root_level for c in alike)
    assert answer.sentence.endswith(" in 50. No lighter shade that the log covers blends as often.")
    lighter = [
        c for c in answer.candidates if c.support != "outside" and c.root_level > answer.choice.root_level
    ]
    assert lighter
    assert max(c.blends for c in lighter) < answer.choice.blends
    ash = root_shade(by_level, 3, 9.5, 18, 6, tone="ash")
    assert ash.sentence.endswith("No lighter ash shade that the log covers blends as often.")
    assert found["cautions"] == list(CAUTIONS)
    assert json.loads(json.dumps(found)) == found


def test_what_the_log_does_not_cover_is_never_the_choice(by_level):
    # natural 1: levels 1 to 2.5 were never logged
    answer = root_shade(by_level, 1, 6, 10, 2.5, tone="neutral")
    assert {one.support for one in answer.candidates} == {"outside"}
    assert answer.choice is None
    assert answer.to_dict()["choice"] is None
    assert "covers none" in answer.sentence
    far = root_shade(by_level, 3, 9.5, 90, 8)
    assert far.choice is None
    assert "60 washes at most" in far.reason


def test_refresh(salon):
    answer = refresh(salon, "roots", 1, 3, root_level=6, root_tone="ash", shampoo="plain")
    # W = 10 (1 / R)^(1 / 0.8), R log-normal (log 0.55 + 0.15, 0.25)
    middle, spread = np.log(0.55) + 0.15, 0.25 * norm.ppf(0.9)
    low, median, high = (10 * np.exp(-(middle + shift) / 0.8) for shift in (spread, 0.0, -spread))
    found = answer.to_dict()
    assert found["washes"] == pytest.approx({"median": median, "low": low, "high": high}, rel=0.01)
    assert found["weeks"]["median"] == pytest.approx(found["washes"]["median"] / 3, abs=0.01)
    assert (found["never"], found["within_log"]) == (0.0, True)
    assert [one["rate"] for one in found["dropout"]] == [0.75, 1.25]
    assert found["dropout"][0]["washes"]["median"] > found["washes"]["median"]
    assert answer.sentence == (
        f"About {median:.0f} washes until it has faded by 1 level, for 8 in 10 clients between {low:.0f} and "
        f"{high:.0f}; that's about {median / 3:.0f} weeks at 3 a week."
    )
    assert found["cautions"] == list(CAUTIONS)


def test_refresh_of_a_toner_and_past_the_log(salon):
    # half the tone: progress log 2
    found = refresh(salon, "lengths", 50, 2, toner_tone="silver", shampoo="plain")
    assert found.washes.median == pytest.approx(10 * (math.log(2) / (0.55 * np.exp(0.3))) ** 1.25, rel=0.01)
    far = refresh(salon, "roots", 3, 3)
    assert not far.within_log
    assert "60 washes at most" in far.notes[0]
    assert far.sentence.startswith("The log followed hair for 60 washes only; carried on from there, about ")
    near = refresh(invented_fade(longest=25.0), "roots", 1, 3)
    assert "Not all of that was seen" in near.sentence
    never = refresh(invented_fade(family="saturating", theta=0.5), "roots", 1, 3)
    assert never.washes.median is None
    assert never.never > 0.5
    assert never.sentence.startswith("More often than not it never fades by 1 level")


def test_aftercare(salon, by_level):
    found = aftercare(salon).to_dict()
    assert {"roots", "lengths", "cautions", "left_out"} == set(found)
    rows = {row["shade"]: row for row in found["roots"]["rows"]}
    assert rows["pigmented"]["ratio"]["value"] == pytest.approx(np.exp(-0.45), abs=1e-4)
    assert "washes_to_half_tone" in found["lengths"]["rows"][0]
    # one measure alone: the other is said to be left out
    alone = aftercare(SalonModel(salon.lift, {"level": by_level}, {"tone_left": "nobody read it"}))
    assert [one.measure for one in alone.answers] == ["level"]
    assert "nobody read it" in alone.left_out[0]


def test_a_shade_that_was_hardly_read_is_at_the_edge(by_level):
    """Level and tone tell of it, and so few of that very shade that it's said."""
    counts = {**by_level.support.categories["shade"], "5 ash": 4, "5.5 ash": 5}
    categories = {**by_level.support.categories, "shade": counts}
    support = dataclasses.replace(by_level.support, categories=categories)
    answer = root_shade(dataclasses.replace(by_level, support=support), 4, 9, 10, 7, tone="ash")
    found = {one.root_level: (one.support, one.visits) for one in answer.candidates}
    assert (found[5.0], found[5.5], found[6.0]) == (("edge", 4), ("inside", 5), ("inside", 25))


def test_half_way_lies_above_the_natural_level(by_level):
    assert root_shade(by_level, 6, 6.5, 10).limit == 6.5
    assert root_shade(by_level, 3, 9.5, 10).limit == 6.5


def test_a_word_that_can_not_be_told_apart_is_left_out():
    whole = invented_fade("tone_left")
    silver = whole.design.names.index("toner_tone[silver]")
    kept = [i for i in range(len(whole.design.names)) if i != silver]
    aliased = dataclasses.replace(
        whole,
        design=dataclasses.replace(whole.design, names=tuple(whole.design.names[i] for i in kept)),
        draws={**whole.draws, "coefficients": whole.draws["coefficients"][:, kept]},
        estimates=whole.estimates[kept],
        covariance=whole.covariance[np.ix_(kept, kept)],
    )
    assert [row.shade for row in fade(aliased, "toner_tone", all_pairs=True).rows] == ["neutral", "beige"]
    with pytest.raises(InputError, match="toner_tone: found 'silver'; expected one of neutral, beige"):
        refresh(aliased, "lengths", 50, 3, toner_tone="silver")


def test_outside_the_log_there_is_no_headline(by_level):
    few = {
        **by_level.follow_up,
        "root_tone": {**by_level.follow_up["root_tone"], "copper": FollowUp(9, 3, 4)},
    }
    row = fade(dataclasses.replace(by_level, follow_up=few), "root_tone").rows[2]
    assert (row.shade, row.support, row.fade.median, row.until.median) == ("copper", "outside", None, None)
    assert row.fade.low < row.fade.high
    answer = refresh(by_level, "roots", 1, 3, root_level=9)
    assert (answer.support, answer.washes.median, answer.within_log) == ("outside", None, False)
    assert answer.sentence.startswith("Outside the log")
    assert not any(letter.isdigit() for letter in answer.sentence.replace("1 level", ""))


@pytest.mark.parametrize(
    ("ask", "message"),
    [
        (lambda m: fade(m, "moon"), "by: found 'moon'; expected one of root_tone"),
        (lambda m: fade(m, washes=0), "washes: found 0; expected 1 to 200 washes"),
        (lambda m: fade(m, washes=201), "washes: found 201"),
        (lambda m: fade(m, washes="ten"), "washes: found 'ten'; expected a number"),
        (
            lambda m: fade(m, reference="green"),
            "reference: found 'green'; expected one of neutral, ash, copper",
        ),
        (lambda m: fade(m, margin=0), "margin: found 0; expected 0.01 to 1"),
        (lambda m: fade(m, measure="delta_e"), "says nothing of fade by delta_e"),
        (lambda m: fade(m, "toner_tone", measure="level"), "toner_tone can't be told by level"),
        (lambda m: root_shade(m, 9.5, 3, 10), "natural: found level 9.5, and lengths of level 3"),
        (lambda m: root_shade(m, 3.2, 9, 10), "natural: found level 3.2; levels go in half steps"),
        (lambda m: root_shade(m, 3, 9, 10, 2), "limit: found level 2; expected 3.5 to 9"),
        (lambda m: root_shade(m, 3, 9, 10, tone="green"), "tone: found 'green'"),
        (lambda m: root_shade(m, 3, 9, 10, shampoo="beer"), "shampoo: found 'beer'; expected one of plain"),
        (lambda m: root_shade(m, 3, 9, 300), "washes: found 300"),
        (lambda m: refresh(m, "ends", 1, 3), "zone: found 'ends'; expected one of roots, lengths"),
        (lambda m: refresh(m, "roots", 0, 3), "fade: found 0; expected 0.5 to 9 levels"),
        (lambda m: refresh(m, "lengths", 1, 3), "fade: found 1; expected 5 to 95 % of the tone"),
        (lambda m: refresh(m, "roots", 1, 3, root_level=9.5), "found 1 from level 9.5; expected 0.5 at most"),
        (lambda m: study_size(m, 0.2, 2.7), "readings: found 2.7; expected a whole number"),
        (lambda m: refresh(m, "roots", 1, 0), "washes_per_week: found 0"),
        (lambda m: refresh(m, "roots", 1, 3, toner_tone="silver"), "roots wear the root shade"),
        (lambda m: refresh(m, "lengths", 50, 3, root_level=6), "lengths wear the toner"),
        (lambda m: refresh(SalonModel(m.lift), "roots", 1, 3), "it was made without fade"),
    ],
)
def test_one_line_says_what_to_do(salon, ask, message):
    with pytest.raises(InputError, match=message) as found:
        ask(salon)
    assert "\n" not in str(found.value)
