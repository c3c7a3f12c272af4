import numpy as np
import pytest
from scipy.stats import norm

from outcomes.predictive.session import Chair, ReadAnew, work_session


def _chair(**changes):
    given = {
        "level": [3.0], "goal": [8.0], "rate": [5.2], "theta": [0.6], "gap": [20.0], "rinse": [45.0],
        "sd_look": [0.3], "sd_result": [0.2], "look_offset": [-0.1],
    } | changes  # fmt: skip
    arrays = {name: np.array(value, dtype=float) for name, value in given.items()}
    every = np.arange(1, 20)[:, None] * arrays.pop("gap")
    arrays["looks"] = np.where(every < arrays["rinse"], every, np.inf)
    return Chair(**arrays, saturating=np.zeros(len(arrays["level"]), dtype=bool))


def test_one_course_by_hand(predictive):
    # looks at 20 and 40 minutes, result at 45; below the goal when under 7.75
    true = [3 + 5.2 * (t / 45) ** 0.6 for t in (20, 40, 45)]
    below = [norm.cdf((7.75 + 0.1 - true[0]) / 0.3), norm.cdf((7.75 + 0.1 - true[1]) / 0.3)]
    below.append(norm.cdf((7.75 - true[2]) / 0.2))
    worked = work_session(predictive, _chair(), np.array([0.8]))
    assert worked.weight[0] == pytest.approx(0.8 * np.prod(below), abs=1e-7)
    assert worked.reached[0] == pytest.approx(0.8 * (1 - np.prod(below)), abs=1e-7)
    assert worked.level[0] == pytest.approx(true[2])
    half_above = [norm.sf((8.25 + 0.1 - true[0]) / 0.3), norm.sf((8.25 + 0.1 - true[1]) / 0.3)]
    half_above.append(norm.sf((8.25 - true[2]) / 0.2))
    before = [1.0, below[0], below[0] * below[1]]
    assert worked.told[1, 0] == pytest.approx(0.8 * np.dot(before, half_above), abs=1e-6)


def test_a_look_at_the_very_rinse_is_not_taken(predictive):
    thirds = work_session(predictive, _chair(gap=[15.0]), np.ones(1))
    by_hand = 1.0
    for t, sd, offset in ((15, 0.3, -0.1), (30, 0.3, -0.1), (45, 0.2, 0.0)):
        by_hand *= norm.cdf((7.75 - offset - 3 - 5.2 * (t / 45) ** 0.6) / sd)
    assert thirds.weight[0] == pytest.approx(by_hand, abs=1e-7)


def test_without_looks_the_result_alone_counts(predictive):
    worked = work_session(predictive, _chair(gap=[np.inf]), np.ones(1))
    assert worked.weight[0] == pytest.approx(norm.cdf((7.75 - 8.2) / 0.2), abs=1e-7)


def test_hair_gets_no_lighter_than_the_scale(predictive):
    worked = work_session(predictive, _chair(rate=[9.0], goal=[10.0], look_offset=[-2.0]), np.ones(1))
    assert worked.level[0] == 10.0


def test_order_of_courses_does_not_matter(predictive):
    rng = np.random.default_rng(2)
    many = {
        "level": rng.uniform(2, 6, 50), "goal": rng.choice([7.0, 8.0, 9.5], 50),
        "rate": rng.uniform(2, 6, 50), "theta": rng.uniform(0.4, 0.8, 50),
        "gap": rng.choice([4.0, 7.0, 15.0, np.inf], 50),
        "rinse": rng.uniform(5, 60, 50), "sd_look": np.full(50, 0.25), "sd_result": np.full(50, 0.18),
        "look_offset": np.full(50, -0.1),
    }  # fmt: skip
    together = work_session(predictive, _chair(**many), np.ones(50))
    for i in range(50):
        alone = work_session(predictive, _chair(**{k: [v[i]] for k, v in many.items()}), np.ones(1))
        assert together.weight[i] == pytest.approx(alone.weight[0], abs=1e-12)
        assert together.reached[i] == pytest.approx(alone.reached[0], abs=1e-12)
        assert together.told[:, i] == pytest.approx(alone.told[:, 0], abs=1e-12)


def test_a_result_read_anew_by_hand(predictive):
    """Looks at 20 and 40 minutes; a look that reads the goal is followed by a reading of its own."""
    true = [3 + 5.2 * (t / 45) ** 0.6 for t in (20, 40)]
    below = [norm.cdf((7.75 + 0.1 - level) / 0.3) for level in true]
    chance = [1 - below[0], below[0] * (1 - below[1])]
    plan, error = np.zeros(1, dtype=int), np.array([-0.35])
    anew = ReadAnew(0.5, 10.0, plan, 1, np.array([0.25]), error)
    worked = work_session(predictive, _chair(), np.ones(1), anew=anew)
    plain = work_session(predictive, _chair(), np.ones(1))
    assert worked.reached == pytest.approx(plain.reached, abs=1e-12)
    # 6.19 and 7.85 less 0.35 are 5.84 and 7.5: written as 6 and 7.5, which is below the goal of 8
    expected = np.zeros(19)
    expected[[10, 13]] = 0.25 * np.array(chance)
    assert anew.chances[0] == pytest.approx(expected, abs=1e-7)
    # three quarters of what the looks read, and all of what is read at the rinse
    rinse = plain.reached[0] - sum(chance)
    assert worked.told[0, 0] == pytest.approx(0.75 * sum(chance) + rinse, abs=1e-7)


def test_results_read_anew_stay_on_the_scale(predictive):
    for error, cell in ((-30.0, 0), (30.0, 18)):
        anew = ReadAnew(0.5, 10.0, np.zeros(1, dtype=int), 1, np.ones(1), np.array([error]))
        worked = work_session(predictive, _chair(), np.ones(1), anew=anew)
        assert anew.chances[0, cell] == pytest.approx(worked.reached[0] - worked.told[0, 0], abs=1e-12)
        assert np.count_nonzero(anew.chances) == 1
