import dataclasses

import numpy as np
import pytest

from outcomes.predictive.distribution import Recalibration
from outcomes.predictive.hazard import ConditionHazard
from outcomes.predictive.plans import Plans
from outcomes.predictive.practice import Practice
from outcomes.predictive.simulate import simulate_courses

HOURS = {
    "start": 3.0,
    "goal": 9.5,
    "hair": "natural",
    "peroxide": 6.0,
    "heat": "low",
    "minutes": 45.0,
    "stylist": None,
}


def _plans(*changes):
    rows = [HOURS | change for change in changes]
    columns = {name: [row[name] for row in rows] for name in HOURS}
    return Plans(
        **{
            name: tuple(values) if name in ("hair", "heat", "stylist") else np.array(values, dtype=float)
            for name, values in columns.items()
        }
    )


def _run(predictive, plans, n=4096, seed=1, limit=6):
    return simulate_courses(predictive, plans, n, seed, limit=limit, draws=20, per_draw=32)


def test_chances_sum_to_one(predictive):
    found = _run(predictive, _plans({}, {"goal": 5.0}, {"start": 1.0, "goal": 10.0, "minutes": 5.0}), limit=4)
    assert found.sessions.sum(axis=1) == pytest.approx(np.ones(3), abs=1e-12)
    assert found.levels.sum(axis=2) == pytest.approx(np.ones((3, 4)), abs=1e-12)
    assert (found.sessions >= 0).all()


def test_more_minutes_never_lower_and_a_lighter_goal_never_raises_the_chance_today(predictive):
    longer = _run(predictive, _plans(*({"minutes": m} for m in (1, 7, 20, 20.5, 30, 45, 60, 180))), n=1024)
    assert (np.diff(longer.sessions[:, 0]) >= 0).all()
    lighter = _run(predictive, _plans(*({"goal": g} for g in np.arange(3.5, 10.5, 0.5))), n=1024)
    assert (np.diff(lighter.sessions[:, 0]) <= 0).all()
    assert (np.diff(np.cumsum(lighter.sessions, axis=1)[:, 2]) <= 1e-12).all()


def test_same_seed_same_answer(predictive):
    first, again, other = (_run(predictive, _plans({}), n=512, seed=s).sessions for s in (4, 4, 5))
    assert (first == again).all()
    assert (first != other).any()


def test_together_or_alone(predictive):
    changes = [
        {},
        {"goal": 7.0, "stylist": "S2"},
        {"hair": "coloured", "stylist": "new"},
        {"heat": "high"},
    ] * 20
    together = _run(predictive, _plans(*changes), n=1024)
    for i in range(4):
        alone = _run(predictive, _plans(changes[i]), n=1024)
        assert together.sessions[i] == pytest.approx(alone.sessions[0], abs=1e-12)
        assert together.today[i] == pytest.approx(alone.today[0], abs=1e-12)


def test_standard_error_of_a_chance(predictive):
    plans = _plans({}, {"goal": 8.0}, {"hair": "coloured", "minutes": 35.0})
    for n, worst in ((16384, 0.003), (1024, 0.01)):
        found = np.array([_run(predictive, plans, n=n, seed=seed).sessions for seed in range(12)])
        assert found.std(axis=0, ddof=1).max() < worst


