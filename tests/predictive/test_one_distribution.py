"""One recalibration for every answer: another one moves bands, chances and session counts together."""

import dataclasses

import numpy as np
import pytest

from outcomes.answers.lift_curve import lift_curve
from outcomes.answers.sessions import sessions
from outcomes.predictive.distribution import Recalibration
from outcomes.predictive.one_visit import simulate_readings
from outcomes.predictive.reach import reach_chances
from tests.predictive.test_follow import READINGS, told

PLAN = (3, 9, "natural", 6, "low", 45)


def answers(predictive):
    """What every route says of one plan whose goal most clients don't reach at once."""
    curve = lift_curve(predictive, *PLAN)
    answer = sessions(predictive, *PLAN)
    visits = told(predictive, [(3.0, 45, 0)], READINGS)
    read = simulate_readings(predictive, visits.rows, np.array([3.0]), np.array([45.0]), seed=1)[0]
    low, high = np.quantile(read, [0.1, 0.9])
    reach = reach_chances(
        predictive, visits, np.array([0]), np.array([9.0]), np.array([44.0]), 4096, 1, at_rinse=False
    )
    return {
        "band of the curve": curve.high[-1] - curve.low[-1],
        "band of readings": high - low,
        "done today": answer.today,
        "done within some minutes": float(reach[0]),
        "needs four sessions or more": sum(answer.sessions[3:]),
    }


@pytest.mark.parametrize("changed", [Recalibration(spread=1.6), Recalibration(df=3.0)])
def test_wider_rates_move_every_answer(predictive, changed):
    before = answers(predictive)
    after = answers(dataclasses.replace(predictive, recalibration=changed))
    assert before["done today"] < 0.4
    for name in before:
        assert after[name] > before[name], name
    assert after["band of the curve"] > 1.1 * before["band of the curve"]


def test_worse_eyes_move_what_is_read_and_not_the_hair(predictive):
    before = answers(predictive)
    after = answers(dataclasses.replace(predictive, recalibration=Recalibration(reading=2.0)))
    assert after["band of the curve"] == before["band of the curve"]
    assert after["band of readings"] > before["band of readings"]
    assert after["done today"] > before["done today"]
    assert after["done within some minutes"] > before["done within some minutes"]


def test_later_visits_alone_move_what_comes_later(predictive):
    before = answers(predictive)
    after = answers(dataclasses.replace(predictive, recalibration=Recalibration(later=3.0)))
    assert after["done today"] == before["done today"]
    assert after["needs four sessions or more"] > before["needs four sessions or more"]