@pytest.mark.parametrize(
    "practice",
    [Practice(), Practice(reread=np.array([0.0, 1.0, 0.5]), unseen=np.array([0.5, 0.0, 0.2]))],
    ids=["all look and copy", "some read anew, some don't look"],
)
def test_agrees_with_courses_played_reading_by_reading(make_predictive, practice):
    """The same process by separate, plain code that draws every reading; no condition stops, one draw."""
    one = {
        name: np.array([value]) for name, value in (("shape", 0.6), ("sd_client", 0.25), ("sd_visit", 0.15))
    }
    one |= {name: np.zeros(1) for name in ("sd_stylist", "sd_product")}
    one |= {"sd_result": np.array([0.2]), "sd_look": np.array([0.3]), "look_offset": np.array([-0.1])}
    one |= {
        "sd_start": np.array([0.25]),
        "stylist": np.array([[-0.1, 0.0, 0.1]]),
        "product": np.zeros((1, 2)),
    }
    base = make_predictive()
    predictive = make_predictive(
        **one,
        coefficients=base.draws["coefficients"].mean(axis=0)[None],
        covariates={hair: {"texture": (("medium", 1.0),)} for hair in ("natural", "coloured", "lightened")},
        hazard=ConditionHazard(np.array([-60.0, 0, 0, 0, 0, 0, 0]), None, None, 0, 10),
        practice=practice,
    )
    reread, unseen = (shares if len(shares) else np.zeros(3) for shares in (practice.reread, practice.unseen))
    coefficient = dict(zip(predictive.design.names, predictive.draws["coefficients"][0], strict=True))

    def start_effect(start):
        row = {"hair": "natural", "heat": "none", "texture": "medium"}
        columns = {name: np.full(len(start), word, dtype=object) for name, word in row.items()}
        columns |= {"peroxide_pct": np.full(len(start), 6.0), "start_level": start}
        return (
            predictive.design.encode(columns, np.zeros(len(start), bool))
            @ predictive.draws["coefficients"][0]
        )

    rng = np.random.default_rng(11)
    n = 60_000
    stylist = rng.choice(3, n, p=np.array([700, 600, 300]) / 1600)
    steady = np.array([-0.1, 0.0, 0.1])[stylist] + 0.25 * rng.standard_normal(n) + coefficient["heat[low]"]
    true = 3.0 + 0.25 * rng.standard_normal(n)
    start, needed, open_ = np.full(n, 3.0), np.full(n, 4), np.arange(n)
    result = np.empty(n)
    gaps, shares = predictive.look_gaps.minutes, predictive.look_gaps.by_stylist
    for number in range(4):
        m = len(open_)
        later = coefficient["later_session"] + coefficient["hair[lightened]"] if number else 0.0
        rate = np.exp(steady[open_] + start_effect(start[open_]) + later + 0.15 * rng.standard_normal(m))
        upto = shares[stylist[open_]].cumsum(axis=1)[:, :-1]
        clock = np.where(rng.random(m) < unseen[stylist[open_]], np.inf, 0.0)
        anew = rng.random(m) < reread[stylist[open_]]
        done = np.zeros(m, dtype=bool)
        for _ in range(1, 9):
            clock = clock + gaps[(rng.random(m)[:, None] >= upto).sum(axis=1)]
            taken = clock < 45
            level = true[open_] + rate * (np.where(taken, clock, 45.0) / 45) ** 0.6
            look = np.round(2 * (level - 0.1 + 0.3 * rng.standard_normal(m))) / 2
            stops = ~done & taken & (look >= 9.5)
            told = np.where(anew, np.round(2 * (level + 0.2 * rng.standard_normal(m))) / 2, look)
            result[open_[stops]] = np.clip(told[stops], 1.0, 10.0)
            done |= stops
        read = np.round(2 * (true[open_] + rate + 0.2 * rng.standard_normal(m))) / 2
        result[open_[~done]] = np.clip(read[~done], 1.0, 10.0)
        after = np.minimum(true[open_] + rate, 10.0)
        done |= read >= 9.5
        if number == 0:
            first = np.bincount(np.rint(2 * result - 2).astype(int), minlength=19) / n
        needed[open_[done]] = number
        true[open_] = after
        start[open_] = np.clip(np.round(2 * after) / 2, 1, 9.0)
        open_ = open_[~done]
    played = np.bincount(needed, minlength=5) / n
    found = _run(predictive, _plans({}), n=16384, limit=4)
    assert found.sessions[0] == pytest.approx(played, abs=4 * np.sqrt(0.25 / n))
    assert found.levels[0, 0] == pytest.approx(first, abs=4 * np.sqrt(0.25 / n))


def test_condition_stops_cost_sessions(make_predictive):
    none, many = (
        _run(
            make_predictive(hazard=ConditionHazard(np.array([at, 0, 0, 0, 0, 0, 0]), None, None, 0, 10)),
            _plans({}),
        ).sessions[0]
        for at in (-60.0, -1.5)
    )
    assert many[0] < none[0] - 0.05
    assert many[:2].sum() < none[:2].sum() - 0.2


def test_a_wider_recalibration_spreads_the_sessions(predictive):
    def chances(recalibration):
        changed = dataclasses.replace(predictive, recalibration=recalibration)
        return _run(changed, _plans({})).sessions[0]

    same, unit = chances(Recalibration()), chances(Recalibration(spread=1.0 + 1e-12))
    assert unit == pytest.approx(same, abs=1e-9)
    assert chances(Recalibration(spread=2.0))[1] < same[1] - 0.1
    assert chances(Recalibration(df=3.0))[3:].sum() > same[3:].sum()


def test_a_named_stylist_answers_for_that_stylist(predictive):
    slow, fast, new = _run(predictive, _plans(*({"stylist": s} for s in ("S1", "S3", "new")))).sessions[:, 0]
    assert slow < fast
    assert 0 < new < 1


def test_levels_rise_and_end_at_the_goal(predictive):
    found = _run(predictive, _plans({}))
    means = found.levels[0] @ np.arange(1.0, 10.5, 0.5)
    assert (np.diff(means) >= -1e-9).all()
    done = found.levels[0, -1, round((9.5 - 1) / 0.5) :].sum()
    assert done == pytest.approx(1 - found.sessions[0, -1], abs=1e-9)
